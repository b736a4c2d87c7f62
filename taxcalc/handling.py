"""What is assumed of a shipping charge: that it pays for transport alone, which a file of orders does not say."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.regime import DUTY

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment

TRANSPORT_FREE = ("exempt_if_stated", "exempt_by_carrier", "exempt_if_avoidable")
HANDLING_TAXED = ("taxable", "taxable_if_combined")


def handling_assumption(assessment: Assessment) -> list[str]:
    """Name the states of the period that tax handling though transport may be free (us/shipping_rules)."""
    terms, lines = assessment.run.terms, assessment.sums.by_case["lines"]
    table = assessment.run.facts.tables["us/shipping_rules"]
    cases = np.flatnonzero((lines > 0) & (terms.duty == DUTY["collect"]))
    rows = table.lookup(terms.cases.day[cases], place=terms.cases.destination[cases])
    taxed = np.isin(table["treatment"][rows], TRANSPORT_FREE) & np.isin(
        table["handling"][rows], HANDLING_TAXED
    )
    codes = sorted({places.code(code) for code in terms.cases.destination[cases[taxed]].tolist()})
    if not codes:
        return []
    words = (
        "A shipping charge is taken as transport alone, on a line of its own on the invoice. Where it pays for handling "
        f"too, these states tax the handling or the whole charge: {', '.join(codes)}."
    )
    return [words]
