"""Over which days a state adds sales up, and on which days it looks: the windows of `us/thresholds`.

Windows tested at once (a calendar year that runs, any twelve months) are crossed by an order; windows that are looked at
on fixed days (the year that ended, quarterly reviews) are met on that day. What a window's name means stands in
`us/windows`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from taxcalc.days import day as to_day
from taxcalc.days import first_of_month, number, plus_months

if TYPE_CHECKING:
    from taxcalc.tables.load import Tables

YEAR_MONTHS = 12


class Window(NamedTuple):
    """First and last day that are added up (day numbers, inclusive)."""

    first: int
    last: int


@dataclass(frozen=True)
class WindowRule:
    """What a window's name means: tested at once or on review, after which months, over which days."""

    at_once: bool
    review_months: tuple[int, ...]
    by_calendar_year: bool

    @classmethod
    def named(cls, name: str, tables: Tables) -> WindowRule:
        """Look a window up in us/windows; raises `KeyError` for a name that is not there."""
        table = tables["us/windows"]
        rows = table.rows(window=name)
        if not rows.size:
            raise KeyError(name)
        months = str(table["review_months"][rows[0]]).split()
        return cls(
            table["looked_at"][rows[0]] == "at_once",
            tuple(int(month) for month in months),
            table["adds"][rows[0]] == "calendar_year",
        )

    def around(self, day: int) -> Window:
        """Give the window of this kind that holds, or ends on, a day."""
        return calendar_year(to_day(day).year) if self.by_calendar_year else twelve_months_to(day)

    def reviews(self, first: int, last: int) -> list[Window]:
        """Give the windows whose look-at day (their last day) lies between two days."""
        ends = [end for end in self._ends(to_day(first), to_day(last)) if first <= end <= last]
        return [twelve_months_to(end) for end in ends]

    def _ends(self, first: date, last: date) -> list[int]:
        """List the look-at days in the months from the one of `first` to the one of `last`."""
        count = (last.year - first.year) * YEAR_MONTHS + last.month - first.month + 1
        months = [first_of_month(first, step) for step in range(count)]
        return [number(first_of_month(m, 1)) - 1 for m in months if m.month in self.review_months]

    def deciding(self, as_of: int) -> tuple[Window, Window]:
        """Give the window that is over and the one that runs on a day, for showing where a threshold stands."""
        today = to_day(as_of)
        if self.by_calendar_year:
            return calendar_year(today.year - 1), calendar_year(today.year)
        if self.at_once:
            return twelve_months_to(as_of), twelve_months_to(as_of)
        ends = self._ends(plus_months(today, -YEAR_MONTHS), plus_months(today, YEAR_MONTHS))
        over = max(end for end in ends if end <= as_of)
        return twelve_months_to(over), twelve_months_to(min(end for end in ends if end > as_of))


def calendar_year(year: int) -> Window:
    """Give the days of a calendar year."""
    return Window(number(date(year, 1, 1)), number(date(year + 1, 1, 1)) - 1)


@lru_cache(maxsize=8192)
def twelve_months_to(last: int) -> Window:
    """Give the twelve months that end on a day."""
    end = to_day(last)
    return Window(number(plus_months(end + timedelta(days=1), -YEAR_MONTHS)), last)
