"""What becomes of the tax that a fulfiller charges on a sale into a state: a credit under a duty of the seller's own.

The seller that had to collect there should have taxed its customer, and may ask for a credit of the tax paid on goods that
it resold (New York State, tax bulletin "Sales Tax Credits"; elsewhere common practice, no source).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc.regime import DUTY, Recovery
from taxcalc.routes import NO_DUTY, OWN_USE, US_CREDIT
from taxcalc.us.fulfiller import OBLIGED

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.terms import AllTerms


def recovery(terms: AllTerms, lines: npt.NDArray[np.int64], facts: Facts) -> Recovery:
    """Answer per case."""
    _ = lines, facts
    own_duty = np.isin(terms.cases.state, OBLIGED) & (terms.duty == DUTY["collect"])
    route = np.select([terms.cases.sample, own_duty], [OWN_USE, US_CREDIT], NO_DUTY)
    return Recovery(terms.fulfiller.reason == "us_fulfiller_document", route.astype(object))
