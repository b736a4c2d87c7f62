"""The day a review looks from, and the period it is about: what is taken, what is refused, what is said."""

from __future__ import annotations

from datetime import date

import pytest
from shop import orders, seller

from taxcalc import assess

ROWS = [{"to": "US-WA", "item_amount": "100.00", "ordered_on": "2026-05-04"}]


def period_of(as_of: date | None) -> tuple[date, date]:
    """Give the period of a review that is not told one."""
    return assess(orders(ROWS), seller(), as_of=as_of).run.period


@pytest.mark.parametrize(
    ("as_of", "first", "last"),
    [
        pytest.param(date(2026, 9, 29), date(2026, 4, 1), date(2026, 6, 30), id="a day before the end"),
        pytest.param(date(2026, 9, 30), date(2026, 4, 1), date(2026, 6, 30), id="the last day"),
        pytest.param(date(2026, 10, 1), date(2026, 7, 1), date(2026, 9, 30), id="the day after"),
        pytest.param(date(2027, 1, 1), date(2026, 10, 1), date(2026, 12, 31), id="over the year's end"),
    ],
)
def test_the_period_is_the_last_quarter_over_before_the_day(as_of: date, first: date, last: date) -> None:
    """A quarter that ends on the day is not over before it."""
    assert period_of(as_of) == (first, last)
