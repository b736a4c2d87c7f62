"""Days on which a later tax point would meet another rule: before a change of rate, and in or before a tax holiday.

An order without a dispatch day is taxed as of its order day; dispatched up to `NEAR` days later it could fall on the other
side. Nothing is computed from this: the lines are counted and said. What a holiday frees is computed in `us/holidays.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc import places
from taxcalc.columns import PRODUCT_CLASSES

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.tables.load import Table

    Grid = npt.NDArray[np.bool_]
    Days = npt.NDArray[np.int32]

NEAR: Final = 14
"""Days by which a tax point may come after the order."""

RATES: Final[tuple[tuple[str, str, dict[str, object]], ...]] = (
    ("us/state_rates", "state_percent", {}),
    ("eu/rates", "percent", {"product_class": "*"}),
)
"""Rates that hold for a whole place: table, column, and the other keys of the row."""


@dataclass(frozen=True)
class NearDays:
    """The days of a period on which lines are counted, from its `first` day on.

    `rate` bool, place × day: a rate of the place changes within `NEAR` days after the day. `holiday` bool, place × class
    of goods × day: the day lies in a tax holiday that may free such goods, or up to `NEAR` days before one.
    """

    first: int
    rate: Grid
    holiday: Grid

    def before_change(self, place: npt.NDArray[np.int16], day: Days) -> Grid:
        """Tell which lines stand shortly before a change of rate; all days lie in the period."""
        found: Grid = self.rate[place, day - self.first]
        return found

    def by_holiday(
        self, place: npt.NDArray[np.int16], day: Days, product_class: npt.NDArray[np.int8]
    ) -> Grid:
        """Tell which lines stand in or shortly before a holiday for their goods; all days lie in the period."""
        found: Grid = self.holiday[place, product_class, day - self.first]
        return found


def near_days(facts: Facts, first: int, last: int) -> NearDays:
    """Lay out the days of a period (day numbers, both inclusive), as far as lines reach into it, for all places."""
    first, last = max(first, facts.first_day), min(last, facts.last_day)
    count, size = len(places.codes()), max(last - first + 1, 0)
    rate = np.zeros((count, size), np.bool_)
    for name, column, keys in RATES:
        for place, day in _changes(facts.tables[name], column, keys, first, last):
            rate[place, _span(day - NEAR, day - 1, first)] = True
    holiday = np.zeros((count, len(PRODUCT_CLASSES), size), np.bool_)
    table = facts.tables["us/holidays"]
    for row in np.flatnonzero(~table["ended"][:-1]).tolist():
        freed = (int(table["product_classes"][row]) >> np.arange(len(PRODUCT_CLASSES))) & 1 > 0
        days = _span(int(table["valid_from"][row]) - NEAR, int(table["last_day"][row]), first)
        holiday[int(table["place"][row]), freed, days] = True
    return NearDays(first, rate, holiday)


def _span(begin: int, end: int, first: int) -> slice:
    """Give the part of a row of days from one day to another, both inclusive; what lies outside falls away."""
    return slice(max(begin - first, 0), max(end - first + 1, 0))


def _changes(
    table: Table, column: str, keys: dict[str, object], first: int, last: int
) -> list[tuple[int, int]]:
    """List place and day wherever a rate differs from that of the day before, up to `NEAR` days after the period."""
    found = []
    for place in np.unique(table["place"][:-1]).tolist():
        days = table.change_days(place)
        days = days[(days > first) & (days <= last + NEAR)]
        if days.size:
            here = np.full(days.size, place, np.int16)
            before, after = (table.lookup(days - back, place=here, **keys) for back in (1, 0))
            differs = (before >= 0) & (table[column][before] != table[column][after])
            found += [(place, day) for day in days[differs].tolist()]
    return found
