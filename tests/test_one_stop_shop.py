"""Figures for one-stop-shop returns: by state and rate, corrections by their period, nothing set off between states."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from currency_converter import CurrencyConverter
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import fulfiller, net_sale, orders, registered, seller, union_seller

from taxcalc.caution import CAUTION
from taxcalc.reports.terminal import review_text
from taxcalc.run import assess

IN_SCHEME = [*registered("EU", since=date(2024, 1, 1), scheme="union_oss", identified_in="NL")]
SHOP = union_seller(
    "NL",
    registration=[*registered("NL", since=date(2024, 1, 1)), *IN_SCHEME],
    election=[{"name": "eu_tax_at_destination", "from": date(2024, 1, 1)}],
    fulfiller=[fulfiller(ship_from=["SK"])],
)
IMPORTER = seller(
    registration=registered("EU", since=date(2024, 1, 1), scheme="ioss", identified_in="NL"),
)


def returns(profile: dict[str, Any], *rows: dict[str, str], quarter: str = "2026-Q1") -> list[dict[str, Any]]:
    """Assess some orders, seen from the end of 2026, and give the returns of a quarter."""
    found = assess(orders(rows), profile, as_of=date(2026, 12, 31), period=quarter)
    return list(found.record()["one_stop_shop"])


def refund(of: dict[str, str], day: str, amount: str | None = None) -> dict[str, str]:
    """Refund an order, whole or in part."""
    return {**of, "entry": "refund", "ordered_on": day, "item_amount": amount or of["item_amount"]}


def vat(part: dict[str, Any]) -> str:
    """Give the expected VAT."""
    return str(part["vat_amount"]["expected"])


@pytest.mark.source("eu-com-oss-declare")
def test_supplies_stand_by_state_of_arrival_dispatch_and_rate() -> None:
    """The return asks for taxable amount, rate and VAT by member state, goods also by the state they left."""
    (only,) = returns(
        SHOP,
        net_sale("a", "FR", "100.00", "2026-01-10"),
        net_sale("b", "FR", "50.00", "2026-03-31"),
        net_sale("c", "FR", "10.00", "2026-02-01", product_class="books"),
        net_sale("d", "DE", "100.00", "2026-02-01", sent_from="PL"),
        net_sale("later", "DE", "100.00", "2026-04-01"),
    )
    columns = ("member_state_of_consumption", "member_state_of_dispatch", "vat_rate", "vat_rate_type")
    assert [
        (*(row[name] for name in columns), row["taxable_amount"], vat(row)) for row in only["supplies"]
    ] == [
        ("DE", "PL", "19.00", "STANDARD", "100.00", "19.00"),
        ("FR", "SK", "5.50", "REDUCED", "10.00", "0.55"),
        ("FR", "SK", "20.00", "STANDARD", "150.00", "30.00"),
    ]
    assert (only["scheme"], only["period"], only["registered"], only["due"]) == (
        "union_oss",
        "2026-Q1",
        True,
        "2026-04-30",
    )
    assert vat(only["payable"]) == "49.55"
    assert all(part["caution"] == CAUTION for part in (only, *only["supplies"], only["payable"]))


def test_goods_that_stay_in_one_state_are_in_no_return() -> None:
    """They belong in the national return of that state (Commission's notes, eu/scheme_rules: domestic_sales)."""
    (only,) = returns(SHOP, net_sale("a", "SK", "100.00", "2026-01-10"))
    assert (only["nil"], only["supplies"]) == (True, [])


def test_a_refund_of_the_same_quarter_lowers_its_supply() -> None:
    """It is no correction: the period is still the same."""
    sale = net_sale("a", "FR", "100.00", "2026-01-10")
    (only,) = returns(SHOP, sale, refund(sale, "2026-03-01", "40.00"))
    (row,) = only["supplies"]
    assert (row["taxable_amount"], vat(row), only["corrections"]) == ("60.00", "12.00", [])


def test_a_refund_of_an_earlier_quarter_is_a_correction_that_names_it() -> None:
    """Art. 369g(4), from memory: the period, the state and the difference of VAT."""
    sale = net_sale("a", "FR", "100.00", "2025-11-10")
    (only,) = returns(SHOP, sale, refund(sale, "2026-02-01", "40.00"))
    (row,) = only["corrections"]
    assert (row["period"], row["member_state_of_consumption"], vat(row)) == ("2025-Q4", "FR", "-8.00")
    assert (only["supplies"], only["nil"], vat(only["payable"])) == ([], False, "0.00")


def test_a_refund_without_its_sale_corrects_the_period_it_names() -> None:
    """`original_ordered_on` says when the sale was."""
    lone = refund(net_sale("a", "FR", "50.00"), "2026-02-01")
    (only,) = returns(
        SHOP, {**lone, "original_ordered_on": "2025-08-01"}, net_sale("b", "FR", "1.00", "2025-01-02")
    )
    assert [(row["period"], vat(row)) for row in only["corrections"]] == [("2025-Q3", "-10.00")]


def test_a_negative_balance_of_one_state_pays_for_no_other() -> None:
    """Spanish tax agency, help on form 369: what is payable is the sum of the positive balances."""
    old = net_sale("a", "FR", "100.00", "2025-11-10")
    (only,) = returns(SHOP, old, refund(old, "2026-02-01"), net_sale("b", "DE", "100.00", "2026-02-02"))
    assert {row["member_state"]: vat(row) for row in only["balances"]} == {"DE": "19.00", "FR": "-20.00"}
    assert vat(only["payable"]) == "19.00"
    shown = " ".join(
        review_text(
            _record(old, refund(old, "2026-02-01"), net_sale("b", "DE", "100.00", "2026-02-02"))
        ).split()
    )
    assert "Negative, asked back from that state and set off against none: FR." in shown


@pytest.mark.source("eu-dir-2006-112-art-366")
def test_amounts_are_turned_into_euro_at_the_next_publication_day_after_the_period() -> None:
    """30 June 2024 was a Sunday: the rate is that of 1 July, and not of the Friday before."""
    rate = Decimal(str(CurrencyConverter().convert(1, "EUR", "USD", date=date(2024, 7, 1))))
    friday = Decimal(str(CurrencyConverter().convert(1, "EUR", "USD", date=date(2024, 6, 28))))
    assert rate != friday
    sale = {
        "order_id": "a",
        "to": "FR",
        "item_amount": "1000.00",
        "ordered_on": "2024-05-10",
        "tax_included": "no",
    }
    (only,) = returns(SHOP, sale, net_sale("b", "FR", "1.00", "2026-11-10"), quarter="2024-Q2")
    (row,) = only["supplies"]
    cent = Decimal("0.01")
    assert Decimal(row["taxable_amount"]) == (1000 / rate).quantize(cent, ROUND_HALF_UP)
    assert Decimal(vat(row)) == (200 / rate).quantize(cent, ROUND_HALF_UP)


@pytest.mark.source("eu-com-oss-declare")
def test_the_import_scheme_is_returned_by_the_month() -> None:
    """Three months make a quarter; none without sales is left out, as a nil return may be due."""
    found = returns(
        IMPORTER,
        net_sale("a", "FR", "100.00", "2026-01-10", sent_from="US-IN"),
        net_sale("b", "FR", "50.00", "2026-03-10", sent_from="US-IN"),
    )
    assert [(each["scheme"], each["period"], each["nil"], each["due"]) for each in found] == [
        ("ioss", "2026-01", False, "2026-02-28"),
        ("ioss", "2026-02", True, "2026-03-31"),
        ("ioss", "2026-03", False, "2026-04-30"),
    ]
    assert [row["member_state_of_dispatch"] for each in found for row in each["supplies"]] == [None, None]


def test_a_seller_in_no_scheme_sees_what_would_belong_in_its_return() -> None:
    """In a sentence on the screen, whole in the record."""
    outside = union_seller("NL", fulfiller=[fulfiller(ship_from=["SK"])])
    record = _record(net_sale("a", "FR", "100.00", "2026-01-10"), profile=outside)
    (only,) = record["one_stop_shop"]
    assert (only["registered"], vat(only["payable"])) == (False, "20.00")
    assert "VAT of €20.00 on supplies into 1 member state would belong in its return" in " ".join(
        review_text(record).split()
    )


def test_a_shop_without_such_sales_hears_nothing_of_it() -> None:
    """No key is filled, no section shown."""
    record = _record(
        {"to": "US-TX 78701", "item_amount": "10.00", "ordered_on": "2026-01-10"}, profile=seller()
    )
    assert record["one_stop_shop"] == []
    assert "one-stop-shop returns" not in review_text(record)


SALES = st.lists(
    st.tuples(
        st.sampled_from(["FR", "DE", "IE", "PT 9000-001"]),
        st.integers(1, 50_000),
        st.sampled_from(["2025-12-31", "2026-01-01", "2026-03-31"]),
        st.sampled_from(["", "2026-02-15", "2026-04-01"]),
    ),
    min_size=1,
    max_size=6,
)


@settings(deadline=None, max_examples=25)
@given(sales=SALES)
def test_nothing_of_the_quarter_is_lost(sales: list[tuple[str, int, str, str]]) -> None:
    """Supplies and corrections together are the VAT of the quarter's lines, to the cent."""
    rows = []
    for number, (to, cents, day, refunded) in enumerate(sales):
        sale = net_sale(str(number), to, f"{cents // 100}.{cents % 100:02d}", day)
        rows += [sale, *([refund(sale, refunded)] if refunded > day else [])]
    found = assess(orders(rows), SHOP, as_of=date(2026, 12, 31), period="2026-Q1")
    boxes = [
        part for each in found.record()["one_stop_shop"] for part in (*each["supplies"], *each["corrections"])
    ]
    lines = found.lines
    inside = (lines["ordered_on"] >= "2026-01-01") & (lines["ordered_on"] <= "2026-03-31")
    assert sum(Decimal(vat(part)) for part in boxes) == Decimal(int(lines["to_collect"][inside].sum())) / 100
    assert sum(part["lines"] for part in boxes) == int(inside.sum())


def _record(*rows: dict[str, str], profile: dict[str, Any] = SHOP) -> dict[str, Any]:
    """Give the record of the first quarter of 2026."""
    return dict(assess(orders(rows), profile, as_of=date(2026, 12, 31), period="2026-Q1").record())
