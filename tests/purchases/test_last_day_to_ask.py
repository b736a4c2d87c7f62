"""Until when tax that was paid to the fulfiller can be asked back: what has passed is asked for no more and stays a cost.

Texas: four years from the day on which the tax was due (Comptroller, Sales Tax Refunds). The years of the other states are
from memory, so that no test holds them against a paper; here stand the laws of the arithmetic.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shop import certificate, dropped, orders, registered, seller

from taxcalc import assess, places
from taxcalc.days import quarter_days, quarter_name, quarter_of
from taxcalc.purchases.claims import last_day_to_ask
from taxcalc.reports.terminal import review_text

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc import Assessment

AS_OF = date(2026, 7, 20)
HOME = {
    "registration": registered("US-ID"),
    "certificate": [certificate("US-TX", "state", "US-ID"), certificate("US-WA", "streamlined", "US-ID")],
}
ONE_YEAR = (
    "place,limit,years,plus_current_year,counted_from,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
    "US-TX,refund,1,no,due_day,2019-01-01,,memory,unconfirmed,,2026-11-25,A row of a test.\n"
)


def billed(name: str, to: str, tax: str, day: str) -> dict[str, str]:
    """Write one order whose invoice shows a tax."""
    return dropped(name, to, fulfiller_shipping_cost="0.00", fulfiller_tax_charged=tax, ordered_on=day)


def reviewed(*rows: dict[str, str], tables: Path | None = None, **profile: Any) -> Assessment:  # noqa: ANN401 - a profile
    """Assess some orders of one seller, seen from one day."""
    return assess(orders(rows), seller(**profile), as_of=AS_OF, tables=tables)


FACTS = reviewed(billed("A", "US-TX", "0.00", "2026-05-04")).run.facts


@pytest.fixture
def one_year(tmp_path: Path) -> Path:
    """Give own rows by which Texas has one year only."""
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "time_limits.csv").write_text(ONE_YEAR, encoding="utf-8")
    return tmp_path


@pytest.mark.source("tx-comptroller-refunds")
def test_what_its_day_has_passed_for_is_shown_and_asked_for_no_more() -> None:
    """Texas, four years from the due day: of 2022, the first quarter is gone on July 20, 2026, the second is not for sure."""
    rows = [billed(day, "US-TX", "2.50", day) for day in ("2022-03-31", "2022-04-01", "2026-05-04")]
    record = reviewed(*rows, **HOME).record()
    (row,) = record["charged_against_expected"]
    assert (row["amount"], row["too_late"]) == ("7.50", "2.50")
    assert [(q["quarter"], q["ask_by"], q["ask_by_at_latest"], q["too_late"]) for q in row["quarters"]] == [
        ("2022-Q1", "2025-12-31", "2026-04-30", True),
        ("2022-Q2", "2026-03-31", "2026-07-31", False),
        ("2026-Q2", "2030-03-31", "2030-07-31", False),
    ]
    (finding,) = (f for f in record["findings"] if f["kind"] == "charged_with_document")
    assert finding["amount"] == "5.00"
    words = " ".join(review_text(record).split())
    assert "2022-Q2 $2.50, ask at once, the day may be past since Mar 31, 2026" in words
    assert "too late for $2.50: final cost" in words


def test_a_day_from_memory_is_marked_on_the_screen() -> None:
    """Washington's row is unconfirmed, and a buyer has to ask the fulfiller as a rule."""
    record = reviewed(billed("A", "US-WA", "2.50", "2026-05-04"), **HOME).record()
    ((part,),) = (row["quarters"] for row in record["charged_against_expected"])
    assert (part["ask_by_basis"], part["ask_by_row"]) == (
        "unconfirmed",
        "us/time_limits:US-WA/refund:2019-01-01",
    )
    words = " ".join(review_text(record).split())
    assert "ask by Mar 31, 2030 *" in words
    assert "As a rule you have to ask it, and it files the claim with the state" in words


def test_nothing_is_found_where_it_is_too_late_for_all(one_year: Path) -> None:
    """It stays in the record."""
    record = reviewed(billed("A", "US-TX", "2.50", "2025-03-31"), tables=one_year, **HOME).record()
    (row,) = record["charged_against_expected"]
    assert (row["amount"], row["too_late"]) == ("2.50", "2.50")
    assert "charged_with_document" not in {f["kind"] for f in record["findings"]}


def test_a_year_may_count_from_its_end() -> None:
    """As in Washington's row: a quarter whose return is due in the next year counts from the end of that one."""
    ends = {
        name: last.latest
        for name in ("2022-Q3", "2022-Q4")
        if (last := last_day_to_ask(FACTS, places.index("US-WA"), quarter_of(quarter_days(name)[0])))
    }
    assert ends == {"2022-Q3": date(2026, 12, 31), "2022-Q4": date(2027, 12, 31)}


def test_every_state_with_a_refund_row_says_who_vouches_for_it() -> None:
    """Texas was read; whatever else is held is marked as coming from memory."""
    held = {
        code: last.basis
        for code in places.codes()
        if code.startswith("US-") and (last := last_day_to_ask(FACTS, places.index(code), 2026 * 4))
    }
    assert held.pop("US-TX") == "official"
    assert set(held.values()) == {"unconfirmed"}
    taxing = {"US-CA", "US-NY", "US-FL", "US-PA", "US-OH"}
    assert taxing <= held.keys()
    assert not {"US-OR", "US-DE", "US-MT", "US-NH"} & held.keys()


@given(st.integers(2015 * 4, 2040 * 4), st.integers(0, 40), st.sampled_from(("US-TX", "US-WA", "US-FL")))
def test_the_day_to_ask_rises_with_the_quarter(quarter: int, later: int, code: str) -> None:
    """And the safe day never lies behind the latest one."""
    one, other = (last_day_to_ask(FACTS, places.index(code), at) for at in (quarter, quarter + later))
    assert one is not None
    assert other is not None
    assert one.safe <= other.safe
    assert one.latest <= other.latest
    assert quarter_days(quarter_name(quarter))[1] < one.safe < one.latest
