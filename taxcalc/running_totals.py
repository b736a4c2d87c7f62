"""How the sales that count for a limit added up over its window, week by week, for the limits that matter.

The totals are those of the walk along the limit itself (`us/history.py`, `eu/thresholds.py`), asked again at the end of
every seventh day of the window and at its last day so far: the last step is the value that `thresholds` shows.
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.eu.thresholds import Limit
from taxcalc.money import write_amount
from taxcalc.us.history import State

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.assessment import Assessment
    from taxcalc.duties import ThresholdRow

MOST: Final = 9
"""Limits that are followed; the others stand in `thresholds` with their value."""
WEEK: Final = 7


def running_totals(assessment: Assessment) -> list[dict[str, Any]]:
    """Follow the limits that are watched, near or crossed, the one that is used most first.

    Those are economic nexus and the limit of art. 59c; other limits stand in `thresholds` with their value.
    """
    rows = [row for row in assessment.sorted_thresholds if row.status != "clear" and row.limit]
    rows.sort(key=lambda row: (-row.share_tenths, places.code(row.place), row.measure))
    as_of = assessment.run.facts.as_of_day
    totals = ((row, _total(assessment, row)) for row in rows)
    return [
        _shown(row, total, as_of) for row, total in islice((one for one in totals if one[1]), MOST) if total
    ]


def _total(assessment: Assessment, row: ThresholdRow) -> Callable[[int], int] | None:
    """Give the total of a limit's window up to a day; None where no regime walks that limit."""
    run = assessment.run
    if row.place == places.index("EU"):
        limit = Limit(run.totals, run.facts)
        if row.row_ids != str(limit.table.row_ids(limit.row)[0]):
            return None
        intervals = limit.intervals()
        return lambda day: limit.value((row.window_start, day), intervals)
    if places.regimes()[row.place] != places.US:
        return None
    state, as_of = State(row.place, run.totals, run.facts), run.facts.as_of_day
    rule = next(rule for rule in state.rules if rule.first <= as_of <= rule.last)
    series = state.series(rule)
    total = series.amount if row.measure == "amount" else series.orders
    return lambda day: int(total(row.window_start, day))


def _shown(row: ThresholdRow, total: Callable[[int], int], as_of: int) -> dict[str, Any]:
    """Write the steps of one limit: amounts as decimal texts, counts as whole numbers."""

    def write(value: int) -> str | int:
        return write_amount(value, row.currency) if row.currency else value

    last = min(row.window_end, as_of)
    ends = [*range(row.window_start + WEEK - 1, last, WEEK), last]
    return {
        "place": places.code(row.place),
        "name": places.name(places.code(row.place)),
        "measure": row.measure,
        "currency": row.currency,
        "window_start": to_day(row.window_start).isoformat(),
        "window_end": to_day(row.window_end).isoformat(),
        "limit": write(row.limit),
        "row_ids": row.row_ids,
        "steps": [
            {"on": to_day(end).isoformat(), "value": write(total(end)), "caution": CAUTION} for end in ends
        ],
        "caution": CAUTION,
    }
