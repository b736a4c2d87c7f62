"""On which days a seller is no longer free of a state's delivery fee as a small seller (rows of us/delivery_fees).

A seller is free by its sales into the state in the previous calendar year. One without sales in that year, a new seller,
starts on the row's day after its sales pass the limit; whether the same start binds a seller with earlier sales in the
year itself is not settled here, so such days belong to the high end only. Sales through a facilitator are the
facilitator's; sales for resale are none at retail.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Buyer, Channel
from taxcalc.days import day as to_day
from taxcalc.days import first_of_month, number
from taxcalc.exchange import convert
from taxcalc.money import CURRENCY_CODE, parse_amount
from taxcalc.totals import Series

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.seller import PriorSales
    from taxcalc.tables.table import Table
    from taxcalc.totals import Totals


@dataclass(frozen=True)
class FeeDays:
    """Days (numbers, both inclusive) on which one fee binds the seller; not `sure`: in the high end only."""

    place: int
    fee: str
    first: int
    last: int
    sure: bool


@dataclass(frozen=True)
class SmallSeller:
    """How the seller stands against the limit of one fee: its sales of the calendar year before the review, in cents.

    `free_sales` is the limit (0 where no row holds), `incomplete` bool: the files begin after that year began.
    """

    place: int
    fee: str
    row: int
    sales_before: int
    free_sales: int
    incomplete: bool


class FeeSeller:
    """The seller's own retail sales into one state, against the rows of one fee."""

    def __init__(self, place: int, fee: str, totals: Totals, facts: Facts) -> None:
        """Add up the sales day by day; amounts before the files stand on the last day that they cover."""
        self.place, self.fee, self.facts = place, fee, facts
        self.table: Table = facts.tables["us/delivery_fees"]
        counted = totals.of(place)
        retail = (counted.channel == Channel.OWN) & (counted.buyer != Buyer.RESALE)
        self.prior = [p for p in facts.seller.prior_sales if p.place == places.code(place)]
        days = np.r_[counted.day[retail], np.array([number(p.until_day) for p in self.prior], np.int32)]
        cents = np.r_[counted.amount[retail], np.array([self._dollars(p) for p in self.prior], np.int64)]
        begin = int(days.min(initial=facts.first_day))
        self.series = Series.of(days.astype(np.int32), cents, np.zeros_like(cents), begin, facts.as_of_day)

    def _dollars(self, prior: PriorSales) -> int:
        """Give an amount of sales before the file as cents at the rate of its last day."""
        currency = self.facts.seller.reporting_currency
        minor = np.array([parse_amount(prior.amount, currency)], np.int64)
        return int(convert(minor, CURRENCY_CODE[currency], "USD", number(prior.until_day))[0])

    def stands(self) -> SmallSeller:
        """Tell how the seller stands on the day of the review."""
        row = self._row(self.facts.as_of_day)
        year = self.facts.as_of.year - 1
        begins_late = self.facts.first_order_day > number(date(year, 1, 1)) and not self.prior
        limit = int(self.table["free_sales"][row]) if row >= 0 else 0
        return SmallSeller(self.place, self.fee, row, self._sales(year), limit, begins_late)

    def days(self) -> list[FeeDays]:
        """Walk the calendar years since the fee began."""
        begun = self.table.first_day(place=places.code(self.place), fee=self.fee)
        years = range(to_day(begun).year, self.facts.as_of.year + 1)
        return [span for year in years for span in self._in_year(year, begun)]

    def _in_year(self, year: int, begun: int) -> list[FeeDays]:
        """Give the days of one year: all of it after a year above the limit, else from the start after a crossing in it."""
        first, last = max(number(date(year, 1, 1)), begun), number(date(year, 12, 31))
        row = self._row(first)
        if row < 0:
            return []
        if self._passed(row, self._sales(year - 1)):
            started = self._start(row, year - 1) if self._new_in(year - 1) else first
            return self._span(max(first, started or first), last, sure=True)
        started = self._start(row, year)
        return [] if started is None else self._span(max(first, started), last, sure=self._new_in(year))

    def _span(self, first: int, last: int, *, sure: bool) -> list[FeeDays]:
        """Give the days, if there are any."""
        return [FeeDays(self.place, self.fee, first, last, sure)] if first <= last else []

    def _new_in(self, year: int) -> bool:
        """Tell whether the seller had no sales into the state in the year before."""
        return self._sales(year - 1) == 0

    def _sales(self, year: int) -> int:
        """Add up a calendar year."""
        return self.series.amount(number(date(year, 1, 1)), number(date(year, 12, 31)))

    def _passed(self, row: int, sales: int) -> bool:
        """Tell whether sales are above what is free."""
        limit = int(self.table["free_sales"][row])
        return sales > limit or (sales == limit and self.table["free_sales_met_when"][row] == "below")

    def _start(self, row: int, year: int) -> int | None:
        """Give the first day after the limit was passed in a year; None where it was not."""
        begin = number(date(year, 1, 1))
        end = min(number(date(year, 12, 31)), self.facts.as_of_day)
        every = np.arange(begin, end + 1, dtype=np.int64)
        running = self.series.amount(np.full(every.size, begin, np.int64), every)
        passed = [int(day) for day, sum_ in zip(every, running, strict=True) if self._passed(row, int(sum_))][
            :1
        ]
        if not passed:
            return None
        later = to_day(passed[0]) + timedelta(days=int(self.table["start_days"][row]))
        if self.table["new_seller_starts"][row] == "first_of_month_within_days":
            return number(first_of_month(later))
        return number(later if later.day == 1 else first_of_month(later, 1))

    def _row(self, day: int) -> int:
        """Find the row of the fee on a day."""
        return self.table.row(day, place=self.place, fee=self.fee)


def fee_sellers(totals: Totals, facts: Facts) -> list[FeeSeller]:
    """Give the seller's standing for every fee of a state to which anything was sold or had been sold before."""
    table = facts.tables["us/delivery_fees"]
    prior = {places.index(p.place) for p in facts.seller.prior_sales if p.place in places.codes()}
    sold = {*totals.places(), *prior}
    pairs = {(int(p), str(f)) for p, f in zip(table["place"][:-1], table["fee"][:-1], strict=True)}
    return [FeeSeller(place, fee, totals, facts) for place, fee in sorted(pairs) if place in sold]
