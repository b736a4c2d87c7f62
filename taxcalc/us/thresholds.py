"""Economic nexus: which sales count in each state, when a threshold was crossed, and which duty followed.

Per state the dated rows of `us/thresholds` are walked one after the other; a row tests its own window with its own
strictness and connector. Refunds never lower a total and a crossing is never undone: no state was found to say
otherwise (see the table). Each crossing makes one interval, from the start rule's day (or the next order) to the end
rule's day; intervals that touch are one stretch of duty. The repeal of a count test ends nothing by itself, except where
`count_repeal_ends_duty` says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY, Buyer, Channel
from taxcalc.crossing import Test, first_meeting, next_order
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.duties import Interval, Position, ThresholdRow, since, status_of
from taxcalc.facts import OPEN
from taxcalc.money import parse_amount
from taxcalc.outlook import outlook
from taxcalc.regime import ThresholdAnswer
from taxcalc.tables.schema import NO_VALUE
from taxcalc.totals import Series
from taxcalc.us.start_end import end_day, start_day
from taxcalc.us.windows import AT_ONCE, Window, calendar_year, deciding, reviews, twelve_months_to

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.seller import PriorSales
    from taxcalc.totals import Counted, DayOrders, Totals

NOT_CONSUMER_RESALE = int(Buyer.RESALE)


def thresholds(totals: Totals, facts: Facts) -> ThresholdAnswer:
    """Answer for every state that was shipped to: the rows shown and the intervals of duty."""
    rows: list[ThresholdRow] = []
    intervals: list[Interval] = []
    for code in _places(totals, facts):
        state = State(code, totals, facts)
        found = state.with_own_sales(state.intervals())
        intervals.extend(found)
        rows.extend(state.rows(found))
    return ThresholdAnswer(rows, intervals)


def _places(totals: Totals, facts: Facts) -> list[int]:
    """List the states with sales that count, or with sales before the file."""
    table = facts.tables["us/thresholds"]
    known = set(table["place"][:-1].tolist())
    regimes = places.regimes()
    prior = [places.index(p.place) for p in facts.seller.prior_sales if p.place in places.codes()]
    return sorted(code for code in {*totals.places(), *prior} if code in known and regimes[code] == places.US)


@dataclass(frozen=True)
class Rule:
    """One dated row of us/thresholds as a test, with the days on which it holds."""

    row: int
    first: int
    last: int
    test: Test
    window: str
    earliest: int
    counts_exempt: bool
    counts_resale: bool
    counts_marketplace: bool


class State:
    """One state's history of sales against its thresholds."""

    def __init__(self, code: int, totals: Totals, facts: Facts) -> None:
        """Take the totals of one state; nothing is computed yet."""
        self.code, self.totals, self.facts = code, totals, facts
        self.counted = totals.of(code)
        self.prior = [p for p in facts.seller.prior_sales if p.place == places.code(code)]
        self.first_day = min([facts.first_day, *(number(p.until_day) for p in self.prior)])
        self.rules = self._rules()

    def _rules(self) -> list[Rule]:
        """Read the state's rows, each holding until the day before the next."""
        table = self.facts.tables["us/thresholds"]
        days = [int(day) for day in table.change_days(self.code)]
        spans = zip(days, [*(day - 1 for day in days[1:]), OPEN], strict=True)
        found = []
        for first, last in spans:
            row = int(table.lookup(np.int32(first), place=np.int16(self.code)))
            if row >= 0 and table["duty_kind"][row] == "collect":
                found.append(self._rule(row, first, last))
        return found

    def _rule(self, row: int, first: int, last: int) -> Rule:
        """Turn one table row into a test."""
        table = self.facts.tables["us/thresholds"]
        count = int(table["transactions"][row])
        test = Test(
            amount=int(table["amount"][row]),
            amount_over=table["amount_met_when"][row] == "over",
            count=None if count == NO_VALUE else count,
            count_over=table["transactions_met_when"][row] == "over",
            both=table["connector"][row] == "both",
        )
        earliest = int(table["no_duty_before"][row])
        return Rule(
            row,
            first,
            last,
            test,
            str(table["window"][row]),
            first if earliest == NO_DAY else earliest,
            bool(table["exempt_sales_count"][row]),
            bool(table["resale_sales_count"][row]),
            bool(table["marketplace_sales_count"][row]),
        )

    def counting(self, rule: Rule, items: Counted | DayOrders) -> npt.NDArray[np.bool_]:
        """Tell which totals (or orders of a day) count under a rule."""
        resale = items.buyer == NOT_CONSUMER_RESALE
        exempt = ~items.taxable & ~resale
        return (
            (rule.counts_marketplace | (items.channel != Channel.MARKETPLACE))
            & (rule.counts_resale | ~resale)
            & (rule.counts_exempt | ~exempt)
        )

    def series(self, rule: Rule) -> Series:
        """Build the running sums of what counts under a rule, sales before the file on the last day they cover."""
        counts = self.counting(rule, self.counted)
        prior = [(number(p.until_day), self._prior_amount(p), p.transactions or 0) for p in self.prior]
        days = np.r_[self.counted.day[counts], np.array([p[0] for p in prior], np.int32)].astype(np.int32)
        amount = np.r_[self.counted.amount[counts], np.array([p[1] for p in prior], np.int64)]
        orders = np.r_[self.counted.orders[counts], np.array([p[2] for p in prior], np.int64)]
        return Series.of(days, amount, orders, self.first_day, self.facts.as_of_day)

    def _prior_amount(self, prior: PriorSales) -> int:
        """Read an amount of sales before the file, in the reporting currency, as dollars of its last day."""
        from taxcalc.exchange import convert  # noqa: PLC0415 - only with such sales
        from taxcalc.money import CURRENCY_CODE  # noqa: PLC0415

        currency = self.facts.seller.reporting_currency
        minor = np.array([parse_amount(prior.amount, currency)], np.int64)
        return int(convert(minor, CURRENCY_CODE[currency], "USD", number(prior.until_day))[0])

    def intervals(self) -> list[Interval]:
        """Find every interval of duty that a threshold made, each with the crossing behind it."""
        found: list[Interval] = []
        for position, rule in enumerate(self.rules):
            series = self.series(rule)
            met = (
                self._met_at_once(rule, series, first=position == 0)
                if rule.window in AT_ONCE
                else self._met_at_review(rule, series)
            )
            found.extend(self._until_repeal(interval, position) for interval in met)
        return sorted(found)

    def _met_at_once(self, rule: Rule, series: Series, *, first: bool) -> list[Interval]:
        """Walk windows that an order crosses: each calendar year, or any twelve months."""
        if rule.window == "rolling_12_months":
            return self._met_in_twelve_months(rule, series, first=first)
        found = []
        last_year = to_day(min(rule.last, self.facts.as_of_day)).year
        for year in range(to_day(self.first_day).year, last_year + 1):
            window = calendar_year(year)
            inside = Window(max(window.first, rule.first), min(window.last, rule.last, self.facts.as_of_day))
            before_law = to_day(rule.first).year - 1 <= year and window.first < rule.first
            if before_law and rule.test.met(
                series.amount(window.first, rule.first - 1), series.orders(window.first, rule.first - 1)
            ):
                found.append(
                    self._interval(rule, Position(rule.first), max(rule.first, rule.earliest), window.last)
                )
            elif inside.last >= inside.first:
                found.extend(self._crossed(rule, series, window.first, inside))
        return found

    def _crossed(self, rule: Rule, series: Series, from_day: int, inside: Window) -> list[Interval]:
        """Find the order inside some days that takes a running window over the line."""
        day = _first_day_met(rule.test, series, from_day, inside)
        if day is None:
            return []
        crossed = self.crossing_order(rule, series, from_day, day)
        return [self._from_crossing(rule, crossed, day)]

    def crossing_order(
        self, rule: Rule, series: Series, from_day: int, day: int, test: Test | None = None
    ) -> Position:
        """Give the order of a day with which the total since `from_day` meets the test."""
        orders = self.totals.orders_on(self.code, day)
        counts = self.counting(rule, orders)
        amounts = np.where(counts, orders.amount if rule.counts_exempt else orders.taxable_amount, 0)
        at = first_meeting(
            test or rule.test,
            series.amount(from_day, day - 1),
            series.orders(from_day, day - 1),
            amounts,
            counts,
        )
        return Position(day) if at is None else Position(day, int(orders.second[at]), orders.order_id[at])

    def _from_crossing(self, rule: Rule, crossed: Position, window_last: int) -> Interval:
        """Apply the start rule in force on the day of the crossing, or on the first day of a law that came after it."""
        starts, rules = self.facts.tables["us/threshold_starts"], self.facts.tables["us/start_rules"]
        row = int(starts.lookup(np.int32(max(crossed.day, rule.first)), place=np.int16(self.code)))
        name = starts["start_rule"][row]
        kind = int(rules.lookup(start_rule=np.array([name], object))[0]) if name else -1
        day = start_day(rules, kind, crossed.day)
        if day is None:
            begin = next_order(self.totals.orders_on(self.code, crossed.day), crossed)
            return self._interval(rule, crossed, begin, window_last)
        return self._interval(rule, crossed, day, window_last)

    def _interval(self, rule: Rule, crossed: Position, begin: int | Position, window_last: int) -> Interval:
        """Build the interval from its beginning to the end rule's day; never before the law asked anybody."""
        start = begin if isinstance(begin, Position) else Position(begin)
        if start.day < rule.earliest:
            start = Position(rule.earliest)
        until = (
            end_day(self._end_rule(max(start.day, rule.first)), start.day, window_last)
            if start.day < OPEN
            else OPEN
        )
        return Interval(
            self.code, start, until, "threshold", self._grounds(rule, window_last, crossed), crossed
        )

    def _grounds(self, rule: Rule, window_last: int, crossed: Position) -> str:
        """Name the measures that are met in the window: amount, transactions or both."""
        series = self.series(rule)
        first = (
            calendar_year(to_day(window_last).year).first
            if "calendar" in rule.window
            else twelve_months_to(window_last).first
        )
        last = max(window_last, crossed.day)
        words = []
        if rule.test.amount_met(series.amount(first, last)):
            words.append("amount")
        if rule.test.count_met(series.orders(first, last)):
            words.append("transactions")
        return " ".join(words)

    def _met_in_twelve_months(self, rule: Rule, series: Series, *, first: bool) -> list[Interval]:
        """Walk any twelve months: a duty begins with a crossing and lasts while windows go on meeting the line.

        A law's first look may reach back before its own first day.
        """
        begin = max(twelve_months_to(rule.first).first if first else rule.first, self.first_day)
        end = min(rule.last, self.facts.as_of_day)
        met = self._twelve_months_met(rule, series, range(begin, end + 1))
        found: list[Interval] = []
        ends = ""
        for day in met:
            if found and day <= found[-1].until:
                until = max(found[-1].until, end_day(ends, found[-1].start.day, day))
                found[-1] = replace(found[-1], until=until)
            else:
                crossed = self.crossing_order(rule, series, twelve_months_to(day).first, day)
                found.append(self._from_crossing(rule, crossed, day))
                ends = self._end_rule(found[-1].start.day)
        return found

    @staticmethod
    def _twelve_months_met(rule: Rule, series: Series, days: range) -> list[int]:
        """List the days of which the twelve months to that day meet the test."""
        last = np.arange(days.start, days.stop)
        first = np.array([twelve_months_to(day).first for day in days], np.int64)
        met: list[int] = last[
            rule.test.met_each(series.amount(first, last), series.orders(first, last))
        ].tolist()
        return met

    def _end_rule(self, day: int) -> str:
        """Name the rule that says how long a duty lasts that begins on a day."""
        ends = self.facts.tables["us/duty_ends"]
        return str(
            ends["end_rule"][
                int(ends.lookup(np.int32(min(day, self.facts.as_of_day)), place=np.int16(self.code)))
            ]
        )

    def _met_at_review(self, rule: Rule, series: Series) -> list[Interval]:
        """Walk windows that are looked at on fixed days; the duty they make must touch the days of the rule."""
        found = []
        for window in reviews(rule.window, self.first_day, self.facts.as_of_day):
            if not rule.test.met(series.amount(*window), series.orders(*window)):
                continue
            interval = self._from_crossing(rule, Position(window.last), window.last)
            if interval.until >= rule.first and interval.start.day <= rule.last:
                start = interval.start if interval.start.day >= rule.first else Position(rule.first)
                found.append(replace(interval, start=start))
        running = self._running_year(rule, series)
        return [*found, *running]

    def _running_year(self, rule: Rule, series: Series) -> list[Interval]:
        """Foresee the duty that a calendar year, not over yet, has already made certain."""
        year = calendar_year(to_day(self.facts.as_of_day).year)
        met = rule.window == "previous_calendar_year" and rule.test.met(
            series.amount(*year), series.orders(*year)
        )
        if not met or year.last <= self.facts.as_of_day or rule.last < year.last:
            return []
        return [self._from_crossing(rule, Position(year.last), year.last)]

    def _until_repeal(self, interval: Interval, position: int) -> Interval:
        """End a duty that rests on a repealed count test, in the states whose own papers say that it ended."""
        later = self.rules[position + 1 :]
        repeal = next((rule for rule in later if rule.test.count is None), None)
        if interval.grounds != "transactions" or repeal is None:
            return interval
        ends = self.facts.tables["us/duty_ends"]
        row = int(ends.lookup(np.int32(repeal.first), place=np.int16(self.code)))
        freed = bool(ends["count_repeal_ends_duty"][row])
        return replace(interval, until=min(interval.until, repeal.first - 1)) if freed else interval

    def with_own_sales(self, intervals: list[Interval]) -> list[Interval]:
        """Where a seller with facilitated sales only need not register, let the duty begin with the first own sale.

        The state says so in `us/facilitator_laws`; own sales of the twelve months before count as being there.
        """
        laws = self.facts.tables["us/facilitator_laws"]
        own = np.unique(self.counted.day[self.counted.channel != Channel.MARKETPLACE])
        found = []
        for interval in intervals:
            day = np.int32(min(interval.start.day, self.facts.as_of_day))
            free = laws["seller_registers"][int(laws.lookup(day, place=np.int16(self.code)))] == "no"
            begin = twelve_months_to(int(day)).first if free else interval.start.day
            first = own[(own >= begin) & (own <= interval.until)] if free else own
            if not free or (first.size and first[0] <= interval.start.day) or self.prior:
                found.append(interval)
            elif first.size:
                found.append(replace(interval, start=Position(int(first[0]))))
        return found

    def rows(self, intervals: list[Interval]) -> list[ThresholdRow]:
        """Show where the state's measures stand on the day of the review, in the window that decides."""
        as_of = self.facts.as_of_day
        rule = next((r for r in self.rules if r.first <= as_of <= r.last), None)
        if rule is None:
            return []
        series = self.series(rule)
        over, running = deciding(rule.window, as_of)
        window = over if self._decides(rule, series, over, running) else running
        duty = since(intervals, self.code, as_of) or next((i for i in intervals if i.start.day > as_of), None)
        measures = [
            ("amount", rule.test.amount),
            *([("transactions", rule.test.count)] if rule.test.count is not None else []),
        ]
        return [self._row(rule, series, window, measure, int(limit), duty) for measure, limit in measures]

    @staticmethod
    def _decides(rule: Rule, series: Series, over: Window, running: Window) -> bool:
        """Tell whether the window that is over decides: it met the test, and the running one has not (yet)."""
        met = rule.test.met(series.amount(*over), series.orders(*over))
        return met and not rule.test.met(series.amount(*running), series.orders(*running))

    def _row(
        self, rule: Rule, series: Series, window: Window, measure: str, limit: int, duty: Interval | None
    ) -> ThresholdRow:
        """Build the row of one measure."""
        total = series.amount if measure == "amount" else series.orders
        value = total(*window)
        met = (
            rule.test.met(series.amount(*window), series.orders(*window))
            if rule.test.both
            else rule.test.one_met(measure, value)
        )
        active = duty is not None and duty.start.day <= OPEN and (measure in duty.grounds or rule.test.both)
        binding = (
            rule.test.weaker_value(measure, series.amount(*window), series.orders(*window))
            if rule.test.both
            else value
        )
        seller = self.facts.seller
        crossed = (
            self._crossed_in(rule, series, window, measure)
            if met
            else (duty.crossed if active and duty else None)
        )
        return ThresholdRow(
            self.code,
            measure,
            "USD" if measure == "amount" else "",
            window.first,
            window.last,
            value,
            limit,
            status_of(binding, limit, met=met or active, watch=seller.watch, near=seller.near),
            crossed,
            duty.start.day if duty else None,
            duty.until if duty and duty.until < OPEN else None,
            outlook(total, value, window, self.facts.as_of_day, self.first_day),
            *self._proof(rule),
            incomplete=not self.prior and window.first < self.facts.first_day,
        )

    def _crossed_in(self, rule: Rule, series: Series, window: Window, measure: str) -> Position | None:
        """Find the order with which one measure (or both, where both are needed) was met inside the window shown."""
        test = rule.test if rule.test.both else rule.test.only(measure)
        day = _first_day_met(
            test, series, window.first, Window(window.first, min(window.last, self.facts.as_of_day))
        )
        return None if day is None else self.crossing_order(rule, series, window.first, day, test)

    def _proof(self, rule: Rule) -> tuple[str, int, int]:
        """Name the table rows behind the row: threshold, start rule, end rule; weakest basis and oldest check."""
        ids, basis, checked = [], 0, OPEN
        day = np.array([self.facts.as_of_day], np.int32)
        place = np.array([self.code], np.int16)
        for name, columns in (
            ("us/thresholds", ("amount", "transactions", "window", "marketplace_sales_count")),
            ("us/threshold_starts", ("start_rule",)),
            ("us/duty_ends", ("end_rule",)),
        ):
            table = self.facts.tables[name]
            row = (
                np.array([rule.row], np.int32) if name == "us/thresholds" else table.lookup(day, place=place)
            )
            ids.append(str(table.row_ids(row)[0]))
            basis = max(basis, int(table.basis(row, *columns)[0]))
            checked = min(checked, int(table.checked_on(row)[0])) if row[0] >= 0 else checked
        return " ".join(filter(None, ids)), basis, checked


def _first_day_met(test: Test, series: Series, from_day: int, inside: Window) -> int | None:
    """Give the first of some days on which the total since `from_day` meets the test."""
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
