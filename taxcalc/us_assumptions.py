"""What is assumed of sales in the United States beside the order file: handling, the seller's locality, flat rates."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.regime import DUTY
from taxcalc.us.rates import FLAT_RATE, sent_by_origin

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.seller import Election, Presence, Registration

TRANSPORT_FREE = ("exempt_if_stated", "exempt_by_carrier", "exempt_if_avoidable")
HANDLING_TAXED = ("taxable", "taxable_if_combined")


def us_assumptions(assessment: Assessment) -> list[str]:
    """Give the sentences for the sales of the period."""
    return handling_assumption(assessment) + origin_assumption(assessment) + flat_rate_assumption(assessment)


def origin_assumption(assessment: Assessment) -> list[str]:
    """Name the states that take the rate of the seller's own locality (`sourcing_in_state` of us/state_rates)."""
    terms, lines = assessment.run.terms, assessment.sums.by_case["lines"]
    sold = np.flatnonzero((lines > 0) & (terms.duty == DUTY["collect"]))
    cases = terms.cases.take(sold)
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
    terms, lines = assessment.run.terms, assessment.sums.by_case["lines"]
    table = assessment.run.facts.tables["us/shipping_rules"]
    cases = np.flatnonzero((lines > 0) & (terms.duty == DUTY["collect"]))
    rows = table.lookup(terms.cases.day[cases], place=terms.cases.destination[cases])
    taxed = np.isin(table["treatment"][rows], TRANSPORT_FREE) & np.isin(
        table["handling"][rows], HANDLING_TAXED
    )
    codes = _codes(terms.cases.destination[cases[taxed]])
    if not codes:
        return []
    words = (
        "A shipping charge is taken as transport alone, on a line of its own on the invoice. Where it pays for handling "
        f"too, these states tax the handling or the whole charge: {codes}."
    )
    return [words]
