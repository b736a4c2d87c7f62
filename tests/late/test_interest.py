"""Interest on late tax: results and rates that states publish, and laws that hold for all of them."""

from __future__ import annotations

import sys
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from taxcalc import places
from taxcalc.late.interest import interest
from taxcalc.money import round_fraction
from taxcalc.tables.load import load_tables

sys.path.insert(0, str(Path(__file__).parents[1] / "tables"))
from small_tables import write_all

if TYPE_CHECKING:
    from taxcalc.tables.table import Table

TABLES = load_tables()
RATES = TABLES["us/interest_rates"]


def part(place: str, due: date, until: date, table: Table = RATES) -> Fraction | None:
    """Give interest as a part of the amount."""
    return interest(table, places.index(place), due, until).part


@pytest.mark.source("tx-comptroller-interest")
def test_texas_counts_its_own_example() -> None:
    """1,000 at 9.50 percent for 150 days of 2024 is 38.93; the 60 days after the due day bear nothing."""
    due = date(2024, 1, 20)
    found = part("US-TX", due, due + timedelta(60 + 150))
    assert found == Fraction(95, 1000) * 150 / 366
    assert round_fraction(found * 1000_00) == 38_93


@pytest.mark.source("tx-comptroller-interest")
@pytest.mark.parametrize(
    ("days", "expected"),
    [pytest.param(60, Fraction(0), id="day 60"), pytest.param(61, Fraction(95, 1000) / 366, id="day 61")],
)
def test_texas_begins_on_the_61st_day(days: int, expected: Fraction) -> None:
    """Neither the day before nor the day itself is off by one."""
    assert part("US-TX", date(2024, 1, 20), date(2024, 1, 20) + timedelta(days)) == expected


@pytest.mark.source("tx-comptroller-interest")
def test_each_year_has_its_rate_and_its_days() -> None:
    """Ten days of 2024 at 9.5 in 366ths, and ten of 2025 at 8.5 in 365ths."""
    due = date(2024, 12, 21) - timedelta(60)
    found = part("US-TX", due, date(2025, 1, 10))
    assert found == Fraction(95, 1000) * 10 / 366 + Fraction(85, 1000) * 10 / 365


@pytest.mark.source("ga-dor-admin-2026-01")
@pytest.mark.parametrize(
    ("until", "months"),
    [
        pytest.param(date(2026, 1, 20), 0, id="on the due day"),
        pytest.param(date(2026, 1, 21), 1, id="a day late"),
        pytest.param(date(2026, 2, 20), 1, id="a month"),
        pytest.param(date(2026, 2, 21), 2, id="a month and a day"),
    ],
)
def test_georgia_counts_any_part_of_a_month(until: date, months: int) -> None:
    """9.75 percent in 2026, accruing monthly."""
    assert part("US-GA", date(2026, 1, 20), until) == Fraction(975, 10_000) * months / 12


@pytest.mark.source("ny-dtf-interest-2023-q2")
def test_new_york_compounds_daily_as_far_as_the_rate_was_read() -> None:
    """14.5 percent, compounded daily; after the last quarter that was read there is no figure, and the day is said."""
    code, due = places.index("US-NY"), date(2023, 1, 20)
    known = part("US-NY", due, date(2023, 4, 20))
    assert known is not None
    by_hand = 1000 * (1 + Decimal("0.145") / 365) ** 90 - 1000
    assert round_fraction(known * 1000_00) == round(by_hand * 100)
    unknown = interest(RATES, code, due, date(2023, 7, 1))
    assert (unknown.part, unknown.unknown_from) == (None, date(2023, 7, 1))


@pytest.mark.parametrize("place", ["US-CA", "US-NJ", "US-WA"])
def test_where_only_a_rule_or_nothing_is_on_file_there_is_no_figure(place: str) -> None:
    """Prime plus three is no rate: the index is not held here."""
    found = interest(RATES, places.index(place), date(2025, 1, 20), date(2025, 6, 1))
    assert (found.part, found.unknown_from) == (None, date(2025, 1, 21))


def test_what_is_unpaid_at_the_end_of_a_year_bears_interest_too(tmp_path: Path) -> None:
    """Three months at 1 percent in 2024, then two on top of them in 2025 (N.J.A.C. 18:2-2.4; the rate is invented)."""
    row = "US-NJ,12,monthly_compounded_yearly,2019-01-01,law-a,official,2026-11-25\n"
    head = "place,percent,accrues,valid_from,source,basis,checked_on\n"
    table = load_tables(shipped=write_all(tmp_path, us__interest_rates=head + row))["us/interest_rates"]
    found = part("US-NJ", date(2024, 10, 20), date(2025, 3, 20), table)
    assert found == Fraction(103, 100) * Fraction(102, 100) - 1


@given(
    st.sampled_from(["US-TX", "US-GA", "US-FL"]),
    st.dates(date(2025, 1, 1), date(2025, 12, 30)),
    st.dates(date(2025, 1, 1), date(2025, 12, 30)),
    st.integers(0, 10**9),
)
def test_interest_never_falls_with_time_and_is_nothing_in_time(
    place: str, one: date, other: date, amount: int
) -> None:
    """It is nothing on the due day, and a day more never lowers it; on more tax it is never less."""
    due, until = sorted((one, other))
    now, later = part(place, due, until), part(place, due, until + timedelta(1))
    assert now is not None
    assert later is not None
    assert part(place, due, due) == 0
    assert 0 <= now <= later
    assert 0 <= round_fraction(now * amount) <= round_fraction(now * (amount + 1))


@pytest.mark.parametrize(
    ("value", "rounded"),
    [(Fraction(1, 2), 1), (Fraction(-1, 2), -1), (Fraction(149, 100), 1), (Fraction(3), 3)],
)
def test_fractions_are_rounded_half_away_from_zero(value: Fraction, rounded: int) -> None:
    """As quotients of whole numbers are everywhere else."""
    assert round_fraction(value) == rounded
