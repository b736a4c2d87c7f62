"""Where a threshold may stand at the end of its window, from the shop's own past.

For the days that are still to come, every equally long run of days of the last two years is tried in their place; the
10th, 50th and 90th percentile of what those runs brought are added to the value reached. No model, no trend, no
randomness: a range of what has happened before (method of our own, common practice, no source).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from taxcalc.money import Ints

    Days = npt.NDArray[np.int64]

LOOK_BACK_DAYS = 730
AHEAD_OF_ROLLING = 90
"""A window of any twelve months never ends; it is looked at this many days ahead."""
FEWEST_RUNS = 30


def outlook(
    totals: Callable[[Days, Days], Ints],
    value: int,
    window: tuple[int, int],
    as_of: int,
    first_day: int,
) -> tuple[int, int, int] | None:
    """Give the 10th, 50th and 90th percentile of the value at the end of the window.

    `totals` adds up many windows, given by first and last days. None for a window that is over, and without enough past.
    """
    if window[1] < as_of:
        return None
    rolling = window[1] == as_of
    ahead = AHEAD_OF_ROLLING if rolling else window[1] - as_of
    begin = max(first_day, as_of - LOOK_BACK_DAYS)
    starts = np.arange(begin, as_of - ahead + 2)
    if starts.size < FEWEST_RUNS:
        return None
    runs = np.sort(totals(starts, starts + ahead - 1))
    kept = int(totals(np.array([window[0] + ahead]), np.array([as_of]))[0]) if rolling else value
    low, middle, high = (kept + int(runs[(runs.size - 1) * percent // 100]) for percent in (10, 50, 90))
    return low, middle, high
