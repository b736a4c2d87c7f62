"""What is assumed of sales in the United States that a file of orders does not say: handling, weights, the seller's locality."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.regime import DUTY
from taxcalc.us.goods import handling_may_be_taxed, transport_is_free
from taxcalc.us.rates import sent_by_origin

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.regime import Cases


def us_assumptions(assessment: Assessment) -> list[str]:
    """Give the sentences for the sales of the period."""
    return (
        handling_assumption(assessment) + mixed_parcel_assumption(assessment) + origin_assumption(assessment)
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
