"""Orders without a dispatch day, shortly before a rate changes or by a tax holiday, are counted and said."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any

AS_OF = date(2026, 10, 5)
CHANGED = (
    "place,state_percent,sourcing_in_state,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
    "US-WA,7.5,destination,2026-08-20,,memory,unconfirmed,,2026-09-01,invented for this test\n"
    "US-TX,6.25,destination,2026-08-20,,memory,unconfirmed,,2026-09-01,invented: the same rate again\n"
)
ALABAMA_AND_OTHERS = seller(registration=registered("US-AL", "US-WA", "US-TX"))


def count_of(
    kind: str,
    row: dict[str, str],
    profile: dict[str, Any] = ALABAMA_AND_OTHERS,
    tables: Path | None = None,
) -> int:
    """Give the number a finding of one kind names, 0 where there is none; the orders are sold in July to September."""
    rows = [
        {"item_amount": "10.00", **row},
        {"item_amount": "10.00", "to": "US-OR", "ordered_on": "2026-07-01"},
    ]
    found = assess(orders(rows), profile, tables=tables, as_of=AS_OF, period="2026-Q3").record()["findings"]
    texts = [finding["text"] for finding in found if finding["kind"] == kind]
    assert all(": 1" in text for text in texts)
    return len(texts)


@pytest.mark.parametrize(
    ("day", "more", "count"),
    [
        pytest.param("2026-08-05", {}, 0, id="fifteen days before"),
        pytest.param("2026-08-06", {}, 1, id="fourteen days before"),
        pytest.param("2026-08-19", {}, 1, id="the day before"),
        pytest.param("2026-08-20", {}, 0, id="the first day of the new rate"),
        pytest.param("2026-08-19", {"supplied_on": "2026-08-21"}, 0, id="the dispatch day is given"),
        pytest.param("2026-08-19", {"to": "US-TX"}, 0, id="a row that changes nothing"),
        pytest.param("2026-08-19", {"entry": "refund"}, 0, id="no sale"),
        pytest.param("2026-08-19", {"to": "US-CO"}, 0, id="no duty there"),
    ],
)
def test_sales_before_a_change_of_rate_are_counted(
    day: str, more: dict[str, str], count: int, tmp_path: Path
) -> None:
    """A rate of the user's own changes on 20 August 2026; what is open is the day of dispatch."""
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "state_rates.csv").write_text(CHANGED, encoding="utf-8")
    assert count_of("near_rate_change", {"to": "US-WA", "ordered_on": day, **more}, tables=tmp_path) == count


def test_a_standard_rate_of_a_member_state_counts_as_well() -> None:
    """Slovakia: 20 % until 2024-12-31, 23 % from 2025-01-01. Source: sk-vat-act-222-2004 in sources.csv."""
    rates = load_tables()["eu/rates"]
    day = (date(2025, 1, 1) - date(1970, 1, 1)).days
    before, after = (
        int(rates["percent"][rates.lookup(d, place="SK", product_class="*")]) for d in (day - 1, day)
    )
    assert (before, after) == (200_000, 230_000)
    for ordered, said in (("2024-12-31", True), ("2024-12-17", False), ("2025-01-01", False)):
        row = {"to": "SK", "item_amount": "10.00", "currency": "EUR", "ordered_on": ordered}
        period = "2024-Q4" if ordered < "2025" else "2025-Q1"
        found = assess(orders([row]), union_seller("SK"), as_of=date(2025, 4, 5), period=period).record()
        assert ("near_rate_change" in [finding["kind"] for finding in found["findings"]]) == said


@pytest.mark.parametrize(
    ("day", "goods", "count"),
    [
        pytest.param("2026-07-02", "books", 0, id="fifteen days before"),
        pytest.param("2026-07-03", "books", 1, id="fourteen days before"),
        pytest.param("2026-07-17", "books", 1, id="its first day"),
        pytest.param("2026-07-19", "books", 1, id="its last day"),
        pytest.param("2026-07-20", "books", 0, id="the day after"),
        pytest.param("2026-07-17", "clothing_children", 1, id="another class that is freed"),
        pytest.param("2026-07-17", "homeware", 0, id="goods it does not free"),
    ],
)
def test_sales_by_a_tax_holiday_are_counted(day: str, goods: str, count: int) -> None:
    """Alabama, the third full weekend of July: 17 to 19 July 2026. Source: al-code-40-23-210."""
    assert count_of("near_holiday", {"to": "US-AL", "ordered_on": day, "product_class": goods}) == count
