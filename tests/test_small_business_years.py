"""The small-business scheme from year to year: twelve months, other currencies, closed years, rows of the user's own."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from exempt_shop import EXEMPT, scheme, sold
from shop import answers, orders, registered, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    from pathlib import Path


def test_cyprus_adds_up_any_twelve_months() -> None:
    """Twelve months, from memory: 15 600.01 over two calendar years passes the limit, a day later the first sale is out."""
    first = sold("first", "CY", "8000", "2025-08-10")
    inside, outside = (sold("second", "CY", "7600.01", day) for day in ("2026-08-09", "2026-08-10"))
    profile = union_seller("CY", registration=scheme("CY"))
    assert answers(assess(orders([first, inside]), profile)).loc["second", "duty"] == "collect"
    assert answers(assess(orders([first, outside]), profile)).loc["second", "duty"] == EXEMPT


@pytest.mark.source("bg-nap-vk-30-18416")
@pytest.mark.parametrize(("before", "duty"), [("100000", EXEMPT), ("100010", "collect")])
def test_bulgaria_changed_to_the_euro_between_two_years(before: str, duty: str) -> None:
    """BGN 100 000 are EUR 51 129.19 at the fixed rate 1.95583, within the 51 130 of 2026; BGN 10 more pass the old limit."""
    rows = [
        sold("before", "BG", before, "2025-11-03", currency="BGN"),
        sold("now", "BG", "100", "2026-02-03"),
    ]
    profile = union_seller("BG", registration=scheme("BG"))
    assert answers(assess(orders(rows), profile)).loc["now", "duty"] == duty


@pytest.mark.source("dk-skat-momsloven-71e")
@pytest.mark.parametrize(("last", "duty"), [("694750", EXEMPT), ("694750.01", "collect")])
def test_a_danish_seller_has_the_limit_of_the_union_in_kroner(last: str, duty: str) -> None:
    """Danish Tax Agency: DKK 744 750."""
    profile = union_seller(
        "DK",
        registration=[*registered("DK"), *scheme("SE", "FR", identified_in="DK")],
        reporting_currency="DKK",
    )
    rows = [
        sold("first", "FR", "50000", "2026-02-03", currency="DKK"),
        sold("last", "FR", last, "2026-02-04", currency="DKK"),
    ]
    found = assess(orders(rows), profile)
    row = found.thresholds.set_index("kind").loc["small_business_union"]
    assert (row.place, row.currency, row.limit) == ("EU", "DKK", 74_475_000)
    assert row.status == ("crossed" if duty == "collect" else "near")


@pytest.mark.source("at-wko-kleinunternehmer-2025")
def test_a_closed_year_ends_and_the_exemption_comes_back() -> None:
    """Art. 288a: closed for the year after the one over the limit, whatever is sold in it within the limit."""
    rows = [
        sold("over", "AT", "70000", "2025-06-01"),
        sold("closed", "AT", "120", "2026-06-01"),
        sold("open again", "AT", "120", "2027-06-01"),
    ]
    found = assess(orders(rows), union_seller("AT", registration=scheme("AT")))
    assert answers(found).duty.to_dict() == {"over": "collect", "closed": "collect", "open again": EXEMPT}
    during = assess(orders(rows), union_seller("AT", registration=scheme("AT")), as_of=date(2026, 12, 31))
    row = during.thresholds.set_index("kind").loc["small_business"]
    assert row[["status", "window_start", "limit", "duty_from", "duty_until"]].tolist() == [
        "crossed",
        "2025-01-01",
        5_500_000,
        "2025-06-01",
        "2026-12-31",
    ]


def test_turnover_after_the_end_of_the_exemption_is_net_of_vat() -> None:
    """Up to the crossing order and with it as charged, then without the VAT in the price (25.5 % in Finland)."""
    rows = [
        sold("a", "FI", "20000"),
        sold("b", "FI", "1255", "2026-03-05"),
        sold("c", "FI", "125.50", "2026-03-06"),
    ]
    found = assess(orders(rows), union_seller("FI", registration=scheme("FI")))
    assert found.thresholds.set_index("kind").loc["small_business", "value"] == 2_000_000 + 125_500 + 10_000


def test_one_order_of_two_lines_passes_as_a_whole() -> None:
    """Lines of an order are one supply in the walk: both are taxed."""
    rows = [
        sold("a", "FI", "19999"),
        *(sold("b", "FI", "1", "2026-03-05", line_id=line) for line in ("1", "2")),
    ]
    found = answers(assess(orders(rows), union_seller("FI", registration=scheme("FI"))), by="line_id")
    assert found.loc[["1", "2"], "duty"].tolist() == ["collect", "collect"]


def test_a_row_of_the_users_own_moves_the_limit(tmp_path: Path) -> None:
    """And the row is named where it decides."""
    header = (
        "place,sales,amount,currency,previous_year_amount,ceiling,tolerance_percent,window,first_year_pro_rata,over_limit,"
        "over_ceiling,next_year_closed,on_request,natural_persons_only,valid_from,source,basis,checked_on"
    )
    window = "current_and_previous_calendar_year"
    row = f"FI,all,30000,EUR,30000,,,{window},no,from_the_sale,,yes,no,no,2026-01-01,memory,unconfirmed,2026-11-01"
    (tmp_path / "eu").mkdir()
    (tmp_path / "eu" / "small_business_rules.csv").write_text(f"{header}\n{row}\n", encoding="utf-8")
    rows = [sold("a", "FI", "30000"), sold("b", "FI", "1", "2026-03-05")]
    found = assess(orders(rows), union_seller("FI", registration=scheme("FI")), tables=tmp_path)
    assert answers(found).duty.tolist() == [EXEMPT, "collect"]
    (shown,) = (each for each in found.record()["thresholds"] if each["place"] == "FI")
    assert shown["limit"] == "30000.00"
    assert shown["own_rows"]


def test_a_limit_of_a_day_for_which_no_row_is_held_is_not_invented() -> None:
    """The seller's word is taken, and said so."""
    row = sold("a", "DE", "900000", "2022-03-04")
    profile = union_seller("DE", registration=scheme("DE", since=date(2020, 1, 1)))
    found = assess(orders([row]), profile)
    assert answers(found).loc["a", "duty"] == EXEMPT
    assert any(
        "no limit of the small-business scheme is held before 2024-01-01" in each
        for each in found.record()["assumptions"]
    )
