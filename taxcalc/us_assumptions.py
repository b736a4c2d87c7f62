"""What is assumed of sales in the United States that a file of orders does not say: handling, the seller's locality."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.regime import DUTY
from taxcalc.us.rates import sent_by_origin

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment

TRANSPORT_FREE = ("exempt_if_stated", "exempt_by_carrier", "exempt_if_avoidable")
HANDLING_TAXED = ("taxable", "taxable_if_combined")


def us_assumptions(assessment: Assessment) -> list[str]:
    """Give the sentences for the sales of the period."""
    return handling_assumption(assessment) + origin_assumption(assessment)


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
