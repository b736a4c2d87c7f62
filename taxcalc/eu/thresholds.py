"""The EUR 10 000 limit of art. 59c, Directive 2006/112/EC: one limit for the whole Union, net of VAT.

It helps a seller established in one member state only, for goods sent from that state to consumers in other member
states, together with digital supplies. It must not be passed in the current calendar year nor have been passed in the
year before; the sale that passes it is itself taxed on arrival. Sales are kept net at the home rate (below the limit)
and net at the destination's rate (from then on), because the net of a price with VAT depends on the answer.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.crossing import Test, first_meeting
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.duties import Interval, Position, ThresholdRow, status_of
from taxcalc.eu.election import elected
from taxcalc.exchange import convert
from taxcalc.facts import DISTANCE_SALES
from taxcalc.money import CURRENCY_CODE, parse_amount
from taxcalc.outlook import outlook
from taxcalc.regime import ThresholdAnswer
from taxcalc.totals import Series

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.seller import PriorSales
    from taxcalc.totals import Counted, Totals


def thresholds(totals: Totals, facts: Facts) -> ThresholdAnswer:
    """Answer for the Union: no row for a seller whom the limit cannot help."""
    states = facts.established_member_states
    chosen = elected(facts)
    if len(states) != 1 or states[0] != facts.home or facts.union_limit_row < 0:
        return ThresholdAnswer([], [])
    limit = Limit(totals, facts)
    intervals = limit.intervals()
    return ThresholdAnswer(limit.rows(intervals), [*intervals, *chosen])


class Limit:
    """The walk along the limit, year by year."""

    def __init__(self, totals: Totals, facts: Facts) -> None:
        """Take the Union's day totals and the limit's row, in the home state's currency where it has one."""
        self.union = places.index("EU")
        self.totals, self.facts = totals, facts
        table = facts.tables["eu/thresholds"]
        self.row = np.array([facts.union_limit_row], np.int32)
        self.table = table
        self.test = Test(
            int(table["amount"][self.row][0]), amount_over=bool(table["met_when"][self.row][0] == "over")
        )
        counted = totals.of(self.union)
        self.first_day = min(
            [facts.first_day, *(number(p.until_day) for p in facts.seller.prior_sales if p.place == "EU")]
        )
        self.home = self._series(counted, counted.amount)
        self.there = self._series(counted, counted.other_amount)

    def _series(self, counted: Counted, amount: Ints) -> Series:
        """Build running sums up to the day of the review, sales before the file on the last day they cover."""
        prior = [
            (number(p.until_day), self._prior(p)) for p in self.facts.seller.prior_sales if p.place == "EU"
        ]
        days = np.r_[counted.day, np.array([day for day, _ in prior], np.int32)].astype(np.int32)
        amounts = np.r_[amount, np.array([minor for _, minor in prior], np.int64)]
        orders = np.r_[counted.orders, np.zeros(len(prior), np.int64)]
        return Series.of(days, amounts, orders, self.first_day, self.facts.as_of_day)

    def _prior(self, sales: PriorSales) -> int:
        """Turn sales before the file, net in the reporting currency, into the limit's currency."""
        currency = self.facts.seller.reporting_currency
        minor = np.array([parse_amount(sales.amount, currency)], np.int64)
        day = number(sales.until_day)
        return int(convert(minor, CURRENCY_CODE[currency], self.facts.union_currency, day)[0])

    def intervals(self) -> list[Interval]:
        """Give one interval for each year in which the limit was passed, to the end of the year after it."""
        found: list[Interval] = []
        for year in range(to_day(self.first_day).year, self.facts.as_of.year + 1):
            first, last = number(date(year, 1, 1)), min(number(date(year, 12, 31)), self.facts.as_of_day)
            bound = any(i.start.day <= first <= i.until for i in found)
            series = self.there if bound else self.home
            crossed = self._crossing(series, first, last, at_home=not bound)
            if crossed is not None:
                found.append(
                    Interval(
                        self.union, crossed, number(date(year + 1, 12, 31)), "threshold", "amount", crossed
                    )
                )
        return found

    def _crossing(self, series: Series, first: int, last: int, *, at_home: bool) -> Position | None:
        """Give the order that passes the limit in a year."""
        if not self.test.amount_met(series.amount(first, last)):
            return None
        day = next(d for d in range(first, last + 1) if self.test.amount_met(series.amount(first, d)))
        orders = self.totals.orders_on(self.union, day)
        amounts = orders.amount if at_home else orders.other_amount
        at = first_meeting(self.test, series.amount(first, day - 1), 0, amounts, np.ones(amounts.size, bool))
        return Position(day) if at is None else Position(day, int(orders.second[at]), orders.order_id[at])

    def rows(self, intervals: list[Interval]) -> list[ThresholdRow]:
        """Show this year's total, or last year's where that one binds."""
        as_of, seller = self.facts.as_of_day, self.facts.seller
        year = self.facts.as_of.year
        binding = [i for i in intervals if i.start.day <= as_of <= i.until]
        before = (
            bool(binding)
            and to_day(binding[0].crossed.day).year < year
            and not self._crossed_in(intervals, year)
        )
        shown = year - 1 if before else year
        window = number(date(shown, 1, 1)), number(date(shown, 12, 31))
        value = self.value(window, intervals)
        crossed = next((i for i in intervals if to_day(i.crossed.day).year == shown), None)
        met = crossed is not None
        return [
            ThresholdRow(
                self.union,
                "amount",
                str(self.table["currency"][self.row][0]),
                *window,
                value,
                self.test.amount,
                status_of(value, self.test.amount, met=met, watch=seller.watch, near=seller.near),
                crossed.crossed if crossed else None,
                binding[0].start.day if binding else None,
                max(i.until for i in binding) if binding else None,
                outlook(self.home.amount, value, window, as_of, self.first_day),
                str(self.table.row_ids(self.row)[0]),
                int(self.table.basis(self.row, "amount")[0]),
                int(self.table.checked_on(self.row)[0]),
                incomplete=window[0] < self.facts.first_order_day
                and not any(p.place == "EU" for p in seller.prior_sales),
                kind=DISTANCE_SALES,
            )
        ]

    def value(self, window: tuple[int, int], intervals: list[Interval]) -> int:
        """Add up a year or its first days: net at the home rate until the crossing order, then at that of the destination."""
        crossed = next((i.crossed for i in intervals if window[0] <= i.crossed.day <= window[1]), None)
        bound = any(i.start.day < window[0] <= i.until for i in intervals)
        if bound:
            return self.there.amount(*window)
        if crossed is None:
            return self.home.amount(*window)
        orders = self.totals.orders_on(self.union, crossed.day)
        before = [
            (int(s), o) < (crossed.second, crossed.order_id)
            for s, o in zip(orders.second, orders.order_id, strict=True)
        ]
        that_day = (
            int(np.where(np.array(before, bool), orders.amount, orders.other_amount).sum()) if before else 0
        )
        return (
            self.home.amount(window[0], crossed.day - 1)
            + that_day
            + self.there.amount(crossed.day + 1, window[1])
        )

    @staticmethod
    def _crossed_in(intervals: list[Interval], year: int) -> bool:
        """Tell whether the limit was passed in a year."""
        return any(to_day(i.crossed.day).year == year for i in intervals)
