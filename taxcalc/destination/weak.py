"""Which table rows behind an answer are unconfirmed or old."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc.weak_rows import weak_among

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.destination.waterfall import Waterfall


def weak_rows(now: Waterfall, bound: Waterfall | None, on: date) -> list[dict[str, Any]]:
    """List the rows that both sides of an order rest on and that are unconfirmed, or were checked over a year before."""
    found: dict[str, dict[str, Any]] = {}
    for one in (now, *([bound] if bound else [])):
        for side in (one.assessment.run.terms.collect, one.assessment.run.terms.fulfiller):
            for index, evidence in side.proofs:
                at = np.flatnonzero(index == one.case)
                for table, rows, columns in evidence.used if at.size else ():
                    found.update((said["row"], said) for _, said in weak_among(table, rows[at], columns, on))
    return [found[name] for name in sorted(found)]
