"""What the limits of the small-business scheme make of a run: rows shown, duties, and where the exemption is over."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.days import number, plus_months
from taxcalc.duties import Duties, Position, ThresholdRow, status_of, stretches
from taxcalc.eu.small_business import (
    NOT_USED,
    RULES,
    SCHEME,
    abroad,
    use_on,
    walked,
)
from taxcalc.eu.small_business_limits import Walk
from taxcalc.eu.small_business_rules import CEILING, COLUMNS, LIMIT, UNION, rules_of, union_rules
from taxcalc.facts import OPEN
from taxcalc.outlook import outlook
from taxcalc.regime import IN_DOUBT, OVER

if TYPE_CHECKING:
    import numpy.typing as npt
    import pyarrow as pa

    from taxcalc.duties import Interval, Stretch
    from taxcalc.eu.small_business_limits import Over
    from taxcalc.eu.small_business_rules import Rule
    from taxcalc.facts import Facts
    from taxcalc.totals import Totals


@dataclass(frozen=True)
class SmallBusiness:
    """The rows shown, the duties of a seller that uses the scheme, and every interval in which an exemption is over."""

    rows: list[ThresholdRow]
    intervals: list[Interval]
    over: list[Over]


def small_business(totals: Totals, facts: Facts) -> SmallBusiness:
    """Walk every limit of the run; `totals` are the turnover by member state, and of the Union at the place `EU`."""
    rows, over = [], []
    for state in walked(facts):
        prior = [p for p in facts.seller.prior_sales if p.place == places.code(state)]
        rules = rules_of(state, facts)
        if not rules:
            continue
        walk = Walk(state, rules, totals, facts, prior)
        over.extend(walk.over)
        if use_on(state, facts.as_of_day, facts) != NOT_USED:
            rows.extend(_Shown(walk, RULES).rows())
    if abroad(facts) and (rules := union_rules(facts)):
        union = _union_walk(rules, totals, facts)
        over.extend(_in_states(union.over, facts))
        used = [state for state in abroad(facts) if use_on(state, facts.as_of_day, facts) != NOT_USED]
        rows.extend(_Shown(union, "eu/other_limits").rows() if used else [])
    return SmallBusiness(rows, [o.interval for o in over if _registered(o.interval, facts)], over)


def _union_walk(rules: list[Rule], totals: Totals, facts: Facts) -> Walk:
    """Walk the limit of the whole Union; sales before the files are those named for member states."""
    prior = [
        p
        for p in facts.seller.prior_sales
        if p.place in places.codes() and facts.eu_states[places.index(p.place)]
    ]
    return Walk(places.index("EU"), rules, totals, facts, prior)


def _in_states(over: list[Over], facts: Facts) -> list[Over]:
    """Take the end of the Union's limit to every state but home: the exemption at home lives by its own limit."""
    return [
        o._replace(interval=replace(o.interval, place=state, grounds=UNION))
        for o in over
        for state in abroad(facts)
    ]


def _registered(interval: Interval, facts: Facts) -> bool:
    """Tell whether the scheme was registered in a state on any day of an interval; else the end concerns nobody."""
    return any(
        r.scheme == SCHEME
        and r.place == places.code(interval.place)
        and number(r.from_day) <= interval.until
        and (r.until_day is None or interval.start.day <= number(r.until_day))
        for r in facts.seller.registrations
    )


def without_presence(intervals: list[Interval], facts: Facts) -> list[Interval]:
    """Let the presence at home end where the seller's small-business scheme begins: it is no ground to collect for itself."""
    begun = [
        number(r.from_day)
        for r in facts.seller.registrations
        if r.scheme == SCHEME and r.place == facts.seller.country
    ]
    if not begun or facts.home not in walked(facts):
        return intervals
    last = min(begun) - 1
    at_home = [i.place == facts.home and i.cause == "presence" for i in intervals]
    return [
        replace(i, until=min(i.until, last)) if here else i
        for i, here in zip(intervals, at_home, strict=True)
        if not here or i.start.day <= last
    ]


class Exemptions:
    """Tells for lines what became of an exemption by their position: it holds, is in doubt, or is over."""

    def __init__(self, over: list[Over], facts: Facts) -> None:
        """Lay out the intervals, certain ones and others apart."""
        self._by_certainty = [
            Duties([o.interval for o in over if o.certain == certain], facts.first_day, facts.last_day)
            for certain in (False, True)
        ]

    def of(
        self,
        state: npt.NDArray[np.int16],
        day: npt.NDArray[np.int32],
        second: npt.NDArray[np.int32],
        order_id: pa.Array,
    ) -> npt.NDArray[np.int8]:
        """Give HOLDS, IN_DOUBT or OVER for lines supplied in a member state (-1: in none), by the position of their order."""
        doubt, certain = (known.state(state, day, second, order_id, day) > 0 for known in self._by_certainty)
        return np.where(certain, OVER, np.where(doubt, IN_DOUBT, 0)).astype(np.int8)


class _Shown:
    """The rows of one walk on the day of the review."""

    def __init__(self, walk: Walk, table: str) -> None:
        """Take a walk and the table that its rules are rows of."""
        self.walk, self.facts = walk, walk.facts
        self.table = walk.facts.tables[table]
        self.union = table != RULES
        intervals = [o.interval for o in walk.over]
        ahead = (s for s in stretches(intervals, walk.place) if s.until >= self.facts.as_of_day)
        self.duty: Stretch | None = next(ahead, None)

    def rows(self) -> list[ThresholdRow]:
        """Show the limit, and the ceiling of the running year where the state has one."""
        as_of, year = self.facts.as_of_day, self.facts.as_of.year
        rule = next((r for r in self.walk.rules if r.first <= as_of <= r.last), None)
        if rule is None:
            return []
        rule = rule.in_first_year(self.walk.began, year)
        if self.walk.closing() is not None:
            return [self._closed(rule)]
        window = number(date(year, 1, 1)), number(date(year, 12, 31))
        if rule.rolling:
            window = number(plus_months(self.facts.as_of, -12)) + 1, as_of
        value = self.walk.exempt.amount(*window) if rule.rolling else self.walk.value(year)
        shown = [self._row(rule, LIMIT, window, value, rule.amount, rule.over_limit)]
        if rule.ceiling is not None:
            shown.append(self._row(rule, CEILING, window, value, rule.ceiling, rule.over_ceiling))
        return shown

    def _closed(self, rule: Rule) -> ThresholdRow:
        """Show the year that closed the running one."""
        year, limit = self.facts.as_of.year - 1, rule.amount if rule.previous is None else rule.previous
        if rule.closed == "two_years" and self.walk.turnover(year, rule) <= limit:
            year -= 1
        window, value = (number(date(year, 1, 1)), number(date(year, 12, 31))), self.walk.turnover(year, rule)
        return self._row(rule, LIMIT, window, value, limit, "from_january", closed=True)

    def _row(
        self,
        rule: Rule,
        kind: str,
        window: tuple[int, int],
        value: int,
        limit: int,
        effect: str,
        *,
        closed: bool = False,
    ) -> ThresholdRow:
        """Build one row."""
        walk, seller, row = self.walk, self.facts.seller, np.array([rule.row], np.int32)
        crossed = self._crossed(kind, window[0])
        met = closed or crossed is not None
        duty = self.duty if met else None
        columns = ("amount",) if self.union else COLUMNS
        return ThresholdRow(
            walk.place,
            "amount",
            rule.currency,
            *window,
            value,
            limit,
            status_of(value, limit, met=met, watch=seller.watch, near=seller.near),
            crossed,
            duty.first.start.day if duty else None,
            duty.until if duty and duty.until < OPEN else None,
            outlook(walk.exempt.amount, value, window, self.facts.as_of_day, walk.first_day),
            str(self.table.row_ids(row)[0]),
            int(self.table.basis(row, *columns)[0]),
            int(self.table.checked_on(row)[0]),
            incomplete=not walk.prior and window[0] < self.facts.first_order_day,
            kind=UNION if self.union else kind,
            effect=effect,
        )

    def _crossed(self, kind: str, first: int) -> Position | None:
        """Give the order that passed a limit in the year shown."""
        passed = [p for year in self.walk.passed.values() for p in year if p.kind == kind]
        inside = [p.crossed for p in passed if first <= p.crossed.day]
        return min(inside, default=None)
