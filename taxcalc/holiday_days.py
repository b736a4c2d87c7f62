"""The days of sales-tax holidays (us/holidays), by place and class of goods, and the orders that they tell apart.

The rules of a sale are those of its tax point, but a holiday asks for the day of the order as well: an order paid in it
may be free though it is dispatched later. A case therefore says whether only one of the two days lies in a holiday for
the goods (`Cases.ordered_apart`); nearly always it is both or none.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY, PRODUCT_CLASSES

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.tables.load import Table

    Flags = npt.NDArray[np.bool_]
    Places = npt.NDArray[np.int16]
    Classes = npt.NDArray[np.int8]
    Days = npt.NDArray[np.int32]


class HolidayDays:
    """The days of holidays in the span of a run."""

    def __init__(self, facts: Facts) -> None:
        """Remember the tables; the days are laid out when they are first asked for."""
        self._first, self._last = facts.first_day, facts.last_day
        self._table = facts.tables["us/holidays"]

    def apart(self, place: Places, product_class: Classes, ordered: Days, tax_point: Days) -> Flags:
        """Tell for which lines only one of the two days lies in a holiday for the goods."""
        found = np.zeros(place.size, np.bool_)
        other = np.flatnonzero((ordered != tax_point) & self._some[place])
        if other.size:
            there = place[other], product_class[other]
            found[other] = self._held(*there, ordered[other]) != self._held(*there, tax_point[other])
        return found

    @cached_property
    def _some(self) -> Flags:
        """Tell which places have holidays at all."""
        some = np.zeros(len(places.codes()), np.bool_)
        some[self._table["place"][:-1]] = True
        return some

    @cached_property
    def _grid(self) -> Flags:
        """Lay out place × class × day: the day lies in a holiday for the goods."""
        days = np.arange(self._first, self._last + 1, dtype=np.int32)
        classes = np.arange(len(PRODUCT_CLASSES), dtype=np.int8)
        grid = np.zeros((len(places.codes()), classes.size, days.size), np.bool_)
        for place in np.flatnonzero(self._some).tolist():
            where = np.full(days.size, place, np.int16)
            for goods in kinds(self._table):
                rows = self._table.lookup(days, place=where, goods=goods)
                grid[place] |= frees_class(self._table, rows[None, :], classes[:, None]) & in_days(
                    self._table, rows, days
                )
        return grid

    def _held(self, place: Places, product_class: Classes, day: Days) -> Flags:
        """Tell whether a day lies in a holiday for the goods; days outside the span count as its ends."""
        at = np.clip(day, self._first, self._last) - self._first
        held: Flags = self._grid[place, product_class, at]
        return held


def kinds(table: Table) -> list[str]:
    """List the kinds of goods that rows of the table speak of."""
    return sorted({str(goods) for goods in table["goods"][:-1].tolist()})


def frees_class(table: Table, rows: npt.NDArray[np.int32], product_class: npt.NDArray[np.integer]) -> Flags:
    """Tell where a row concerns a class of goods; no for row -1."""
    freed: Flags = (table["product_classes"][rows].astype(np.int64) >> product_class.astype(np.int64)) & 1 > 0
    return (rows >= 0) & freed


def in_days(table: Table, rows: npt.NDArray[np.int32], day: Days) -> Flags:
    """Tell where a day lies in the holiday of a row; a row found for the day has begun."""
    last = table["last_day"][rows]
    return np.asarray((rows >= 0) & (last != NO_DAY) & (day <= last), np.bool_)
