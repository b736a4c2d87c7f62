"""What becomes of a fulfiller's tax in places without rules here: not known, because none is computed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc.regime import Recovery
from taxcalc.routes import NO_DUTY

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.terms import AllTerms


def recovery(terms: AllTerms, lines: npt.NDArray[np.int64], facts: Facts) -> Recovery:
    """Answer per case: nothing is known."""
    _ = lines, facts
    size = terms.cases.size
    return Recovery(np.zeros(size, bool), np.full(size, NO_DUTY, object))
