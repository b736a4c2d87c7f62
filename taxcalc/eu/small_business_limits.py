"""Where a seller stands against the limits of the small-business scheme, and from when the exemption is over.

One walk a state and one for the whole Union, calendar year by calendar year: a year is closed by the turnover of the year
before, or the limit (or the state's second, higher one) is passed by an order of the year and ends the exemption from the
sale, the day, the next day, the next month or January, as the state's row says. Amounts of an exempt seller hold no VAT, so
turnover is what was charged; from the end of the exemption on it is net of VAT at the rate of the place.
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc.crossing import Test, first_meeting
from taxcalc.days import day as to_day
from taxcalc.days import number, plus_months
from taxcalc.duties import Interval, Position
from taxcalc.eu.small_business_rules import CEILING, LIMIT, NO_EFFECT, start_of
from taxcalc.exchange import convert
from taxcalc.money import CURRENCY_CODE, parse_amount
from taxcalc.totals import Series

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from taxcalc.eu.small_business_rules import Rule
    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.seller import PriorSales
    from taxcalc.totals import Totals

BEFORE = "before"
"""Grounds of a year that is closed by the turnover of an earlier one. Grounds of the others are the kind of the limit."""

AHEAD = 2
"""Years after the review that an earlier turnover can close: two in one state (eu/small_business_rules)."""


class Over(NamedTuple):
    """The exemption is over in an interval; `certain` where a row says so, else the cautious reading."""

    interval: Interval
    certain: bool


class Passed(NamedTuple):
    """A limit that an order of a year passed: which, by which rule, where, and from when tax is due."""

    kind: str
    rule: Rule
    crossed: Position
    start: Position | None
    certain: bool


class Walk:
    """The walk of one limit: a state's turnover (or the Union's) against its rules."""

    def __init__(
        self,
        place: int,
        rules: list[Rule],
        totals: Totals,
        facts: Facts,
        prior: Sequence[PriorSales],
    ) -> None:
        """Take the totals of one place and walk all years; `prior` are sales there before the files."""
        self.place, self.rules, self.totals, self.facts, self.prior = place, rules, totals, facts, prior
        self.first_day = min([facts.first_day, *(number(p.until_day) for p in prior)])
        counted = totals.of(place)
        self.exempt = self._series(counted.day, counted.amount, counted.orders)
        self.taxed = self._series(counted.day, counted.other_amount, counted.orders)
        began = facts.seller.established_on or min(
            [to_day(facts.first_order_day), *(p.from_day for p in prior)]
        )
        self.began: date = began
        self.passed: dict[int, list[Passed]] = {}
        self.over: list[Over] = []
        for year in range(to_day(self.first_day).year, facts.as_of.year + AHEAD + 1):
            self.over.extend(self._year(year))

    def _series(self, days: npt.NDArray[np.int32], amounts: Ints, orders: Ints) -> Series:
        """Build running sums to the day of the review, sales before the file on the last day they cover."""
        before = [(number(p.until_day), self._minor(p)) for p in self.prior]
        all_days = np.r_[days, np.array([day for day, _ in before], np.int32)].astype(np.int32)
        amount = np.r_[amounts, np.array([minor for _, minor in before], np.int64)]
        counts = np.r_[orders, np.zeros(len(before), np.int64)]
        return Series.of(all_days, amount, counts, self.first_day, self.facts.as_of_day)

    def _minor(self, sales: PriorSales) -> int:
        """Turn sales before the file, in the reporting currency, into the currency of the limit on their last day."""
        currency, day = self.facts.seller.reporting_currency, number(sales.until_day)
        minor = np.array([parse_amount(sales.amount, currency)], np.int64)
        return int(convert(minor, CURRENCY_CODE[currency], currency_on(self.rules, day), day)[0])

    def _year(self, year: int) -> list[Over]:
        """Find from when the exemption is over in one year; nothing where no rule is held for it."""
        first, last = number(date(year, 1, 1)), number(date(year, 12, 31))
        rules = [rule.in_first_year(self.began, year) for rule in self.rules if rule.first <= last]
        rules = [rule for rule in rules if rule.last >= first]
        if not rules:
            return []
        closed = self._closed(year, rules[0])
        if closed is not None:
            whole = Interval(self.place, Position(first), last, "threshold", BEFORE, Position(first))
            return [Over(whole, closed)]
        self.passed[year] = [p for rule in rules for p in self._passed_in(rule, first, last)]
        found = [
            Over(Interval(self.place, p.start, last, "threshold", p.kind, p.crossed), p.certain)
            for p in self.passed[year]
            if p.start is not None and p.start.day <= last
        ]
        return self._earliest(found)

    @staticmethod
    def _earliest(found: list[Over]) -> list[Over]:
        """Keep the earliest of each kind of certainty: an open question first, and a certain end later, are both kept."""
        kept: list[Over] = []
        for over in sorted(found, key=lambda one: (one.interval.start, not one.certain)):
            if not any(one.certain or one.certain == over.certain for one in kept):
                kept.append(over)
        return kept

    def _closed(self, year: int, rule: Rule) -> bool | None:
        """Tell whether earlier turnover closes a year: for certain (True), perhaps (False), or not (None)."""
        before, january = self.passed.get(year - 1, []), number(date(year, 1, 1))
        if any(p.certain and p.start is not None and p.start.day == january for p in before):
            return True
        if self._over(year - 1, rule, rule.previous):
            return True
        if rule.closed == "two_years" and self._over(year - 2, rule, rule.amount):
            return True
        over = bool(before) or self._over(year - 1, rule, rule.amount)
        if rule.previous is not None or rule.closes_next_year is False or not over:
            return None
        return rule.closes_next_year is True

    def _over(self, year: int, rule: Rule, amount: int | None) -> bool:
        """Tell whether a year's turnover was over an amount, or an order passed the limit of the very row.

        An order that passes a limit is taxed: without the VAT that is then in its price the sum may fall below again.
        """
        if amount is None:
            return False
        passed = any(p.rule.row == rule.row for p in self.passed.get(year, []))
        return passed or self.turnover(year, rule) > amount

    def turnover(self, year: int, rule: Rule) -> int:
        """Add up a year in the currency of a rule: another currency is turned at the rate of the year's last day."""
        last = number(date(year, 12, 31))
        value, currency = self.value(year), currency_on(self.rules, last)
        if currency == rule.currency:
            return value
        minor = np.array([value], np.int64)
        return int(convert(minor, CURRENCY_CODE[currency], rule.currency, last)[0])

    def value(self, year: int) -> int:
        """Add up a calendar year: as charged until the exemption ends, net of VAT after that.

        The order that passed the limit counts as charged, though it may be the first that is taxed: it is what passed it.
        """
        first, last = number(date(year, 1, 1)), number(date(year, 12, 31))
        ends = [o.interval for o in self.over if first <= o.interval.start.day <= last]
        if not ends:
            return self.exempt.amount(first, last)
        if ends[0].grounds == BEFORE:
            return self.taxed.amount(first, last)
        end = max(min(ends).start, min(ends).crossed)
        on_that_day = self._on_day(end) if end.order_id else self.taxed.amount(end.day, end.day)
        return self.exempt.amount(first, end.day - 1) + on_that_day + self.taxed.amount(end.day + 1, last)

    def _on_day(self, end: Position) -> int:
        """Add up the orders of a day: as charged up to one of them and with it, net of VAT after it."""
        orders = self.totals.orders_on(self.place, end.day)
        positions = zip(orders.second.tolist(), orders.order_id, strict=True)
        until = np.array([at <= (end.second, end.order_id) for at in positions], bool)
        return int(np.where(until, orders.amount, orders.other_amount).sum())

    def _passed_in(self, rule: Rule, first: int, last: int) -> list[Passed]:
        """Find which limits of one rule an order passes in a year, and what each brings about."""
        limits = [(LIMIT, rule.amount, rule.over_limit)]
        if rule.ceiling is not None:
            limits.append((CEILING, rule.ceiling, rule.over_ceiling))
        inside = max(first, rule.first), min(last, rule.last, self.facts.as_of_day)
        found = []
        for kind, amount, effect in limits:
            crossed = self._crossing(amount, rule, first, inside)
            if crossed is not None:
                start, certain = start_of(effect, crossed)
                found.append(Passed(kind, rule, crossed, None if effect == NO_EFFECT else start, certain))
        return found

    def _crossing(self, amount: int, rule: Rule, year: int, inside: tuple[int, int]) -> Position | None:
        """Give the order that passes an amount within some days, counted from the year's first day or over twelve months."""
        days = np.arange(inside[0], inside[1] + 1)
        if not days.size:
            return None
        begin = self._twelve_months(days) if rule.rolling else np.full(days.size, year)
        met = self.exempt.amount(begin, days) > amount
        if not met.any():
            return None
        at = int(met.argmax())
        day, since = int(days[at]), int(begin[at])
        orders = self.totals.orders_on(self.place, day)
        before = self.exempt.amount(since, day - 1)
        order = first_meeting(
            Test(amount, amount_over=True), before, 0, orders.amount, np.ones(len(orders.order_id), bool)
        )
        if order is None or before > amount:
            return Position(day)
        return Position(day, int(orders.second[order]), orders.order_id[order])

    @staticmethod
    def _twelve_months(days: Ints) -> Ints:
        """Give the first day of the twelve months that end on each day."""
        return np.array([number(plus_months(to_day(int(day)), -12)) + 1 for day in days], np.int64)

    def closing(self) -> Interval | None:
        """Give the interval that closed the year of the review, None where it was open when it began."""
        day = number(date(self.facts.as_of.year, 1, 1))
        closed = (o.interval for o in self.over if o.interval.grounds == BEFORE)
        return next((interval for interval in closed if interval.start.day == day), None)


def currency_on(rules: list[Rule], day: int) -> str:
    """Give the currency of the limit on a day; before the first rule the first one's."""
    held = [rule for rule in rules if rule.first <= day]
    return (held or rules)[-1 if held else 0].currency


def currencies_of(rules: list[Rule]) -> list[tuple[str, int, int]]:
    """List the currencies of the rules with the days on which each holds, all days covered."""
    starts = [rules[0].first, *(b.first for a, b in pairwise(rules) if b.currency != a.currency)]
    ends = [day - 1 for day in starts[1:]]
    spans = zip([-(2**31), *starts[1:]], [*ends, 2**31 - 1], strict=True)
    return [(currency_on(rules, max(first, rules[0].first)), first, last) for first, last in spans]
