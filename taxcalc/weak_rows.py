"""Which table rows behind the figures are unconfirmed or old, so that a reader knows what to confirm first."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.tables.rows import Rows

OLD: Final = timedelta(days=365)
"""How long after it was checked a row is called old (common practice, no source)."""
UNCONFIRMED: Final = BASES.index("unconfirmed")


def weak_among(
    table: Rows, rows: npt.NDArray[np.int32], columns: tuple[str, ...], on: date
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Give the row numbers (-1 none) that are unconfirmed in these columns or old on a day, with what is said of them."""
    distinct = np.unique(rows[rows >= 0])
    basis, checked = table.basis(distinct, *columns), table.checked_on(distinct)
    weak = (basis == UNCONFIRMED) | (checked < number(on - OLD))
    for at in np.flatnonzero(weak).tolist():
        row = distinct[at : at + 1]
        yield (
            int(row[0]),
            {
                "row": str(table.row_ids(row)[0]),
                "basis": BASES[int(basis[at])],
                "checked_on": to_day(int(checked[at])).isoformat(),
            },
        )


def weak_rows(assessment: Assessment) -> list[dict[str, Any]]:
    """List the weak rows behind the taxes and limits of the history, each once, with the places that rest on it.

    `behind` is `tax` or `limit`; a limit names the rows of its threshold, start and end together, because it is as weak
    as the weakest of them.
    """
    run = assessment.run
    found: dict[str, dict[str, Any]] = {}
    resting: dict[str, set[int]] = {}
    for side in (run.terms.collect, run.terms.fulfiller):
        for index, evidence in side.proofs:
            for table, rows, columns in evidence.used:
                for row, said in weak_among(table, rows, columns, run.as_of):
                    found[said["row"]] = {**said, "behind": "tax"}
                    cases = index[np.flatnonzero(rows == row)]
                    resting.setdefault(said["row"], set()).update(run.terms.placed.place[cases].tolist())
    taxes = [{**found[name], "places": _codes(resting[name])} for name in sorted(found)]
    return [*taxes, *_limits(assessment)]


def _codes(numbers: set[int]) -> list[str]:
    """Write places by code."""
    return sorted(places.code(number) for number in numbers)


def _limits(assessment: Assessment) -> list[dict[str, Any]]:
    """List the limits that rest on a weak row; where there are two measures the rows are the same."""
    oldest = number(assessment.run.as_of - OLD)
    weak = {
        row.row_ids: {
            "row": row.row_ids,
            "basis": BASES[row.basis],
            "checked_on": to_day(row.checked_on).isoformat(),
            "behind": "limit",
            "places": [places.code(row.place)],
        }
        for row in assessment.sorted_thresholds
        if row.row_ids and (row.basis == UNCONFIRMED or row.checked_on < oldest)
    }
    return list(weak.values())
