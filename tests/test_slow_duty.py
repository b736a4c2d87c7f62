"""Duties by thresholds of every state against a walk through the sales, day by day and order by order, in plain Python."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st
from shop import answers, orders, seller
from slow_duty import DAY, Bound, Law, Sale, Walk, laws

from taxcalc import assess, places
from taxcalc.days import day as to_day
from taxcalc.facts import OPEN

FIRST, LAST = date(2027, 1, 1), date(2030, 6, 30)
"""After the last change of any law on file, so that one row holds all the time."""
LAWS = laws(FIRST)
EIGHTHS = 8

Event = tuple[int, int, int, int, str]
EVENTS = st.lists(
    st.tuples(
        st.integers(0, (LAST - FIRST).days - 40),
        st.integers(0, 9),
        st.sampled_from((-1, 0, 1)),
        st.sampled_from((1, 1, 1, 2, 60, 99, 140)),
        st.sampled_from(("", "resale", "exempt", "marketplace", "")),
    ),
    min_size=1,
    max_size=12,
)
"""Day, eighths of the limit, cents more, how many such orders, and what they are."""


def sales_of(law: Law, events: list[Event]) -> list[Sale]:
    """Write events as sales of a state: amounts near its limit; an own sale every half year, so that nobody waits for one."""
    sales = [
        Sale(date(year, month, 2), f"{law.state} {year}{month:02} own", 100)
        for year in range(FIRST.year, LAST.year + 1)
        for month in (1, 7)
        if date(year, month, 2) <= LAST
    ]
    for at, (day, eighths, more, many, kind) in enumerate(events):
        cents = max((law.limit * eighths // EIGHTHS) // many + more, 1)
        for one in range(many):
            number = f"{law.state} {at:02} {one:03}"
            sales.append(Sale(FIRST + day * DAY, number, cents, **({kind: True} if kind else {})))
    return sales


def row(law: Law, sale: Sale) -> dict[str, str]:
    """Write a sale as an order line of goods that every state taxes."""
    return {
        "order_id": sale.number,
        "to": law.state,
        "ordered_on": sale.day.isoformat(),
        "item_amount": f"{sale.cents // 100}.{sale.cents % 100:02}",
        "product_class": "homeware",
        "channel": "marketplace" if sale.marketplace else "own",
        "buyer_exempt": "resale" if sale.resale else "exempt" if sale.exempt else "no",
    }


def days_bound(stretches: list[tuple[date, date]]) -> set[date]:
    """Give every day up to the last on which somebody is bound."""
    found: set[date] = set()
    for first, until in stretches:
        day = max(first, FIRST)
        while day <= min(until, LAST):
            found.add(day)
            day += timedelta(days=1)
    return found


def begun(bound: Bound) -> tuple[date, date]:
    """Give the first whole day bound by a stretch that may begin inside a day, and its last."""
    return (bound.first + DAY if bound.after else bound.first), bound.until


@settings(max_examples=8, deadline=None)
@given(events=EVENTS)
@example(events=[(100, 8, 0, 1, "")])
@example(events=[(100, 8, 1, 1, "resale"), (500, 8, 1, 1, "exempt"), (900, 8, 1, 1, "marketplace")])
@example(
    events=[
        (60, 4, 0, 99, ""),
        (60, 0, 0, 99, ""),
        (61, 5, 0, 2, ""),
        (800, 0, 0, 140, ""),
        (801, 0, 0, 60, ""),
    ]
)
def test_every_state_binds_when_its_words_say(events: list[Event]) -> None:
    """The days of duty, and on days on which it begins inside the day the very orders."""
    sales = {state: sales_of(law, events) for state, law in LAWS.items()}
    lines = [row(LAWS[state], sale) for state, some in sales.items() for sale in some]
    found = assess(orders(lines), seller(), as_of=LAST)
    by_order: dict[str, Any] = answers(found).duty.to_dict()
    for state, law in LAWS.items():
        expected = Walk(law, sales[state], LAST).bound()
        ours = [
            (
                to_day(each.start.day) + (DAY if each.start.second >= 0 or each.start.order_id else 0 * DAY),
                date.max if each.until >= OPEN else to_day(each.until),
            )
            for each in found.intervals
            if each.place == places.index(state) and each.cause == "threshold" and each.start.day < OPEN
        ]
        assert days_bound(ours) == days_bound([begun(each) for each in expected]), state
        for sale in sales[state]:
            if not (sale.resale or sale.exempt or sale.marketplace):
                bound = any(each.holds(sale) for each in expected)
                assert (by_order[sale.number] == "collect") is bound, sale


def test_no_state_is_left_out() -> None:
    """Every state with a threshold, none of whose rows changes after the first day."""
    assert len(LAWS) >= 46
    assert {law.threshold["duty_kind"] for law in LAWS.values()} == {"collect"}
