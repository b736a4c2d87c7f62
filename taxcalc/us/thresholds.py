"""Economic nexus: where each state's thresholds stand on the day of the review, and which duties they made.

Refunds never lower a total and a crossing is never undone: no state was found to say otherwise (see `us/thresholds`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.duties import Interval, Stretch, ThresholdRow, status_of, stretches
from taxcalc.facts import OPEN
from taxcalc.outlook import outlook
from taxcalc.regime import ThresholdAnswer
from taxcalc.us.history import State
from taxcalc.us.windows import Window

if TYPE_CHECKING:
    from taxcalc.duties import Position
    from taxcalc.facts import Facts
    from taxcalc.totals import Totals
    from taxcalc.us.rules import Rule

PROOF = (
    (
        "us/thresholds",
        ("amount", "amount_met_when", "transactions", "connector", "window", "marketplace_sales_count"),
    ),
    ("us/threshold_starts", ("start_rule",)),
    ("us/duty_ends", ("end_rule",)),
)
"""Tables and columns that a threshold and the duty behind it rest on."""


def thresholds(totals: Totals, facts: Facts) -> ThresholdAnswer:
    """Answer for every state that was shipped to: the rows shown and the intervals of duty."""
    rows: list[ThresholdRow] = []
    intervals: list[Interval] = []
    for code in _places(totals, facts):
        state = State(code, totals, facts)
        found = state.intervals()
        intervals.extend(found)
        rows.extend(_rows(state, found))
    return ThresholdAnswer(rows, intervals)


def _places(totals: Totals, facts: Facts) -> list[int]:
    """List the states with sales that count, or with sales before the file."""
    known = set(facts.tables["us/thresholds"]["place"][:-1].tolist())
    regimes = places.regimes()
    prior = [places.index(p.place) for p in facts.seller.prior_sales if p.place in places.codes()]
    return sorted(code for code in {*totals.places(), *prior} if code in known and regimes[code] == places.US)


def _rows(state: State, intervals: list[Interval]) -> list[ThresholdRow]:
    """Show where a state's measures stand on the day of the review, in the window that decides."""
    as_of = state.facts.as_of_day
    rule = next((r for r in state.rules if r.first <= as_of <= r.last), None)
    if rule is None:
        return []
    window = _deciding_window(state, rule)
    duty = next((s for s in stretches(intervals, state.code) if s.until >= as_of), None)
    measures = ("amount",) if rule.test.count is None else ("amount", "transactions")
    return [_row(state, rule, window, measure, duty) for measure in measures]


def _deciding_window(state: State, rule: Rule) -> Window:
    """Choose the window that is over where it met the test and the running one has not (yet), else the running one."""
    series = state.series(rule)
    over, running = rule.window.deciding(state.facts.as_of_day)
    met = [rule.test.met(series.amount(*window), series.orders(*window)) for window in (over, running)]
    return over if met[0] and not met[1] else running


def _row(state: State, rule: Rule, window: Window, measure: str, duty: Stretch | None) -> ThresholdRow:
    """Build the row of one measure."""
    facts, test, series = state.facts, rule.test, state.series(rule)
    total = series.amount if measure == "amount" else series.orders
    amount, count, value = series.amount(*window), series.orders(*window), int(total(*window))
    met = test.met(amount, count) if test.both else test.one_met(measure, value)
    binding = test.weaker_value(measure, amount, count) if test.both else value
    active = duty is not None and (measure in duty.first.grounds or test.both)
    limit = test.amount if measure == "amount" else int(test.count or 0)
    status = status_of(binding, limit, met=met or active, watch=facts.seller.watch, near=facts.seller.near)
    return ThresholdRow(
        state.code,
        measure,
        "USD" if measure == "amount" else "",
        window.first,
        window.last,
        value,
        limit,
        status,
        _crossed(state, rule, window, measure) if met else (duty.first.crossed if active and duty else None),
        duty.first.start.day if duty else None,
        duty.until if duty and duty.until < OPEN else None,
        outlook(total, value, window, facts.as_of_day, state.first_day),
        *_proof(state, rule),
        incomplete=not state.prior and window.first < facts.first_order_day,
    )


def _crossed(state: State, rule: Rule, window: Window, measure: str) -> Position | None:
    """Find the order with which one measure (or both, where both are needed) was met inside the window shown."""
    test = rule.test if rule.test.both else rule.test.only(measure)
    inside = Window(window.first, min(window.last, state.facts.as_of_day))
    day = state.first_day_met(rule, window.first, inside, test)
    return None if day is None else state.crossing_order(rule, window.first, day, test)


def _proof(state: State, rule: Rule) -> tuple[str, int, int]:
    """Name the table rows behind the row: threshold, start rule, end rule; weakest basis and oldest check."""
    ids, basis, checked = [], 0, OPEN
    for name, columns in PROOF:
        table = state.facts.tables[name]
        row = rule.row if name == "us/thresholds" else table.row(state.facts.as_of_day, place=state.code)
        alone = np.array([row], np.int32)
        ids.append(str(table.row_ids(alone)[0]))
        basis = max(basis, int(table.basis(alone, *columns)[0]))
        checked = min(checked, int(table.checked_on(alone)[0])) if row >= 0 else checked
    return " ".join(filter(None, ids)), basis, checked
