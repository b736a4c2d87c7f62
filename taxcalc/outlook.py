"""Where a threshold may stand at the end of its window, from the shop's own past.

For the days that are still to come, every equally long run of days of the last two years is tried in their place; the
10th, 50th and 90th percentile of what those runs brought are added to the value reached. No model, no trend, no
randomness: a range of what has happened before (method of our own, common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable

LOOK_BACK_DAYS = 730
AHEAD_OF_ROLLING = 90
"""A window of any twelve months never ends; it is looked at this many days ahead."""
FEWEST_RUNS = 30


def outlook(
    total: Callable[[int, int], int],
    value: int,
    window: tuple[int, int],
    as_of: int,
    first_day: int,
) -> tuple[int, int, int] | None:
    """Give the 10th, 50th and 90th percentile of the value at the end of the window.

    None for a window that is over, and without enough past.
    """
    if window[1] < as_of:
        return None
    rolling = window[1] == as_of
    ahead = AHEAD_OF_ROLLING if rolling else window[1] - as_of
    begin = max(first_day, as_of - LOOK_BACK_DAYS)
    runs = sorted(total(day, day + ahead - 1) for day in range(begin, as_of - ahead + 2))
    if len(runs) < FEWEST_RUNS:
        return None
    kept = total(window[0] + ahead, as_of) if rolling else value
    return tuple(kept + runs[(len(runs) - 1) * percent // 100] for percent in (10, 50, 90))  # type: ignore[return-value]
