"""No thresholds are held for other places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc.regime import ThresholdAnswer

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.totals import Totals


def thresholds(totals: Totals, facts: Facts) -> ThresholdAnswer:
    """Answer with nothing."""
    _ = totals, facts
    return ThresholdAnswer([], [])
