"""One state's history: when its thresholds were crossed, and which intervals of duty followed.

The dated rows are walked one after the other; a row tests its own window with its own strictness and connector. Each
crossing makes one interval, from the start rule's day (or the next order) to the end rule's day; intervals that touch are
one stretch of duty. The repeal of a count test ends nothing by itself, except where `count_repeal_ends_duty` says so.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Channel
from taxcalc.crossing import first_meeting, next_order
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.duties import Interval, Position
from taxcalc.exchange import convert
from taxcalc.facts import OPEN
from taxcalc.money import CURRENCY_CODE, parse_amount
from taxcalc.totals import Series
from taxcalc.us.rules import rules_of
from taxcalc.us.start_end import binds_itself, end_day, start_day
from taxcalc.us.windows import Window, calendar_year, twelve_months_to

if TYPE_CHECKING:
    from taxcalc.crossing import Test
    from taxcalc.facts import Facts
    from taxcalc.seller import PriorSales
    from taxcalc.tables.table import Table
    from taxcalc.totals import Totals
    from taxcalc.us.rules import Rule


class State:
    """One state's sales against its thresholds."""

    def __init__(self, code: int, totals: Totals, facts: Facts) -> None:
        """Take the totals of one state; nothing is computed yet."""
        self.code, self.totals, self.facts = code, totals, facts
        self.counted = totals.of(code)
        self.prior = [p for p in facts.seller.prior_sales if p.place == places.code(code)]
        self.first_day = min([facts.first_day, *(number(p.until_day) for p in self.prior)])
        self.rules = rules_of(code, facts.tables)
        self._series: dict[int, Series] = {}

    def series(self, rule: Rule) -> Series:
        """Give the running sums of what counts under a rule, sales before the file on the last day they cover."""
        if rule.row not in self._series:
            self._series[rule.row] = self._added_up(rule)
        return self._series[rule.row]

    def _added_up(self, rule: Rule) -> Series:
        """Build the running sums of what counts under a rule."""
        counts = rule.counting(self.counted)
        prior = [(number(p.until_day), self._prior_amount(p), p.transactions or 0) for p in self.prior]
        days = np.r_[self.counted.day[counts], np.array([p[0] for p in prior], np.int32)].astype(np.int32)
        amount = np.r_[self.counted.amount[counts], np.array([p[1] for p in prior], np.int64)]
        orders = np.r_[self.counted.orders[counts], np.array([p[2] for p in prior], np.int64)]
        return Series.of(days, amount, orders, self.first_day, self.facts.as_of_day)

    def _prior_amount(self, prior: PriorSales) -> int:
        """Read an amount of sales before the file, in the reporting currency, as dollars of its last day."""
        currency = self.facts.seller.reporting_currency
        minor = np.array([parse_amount(prior.amount, currency)], np.int64)
        return int(convert(minor, CURRENCY_CODE[currency], "USD", number(prior.until_day))[0])

    def intervals(self) -> list[Interval]:
        """Find every interval of duty that a threshold made, each with the crossing behind it."""
        found: list[Interval] = []
        for position, rule in enumerate(self.rules):
            met = (
                self._met_at_once(rule, first=position == 0)
                if rule.window.at_once
                else self._met_at_review(rule)
            )
            found.extend(self._until_repeal(interval, position) for interval in met)
        return sorted(set(self._with_own_sales(found)))

    def _met_at_once(self, rule: Rule, *, first: bool) -> list[Interval]:
        """Walk windows that an order crosses: each calendar year, or any twelve months."""
        if not rule.window.by_calendar_year:
            return self._met_in_twelve_months(rule, first=first)
        years = range(to_day(self.first_day).year, to_day(min(rule.last, self.facts.as_of_day)).year + 1)
        return [interval for year in years for interval in self._met_in_year(rule, calendar_year(year))]

    def _met_in_year(self, rule: Rule, year: Window) -> list[Interval]:
        """Find the duty that one calendar year makes: met before the law began, or crossed while it holds.

        A law looks back at the year in which it begins and at the one before.
        """
        begins_in = to_day(rule.first).year
        before_law = Window(year.first, min(year.last, rule.first - 1))
        looks_back = begins_in - 1 <= to_day(year.first).year <= begins_in
        if looks_back and before_law.last >= before_law.first and self._met(rule, before_law):
            return [self._interval(rule, Position(rule.first), max(rule.first, rule.earliest), year.last)]
        inside = Window(max(year.first, rule.first), min(year.last, rule.last, self.facts.as_of_day))
        day = self.first_day_met(rule, year.first, inside)
        if day is None:
            return []
        return [self._from_crossing(rule, self.crossing_order(rule, year.first, day), day)]

    def _met(self, rule: Rule, window: Window) -> bool:
        """Tell whether the sales of some days meet a rule."""
        series = self.series(rule)
        return rule.test.met(series.amount(*window), series.orders(*window))

    def first_day_met(
        self, rule: Rule, from_day: int, inside: Window, test: Test | None = None
    ) -> int | None:
        """Give the first of some days on which the total since `from_day` meets the test."""
        test, series = test or rule.test, self.series(rule)
        low, high = inside
        if high < low or not test.met(series.amount(from_day, high), series.orders(from_day, high)):
            return None
        while low < high:
            middle = (low + high) // 2
            if test.met(series.amount(from_day, middle), series.orders(from_day, middle)):
                high = middle
            else:
                low = middle + 1
        return low

    def crossing_order(self, rule: Rule, from_day: int, day: int, test: Test | None = None) -> Position:
        """Give the order of a day with which the total since `from_day` meets the test."""
        orders, series = self.totals.orders_on(self.code, day), self.series(rule)
        counts = rule.counting(orders)
        amounts = np.where(counts, orders.amount if rule.counts_exempt else orders.taxable_amount, 0)
        before = series.amount(from_day, day - 1), series.orders(from_day, day - 1)
        at = first_meeting(test or rule.test, *before, amounts, counts)
        return Position(day) if at is None else Position(day, int(orders.second[at]), orders.order_id[at])

    def _from_crossing(self, rule: Rule, crossed: Position, window_last: int) -> Interval:
        """Apply the start rule in force on the day of the crossing, or on the first day of a law that came after it."""
        starts, rules = self.facts.tables["us/threshold_starts"], self.facts.tables["us/start_rules"]
        row = starts.row(max(crossed.day, rule.first), place=self.code)
        name = starts["start_rule"][row]
        kind = rules.row(start_rule=name) if name else -1
        day = start_day(rules, kind, crossed.day)
        if day is None:
            orders = self.totals.orders_on(self.code, crossed.day)
            begin = crossed if binds_itself(rules, kind) else next_order(orders, crossed)
            return self._interval(rule, crossed, begin, window_last)
        return self._interval(rule, crossed, day, window_last)

    def _interval(self, rule: Rule, crossed: Position, begin: int | Position, window_last: int) -> Interval:
        """Build the interval from its beginning to the end rule's day; never before the law asked anybody."""
        start = begin if isinstance(begin, Position) else Position(begin)
        if start.day < rule.earliest:
            start = Position(rule.earliest)
        grounds = self._grounds(rule, window_last, crossed)
        if start.day >= OPEN:
            return Interval(self.code, start, OPEN, "threshold", grounds, crossed)
        until = end_day(*self._end_rule(max(start.day, rule.first)), start.day, window_last, rule.last)
        return Interval(self.code, start, until, "threshold", grounds, crossed)

    def _end_rule(self, rule_day: int) -> tuple[Table, int]:
        """Give the table of end rules and the row of the one that holds on a day."""
        ends, rules = self.facts.tables["us/duty_ends"], self.facts.tables["us/end_rules"]
        name = ends["end_rule"][ends.row(min(rule_day, self.facts.as_of_day), place=self.code)]
        return rules, rules.row(end_rule=name) if name else -1

    def _grounds(self, rule: Rule, window_last: int, crossed: Position) -> str:
        """Name the measures that are met in the window: amount, transactions or both."""
        series = self.series(rule)
        first, last = rule.window.around(window_last).first, max(window_last, crossed.day)
        measures = {
            "amount": rule.test.amount_met(series.amount(first, last)),
            "transactions": rule.test.count_met(series.orders(first, last)),
        }
        return " ".join(name for name, met in measures.items() if met)

    def _met_in_twelve_months(self, rule: Rule, *, first: bool) -> list[Interval]:
        """Walk any twelve months: a duty begins with a crossing and lasts while windows go on meeting the line.

        A law's first look may reach back before its own first day.
        """
        begin = max(twelve_months_to(rule.first).first if first else rule.first, self.first_day)
        days = range(begin, min(rule.last, self.facts.as_of_day) + 1)
        found: list[Interval] = []
        met, at = self._twelve_months_met(rule, days), 0
        while at < len(met):
            crossed = self.crossing_order(rule, twelve_months_to(met[at]).first, met[at])
            interval = self._from_crossing(rule, crossed, met[at])
            ends = self._end_rule(interval.start.day)
            at += 1
            while at < len(met) and met[at] <= interval.until:
                at = bisect_right(met, interval.until)
                if interval.until < OPEN:
                    until = end_day(*ends, interval.start.day, met[at - 1], rule.last)
                    interval = replace(interval, until=max(interval.until, until))
            found.append(interval)
        return found

    def _twelve_months_met(self, rule: Rule, days: range) -> list[int]:
        """List the days of which the twelve months to that day meet the test."""
        series = self.series(rule)
        last = np.arange(days.start, days.stop)
        first = np.array([twelve_months_to(day).first for day in days], np.int64)
        met: list[int] = last[
            rule.test.met_each(series.amount(first, last), series.orders(first, last))
        ].tolist()
        return met

    def _met_at_review(self, rule: Rule) -> list[Interval]:
        """Walk windows that are looked at on fixed days; the duty they make must touch the days of the rule."""
        found = []
        for window in rule.window.reviews(self.first_day, self.facts.as_of_day):
            if self._met(rule, window):
                interval = self._from_crossing(rule, Position(window.last), window.last)
                if interval.until >= rule.first and interval.start.day <= rule.last:
                    start = interval.start if interval.start.day >= rule.first else Position(rule.first)
                    found.append(replace(interval, start=start))
        return [*found, *self._foreseen(rule)]

    def _foreseen(self, rule: Rule) -> list[Interval]:
        """Foresee the duty that a window, not over yet, has already made certain."""
        _, running = rule.window.deciding(self.facts.as_of_day)
        certain = (
            running.last > self.facts.as_of_day and rule.last >= running.last and self._met(rule, running)
        )
        year_only = len(rule.window.review_months) == 1
        return (
            [self._from_crossing(rule, Position(running.last), running.last)] if certain and year_only else []
        )

    def _until_repeal(self, interval: Interval, position: int) -> Interval:
        """End a duty that rests on a repealed count test, in the states whose own papers say that it ended."""
        repeal = next((rule for rule in self.rules[position + 1 :] if rule.test.count is None), None)
        if interval.grounds != "transactions" or repeal is None:
            return interval
        ends = self.facts.tables["us/duty_ends"]
        row = ends.row(repeal.first, place=self.code)
        freed = bool(ends["count_repeal_ends_duty"][row])
        return replace(interval, until=min(interval.until, repeal.first - 1)) if freed else interval

    def _with_own_sales(self, intervals: list[Interval]) -> list[Interval]:
        """Where a seller with facilitated sales only need not register, let the duty begin with the first own sale.

        The state says so in `us/facilitator_laws`; own sales of the twelve months before count as being there. A duty
        that goes on without a gap waits for no new own sale.
        """
        own = np.unique(self.counted.day[self.counted.channel != Channel.MARKETPLACE])
        found: list[Interval] = []
        for interval in sorted(intervals):
            begin = self._own_sales_needed_since(interval)
            first = own[(own >= begin) & (own <= interval.until)]
            bound = any(f.start.day <= interval.start.day <= f.until + 1 for f in found)
            if (
                bound
                or begin == interval.start.day
                or self.prior
                or (first.size and first[0] <= interval.start.day)
            ):
                found.append(interval)
            elif first.size:
                found.append(replace(interval, start=Position(int(first[0]))))
        return found

    def _own_sales_needed_since(self, interval: Interval) -> int:
        """Give the day from which own sales are looked for; the interval's own start where the state needs none."""
        laws = self.facts.tables["us/facilitator_laws"]
        day = min(interval.start.day, self.facts.as_of_day)
        row = laws.row(day, place=self.code)
        return twelve_months_to(day).first if laws["seller_registers"][row] == "no" else interval.start.day
