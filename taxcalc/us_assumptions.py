"""What is assumed of sales in the United States that a file of orders does not say: handling, weights, localities, flat rates."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.regime import DUTY
from taxcalc.us.goods import handling_may_be_taxed, transport_is_free
from taxcalc.us.rates import FLAT_RATE, flat_rows, sent_by_origin

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.regime import Cases
    from taxcalc.seller import Election, Presence, Registration


def us_assumptions(assessment: Assessment) -> list[str]:
    """Give the sentences for the sales of the period."""
    looks = (
        handling_assumption,
        mixed_parcel_assumption,
        origin_assumption,
        administration_assumption,
        flat_rate_assumption,
    )
    return [words for look in looks for words in look(assessment)]


WHO_COLLECTS = {
    "state_but_self_collecting": (
        "In {code} some localities collect their own tax, by rules of their own and outside the state's administration. Their "
        "rates are in the average and in the high end, but a registration with the state does not reach them: ask a "
        "professional whether you must register there too."
    ),
    "commission": (
        "In {code} sellers from outside the state report state and local tax to one body, the {collector}; with a presence "
        "there you may have to register with each locality."
    ),
    "commission_of_members": (
        "{code} has no state tax. Local tax is due from sellers outside the state only in localities that joined the "
        "{collector}; which ones is not held here. Low is a place outside it, where nothing may be due, high the highest "
        "local rate."
    ),
}
"""Words by `collected_by` of us/local_administration; nothing is said where the state collects for all."""


def administration_assumption(assessment: Assessment) -> list[str]:
    """Name the states of the period whose local taxes a registration with the state does not, or not alone, cover.

    A flat rate by which the seller charges stands for all localities.
    """
    cases, facts = _collected_cases(assessment), assessment.run.facts
    cases = cases.take(flat_rows(cases, facts) < 0)
    table = facts.tables["us/local_administration"]
    rows = np.unique(table.lookup(cases.day, place=cases.destination))
    said = {row: table["collected_by"][row] for row in rows[rows >= 0].tolist()}
    return sorted(
        {
            WHO_COLLECTS[who].format(
                code=places.code(int(table["place"][row])), collector=table["collector"][row]
            )
            for row, who in said.items()
            if who in WHO_COLLECTS
        }
    )


def origin_assumption(assessment: Assessment) -> list[str]:
    """Name the states that take the rate of the seller's own locality (`sourcing_in_state` of us/state_rates)."""
    cases = _collected_cases(assessment)
    codes = _codes(cases.destination[sent_by_origin(cases, assessment.run.facts)])
    if not codes:
        return []
    words = (
        "Where you are in the state and the goods start there, the local rate is that of your own place of business, which is "
        f"not known here; the range of the whole state is shown: {codes}."
    )
    return [words]


def flat_rate_assumption(assessment: Assessment) -> list[str]:
    """Name flat rates chosen where the seller is not registered, or is present though they are for sellers from outside.

    The choice is the seller's statement and is followed in both cases (`us/flat_rates`).
    """
    facts = assessment.run.facts
    chosen = [e for e in facts.seller.elections if e.name == FLAT_RATE and e.place]
    registered = [r for r in facts.seller.registrations if r.scheme == "standard"]
    alone = sorted({str(e.place) for e in chosen if not _meets(e, registered)})
    present = sorted({str(e.place) for e in chosen if _meets(e, facts.presences)})
    found = []
    if alone:
        found.append(
            f"A flat rate is chosen with no [[registration]] of the same time: {', '.join(alone)}. Who enrolled is registered to "
            "collect; without the table no duty follows from the choice."
        )
    if present:
        found.append(
            f"The flat rate of {', '.join(present)} is for sellers from outside, and the profile names a presence there. It is "
            "used as you state it; ask a professional whether you may keep it."
        )
    return found


def _meets(election: Election, others: Iterable[Registration | Presence]) -> bool:
    """Tell whether any registration or presence at the place of an election shares a day with it."""
    end = election.until_day or date.max
    return any(
        other.place == election.place
        and other.from_day <= end
        and election.from_day <= (other.until_day or date.max)
        for other in others
    )


def _codes(destinations: npt.NDArray[np.int16]) -> str:
    """Write places, each once."""
    return ", ".join(sorted({places.code(code) for code in destinations.tolist()}))


def handling_assumption(assessment: Assessment) -> list[str]:
    """Name the states of the period that tax handling though transport may be free (us/shipping_rules)."""
    cases = _collected_cases(assessment)
    facts = assessment.run.facts
    table = facts.tables["us/shipping_rules"]
    rows = table.lookup(cases.day, place=cases.destination)
    free = transport_is_free(table, rows, avoidable=facts.seller.pickup_offered)
    over_cost = free & table["actual_cost_only"][rows]
    handling = free & handling_may_be_taxed(table, rows)
    whole, above = _codes(cases.destination[handling & ~over_cost]), _codes(cases.destination[over_cost])
    words = []
    if whole:
        words.append(
            "An order file does not tell handling from transport. Low and expected take a shipping charge as transport alone, "
            "on a line of its own on the invoice. These states tax handling, or a charge that holds both, or it is not "
            f"known that they do not, so there the high end taxes the whole charge: {whole}."
        )
    if above:
        words.append(
            "These states free no more of a shipping charge than the transport cost; what is above it, handling included, is "
            f"taxed: {above}. Without `fulfiller_shipping_cost` low frees the charge, expected and high tax all of it."
        )
    return words


def mixed_parcel_assumption(assessment: Assessment) -> list[str]:
    """Name the states of the period that divide shipping between taxed and free goods where a weight could be used too."""
    terms, lines = assessment.run.terms, assessment.sums.by_case["lines"]
    at = np.flatnonzero((lines > 0) & np.isin(terms.duty, (DUTY["collect"], DUTY["exempt_goods"])))
    cases, free = terms.cases.take(at), terms.duty[at] == DUTY["exempt_goods"]
    table = assessment.run.facts.tables["us/shipping_rules"]
    rows = table.lookup(cases.day, place=cases.destination)
    by_weight = table["split_by"][rows] == "price_or_weight"
    both = np.isin(cases.destination, cases.destination[free]) & np.isin(
        cases.destination, cases.destination[~free]
    )
    codes = _codes(cases.destination[by_weight & both])
    if not codes:
        return []
    words = (
        "Shipping of a parcel with taxed and exempt goods is split by their prices. These states let the seller split by "
        f"weight instead, which an order file does not hold; if you do, the tax on shipping differs: {codes}."
    )
    return [words]


def _collected_cases(assessment: Assessment) -> Cases:
    """Give the cases of the period on which the seller has to collect."""
    terms, lines = assessment.run.terms, assessment.sums.by_case["lines"]
    return terms.cases.take(np.flatnonzero((lines > 0) & (terms.duty == DUTY["collect"])))
