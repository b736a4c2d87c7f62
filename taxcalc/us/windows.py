"""Over which days a state adds sales up, and on which days it looks: the windows of `us/thresholds`.

Windows tested at once (a calendar year that runs, any twelve months) are crossed by an order; windows that are looked at
on fixed days (the year that ended, quarterly reviews) are met on that day.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

from taxcalc.days import day as to_day
from taxcalc.days import first_of_month, first_of_quarter, number, plus_months

YEAR_MONTHS = 12
SEPTEMBER_30 = (9, 30)
SALES_TAX_QUARTER_ENDS = (2, 5, 8, 11)
"""New York's sales-tax quarters end with these months (Publication on registration, see us/thresholds)."""

AT_ONCE = ("current_or_previous_calendar_year", "rolling_12_months")


class Window(NamedTuple):
    """First and last day that are added up (day numbers, inclusive)."""

    first: int
    last: int


def calendar_year(year: int) -> Window:
    """Give the days of a calendar year."""
    return Window(number(date(year, 1, 1)), number(date(year, 12, 31)))


@lru_cache(maxsize=8192)
def twelve_months_to(last: int) -> Window:
    """Give the twelve months that end on a day."""
    end = to_day(last)
    return Window(number(plus_months(end + timedelta(days=1), -YEAR_MONTHS)), last)


def reviews(kind: str, first: int, last: int) -> list[Window]:
    """Give the windows whose fixed look-at day (their last day) lies between two days."""
    return [
        window
        for end in _ends(kind, to_day(first), to_day(last))
        if first <= (window := twelve_months_to(number(end))).last <= last
    ]


def _ends(kind: str, first: date, last: date) -> list[date]:
    """List the look-at days of a kind of window around a span of days."""
    if kind == "previous_calendar_year":
        return [date(year, 12, 31) for year in range(first.year - 1, last.year + 1)]
    if kind == "12_months_to_30_september":
        return [date(year, *SEPTEMBER_30) for year in range(first.year - 1, last.year + 1)]
    if kind == "12_months_reviewed_quarterly":
        return _quarter_ends(first, last)
    months = [first_of_month(first, step) for step in range((last.year - first.year + 1) * YEAR_MONTHS + 1)]
    return [first_of_month(m, 1) - timedelta(days=1) for m in months if m.month in SALES_TAX_QUARTER_ENDS]


def _quarter_ends(first: date, last: date) -> list[date]:
    """List the ends of calendar quarters from the one that holds `first` to the one that holds `last`."""
    found = []
    start = first_of_quarter(first, 1)
    while start <= first_of_quarter(last, 1):
        found.append(start - timedelta(days=1))
        start = first_of_quarter(start, 1)
    return found


def deciding(kind: str, as_of: int) -> tuple[Window, Window]:
    """Give the window that is over and the one that runs on a day, for showing where a threshold stands."""
    today = to_day(as_of)
    if kind in ("current_or_previous_calendar_year", "previous_calendar_year"):
        return calendar_year(today.year - 1), calendar_year(today.year)
    if kind == "rolling_12_months":
        return twelve_months_to(as_of), twelve_months_to(as_of)
    ends = sorted(
        number(end) for end in _ends(kind, plus_months(today, -YEAR_MONTHS), plus_months(today, YEAR_MONTHS))
    )
    over = max(end for end in ends if end <= as_of)
    return twelve_months_to(over), twelve_months_to(min(end for end in ends if end > as_of))
