"""Penalties on late tax, by the terms that states publish."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from taxcalc import places
from taxcalc.late.penalties import Late, penalty, rows_in_force
from taxcalc.tables.load import load_tables

TABLE = load_tables()["us/penalties"]
DUE = date(2026, 1, 20)
STATES = sorted({str(place) for place, *_ in TABLE.keys})
ENDS = ("low", "expected", "high")


def penalties(place: str, tax: int, days: int, *, filed: bool = False, due: date = DUE) -> tuple[int, ...]:
    """Give low, expected and high in cents, for a tax in cents that comes some days late."""
    late = Late(due, due + timedelta(days), filed, lambda amount, _: amount)
    rows = rows_in_force(TABLE, places.index(place), due)
    return tuple(penalty(TABLE, rows, tax, end, late) for end in ENDS)


@pytest.mark.source("tx-comptroller-penalties")
@pytest.mark.parametrize(
    ("days", "expected"),
    [
        pytest.param(1, (100_00, 100_00, 200_00), id="5 percent and 50"),
        pytest.param(30, (100_00, 100_00, 200_00), id="day 30"),
        pytest.param(31, (150_00, 150_00, 250_00), id="10 percent from day 31"),
    ],
)
def test_texas_steps_on_day_31_and_after_a_notice(days: int, expected: tuple[int, ...]) -> None:
    """On 1,000: 5 or 10 percent for late payment, 50 for each late report, another 10 percent after the notice date."""
    assert penalties("US-TX", 1000_00, days) == expected


@pytest.mark.source("ny-tax-law-1145")
@pytest.mark.parametrize(
    ("tax", "days", "expected"),
    [
        pytest.param(1000_00, 20, 100_00, id="10 percent"),
        pytest.param(1000_00, 32, 110_00, id="1 percent for the second month"),
        pytest.param(1000_00, 3000, 300_00, id="at most 30 percent"),
        pytest.param(120_00, 20, 50_00, id="at least 50 where a registration was due"),
        pytest.param(120_00, 61, 100_00, id="over 60 days at least 100"),
        pytest.param(80_00, 61, 80_00, id="or the tax if less"),
    ],
)
def test_new_york_rises_by_month_and_has_least_amounts(tax: int, days: int, expected: int) -> None:
    """10 percent and 1 for each further month, at most 30; least amounts of a late return."""
    assert penalties("US-NY", tax, days)[1] == expected


@pytest.mark.source("nj-dot-penalties-2008", "nj-18-2-2.4")
def test_new_jersey_adds_a_fixed_amount_by_month() -> None:
    """5 percent a month to 25, up to 100 a month on top (not in low), and 5 percent for late payment."""
    assert penalties("US-NJ", 1000_00, 20) == (100_00, 200_00, 200_00)
    assert penalties("US-NJ", 1000_00, 365) == (300_00, 1500_00, 1500_00)


@pytest.mark.source("il-dor-pub-103")
def test_illinois_ends_at_20_percent_after_an_audit() -> None:
    """2 percent to day 30, 10 from day 31; 15 and 20 replace it after an audit begins and ends."""
    assert penalties("US-IL", 1000_00, 30) == (20_00, 20_00, 200_00)
    assert penalties("US-IL", 1000_00, 31) == (100_00, 100_00, 200_00)


@pytest.mark.source("wa-dor-voluntary-disclosure")
def test_washingtons_39_percent_are_those_of_a_seller_that_is_found() -> None:
    """Low is without them; so is expected for a registered seller."""
    assert penalties("US-WA", 1000_00, 90) == (0, 390_00, 390_00)
    assert penalties("US-WA", 1000_00, 90, filed=True) == (0, 0, 390_00)


@pytest.mark.source("ca-cdtfa-pub-75")
def test_california_asks_10_percent_once_and_nothing_for_tax_that_was_not_collected() -> None:
    """The 40 percent on tax collected and kept are no penalty on a lack."""
    assert penalties("US-CA", 1000_00, 400) == (100_00, 100_00, 100_00)


def test_georgia_and_florida_have_least_amounts() -> None:
    """From memory: 5 percent or 5 dollars for 30 days, at most 25 percent or 25 dollars; 10 percent, at least 50."""
    assert penalties("US-GA", 20_00, 31) == (10_00,) * 3
    assert penalties("US-GA", 20_00, 400) == (25_00,) * 3
    assert penalties("US-GA", 1000_00, 400) == (250_00,) * 3
    assert penalties("US-FL", 20_00, 1) == (50_00,) * 3


def test_the_return_of_a_registered_seller_is_late_in_high_alone() -> None:
    """Texas: 50 for the report is left out of low and expected."""
    assert penalties("US-TX", 1000_00, 31, filed=True) == (100_00, 100_00, 250_00)


@given(
    place=st.sampled_from(STATES), tax=st.integers(0, 10**8), days=st.integers(0, 2000), filed=st.booleans()
)
def test_penalties_keep_their_order_and_never_fall_with_the_tax(
    place: str, tax: int, days: int, *, filed: bool
) -> None:
    """Low, expected, high; more tax never costs less; nothing is late on the due day."""
    now, more = (penalties(place, amount, days, filed=filed) for amount in (tax, tax + 100))
    assert 0 <= now[0] <= now[1] <= now[2]
    assert all(one <= other for one, other in zip(now, more, strict=True))
    assert penalties(place, tax, 0, filed=filed) == (0, 0, 0)
