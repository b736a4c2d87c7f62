"""Which table rows behind an answer are unconfirmed or old."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc.days import day as to_day
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.destination.waterfall import Waterfall

OLD: Final = timedelta(days=365)
"""How long after it was checked a row is called old."""


def weak_rows(now: Waterfall, bound: Waterfall | None, on: date) -> list[dict[str, Any]]:
    """List the rows that both sides of an order rest on and that are unconfirmed, or were checked over a year before."""
    found: dict[str, dict[str, Any]] = {}
    for one in (now, *([bound] if bound else [])):
        for side in (one.assessment.run.terms.collect, one.assessment.run.terms.fulfiller):
            for index, evidence in side.proofs:
                at = np.flatnonzero(index == one.case)
                for table, rows, columns in evidence.used if at.size else ():
                    row = rows[at]
                    if row[0] < 0:
                        continue
                    basis, checked = (
                        BASES[int(table.basis(row, *columns)[0])],
                        to_day(int(table.checked_on(row)[0])),
                    )
                    if basis == "unconfirmed" or on - checked > OLD:
                        name = str(table.row_ids(row)[0])
                        found[name] = {"row": name, "basis": basis, "checked_on": checked.isoformat()}
    return [found[name] for name in sorted(found)]
