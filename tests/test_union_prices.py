"""Prices to consumers in the Union: the VAT inside, what is left in each state, and both readings of a price without VAT."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.reports.terminal import review_text

AS_OF = date(2026, 7, 15)


def record_of(*rows: dict[str, str], profile: dict[str, Any] | None = None) -> dict[str, Any]:
    """Review some orders of the second quarter of 2026 of a shop in Germany."""
    whole = [{"ordered_on": "2026-05-04", "currency": "EUR", **row} for row in rows]
    who = profile or union_seller("DE", registration=registered("DE"))
    return assess(orders(whole), who, as_of=AS_OF, period="2026-Q2").record()


def gross(to: str, amount: str, **more: str) -> dict[str, str]:
    """Write a sale whose price contains VAT."""
    return {"to": to, "item_amount": amount, "tax_included": "yes", **more}


def without(to: str, amount: str, **more: str) -> dict[str, str]:
    """Write a sale whose price is without VAT."""
    return {"to": to, "item_amount": amount, "tax_included": "no", **more}


def states(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give the states of the table by code."""
    return {row["place"]: row for row in record["same_price"]["states"]}


@pytest.mark.source("ie-revenue-rates-table", "eu-com-explanatory-notes-2027")
def test_the_same_price_leaves_different_nets() -> None:
    """Irish Revenue (23 %) and the Commission's split of 168.00 at 20 % (140.00 and 28.00): official; the place is ours."""
    found = states(record_of(gross("DE", "168.00")))
    assert [found["FR"][name] for name in ("vat", "net")] == ["28.00", "140.00"]
    assert [found["IE"][name] for name in ("vat", "net")] == ["31.41", "136.59"]  # 168 x 23/123 = 31.4146
    assert found["FR"]["row_ids"] == ["eu/rates:FR/*:2019-01-01"]
    assert len(found) == 28  # 27 member states and Northern Ireland


def test_kinds_of_goods_have_their_own_rates_and_orders_their_average() -> None:
    """Irish law (books 0 %) and rate table (23 %): 123.00 + 50.00 leave 150.00 in Ireland, in two orders."""
    record = record_of(gross("DE", "123.00"), gross("FR", "50.00", product_class="books"))
    found, whole = states(record)["IE"], record["same_price"]
    assert (whole["gross"], whole["orders"], whole["gross_of_an_order"]) == ("173.00", 2, "86.50")
    assert (found["net"], found["net_of_an_order"]) == ("150.00", "75.00")
    assert [states(record)[code]["sold"] for code in ("DE", "FR", "IE")] == ["123.00", "50.00", "0.00"]


def test_only_taxed_sales_to_consumers_at_prices_with_vat_are_in_the_table() -> None:
    """No paper: exports, businesses, marketplaces, refunds, other periods and prices without VAT say nothing of it."""
    record = record_of(
        gross("CH", "10.00"),
        gross("FR", "10.00", buyer_tax_number="FR40303265045"),
        gross("FR", "10.00", channel="marketplace", marketplace="bazaar"),
        gross("FR", "10.00", ordered_on="2026-03-31"),
        gross("FR", "10.00", entry="sample"),
        without("FR", "10.00"),
    )
    assert record["same_price"] is None


def test_a_price_without_vat_lacks_it_on_top_or_out_of_the_price() -> None:
    """German rate 19 %: on top of 100.00 it is 19.00, out of it 100 x 19/119 = 15.97. From memory: CJEU C-249/12.

    Both are named, and only the first is in the other figures.
    """
    record = record_of(without("DE", "100.00"))
    (place,) = record["priced_without_vat"]["places"]
    assert place["on_top"] == {"low": "19.00", "expected": "19.00", "high": "19.00"}
    assert place["out_of_the_price"] == {"low": "15.97", "expected": "15.97", "high": "15.97"}
    assert record["places"][0]["shortfall"]["expected"] == "19.00"
    text = {finding["id"]: finding["text"] for finding in record["findings"]}["priced_without_vat:EU"]
    assert all(words in text for words in ("EUR 100.00", "EUR 19.00", "EUR 15.97"))
    assert "Sold to consumers in the Union at prices without VAT" in review_text(record)
    assert record["priced_without_vat"]["row_ids"] == ["eu/scheme_rules:EU/prices/vat_not_agreed:2019-01-01"]
    assert record["priced_without_vat"]["basis"] == "unconfirmed"


def test_nothing_lacks_where_vat_was_collected_or_lies_in_the_price_or_is_not_due() -> None:
    """No paper: the second reading is for sales on which nothing was charged."""
    record = record_of(
        without("DE", "100.00", tax_collected="19.00"),
        gross("DE", "119.00"),
        without("CH", "100.00"),
        without("FR", "100.00", buyer_tax_number="FR40303265045"),
    )
    assert record["priced_without_vat"] is None


def test_sales_in_other_currencies_are_reported_in_the_sellers() -> None:
    """ECB: the rate of the order day, each line converted and rounded, then added."""
    profile = seller(registration=registered("DE"), reporting_currency="EUR")
    rows = [without("DE", "100.00", currency=money, sent_from="DE") for money in ("EUR", "USD")]
    (place,) = record_of(*rows, profile=profile)["priced_without_vat"]["places"]
    euro, whole = Fraction(19), Fraction(place["on_top"]["expected"])
    assert euro < whole < 2 * euro
    assert place["lines"] == 2


@settings(max_examples=12, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 10_000_00), st.sampled_from(["DE", "FR", "PL"])), min_size=1, max_size=8
    )
)
def test_gross_is_always_net_and_vat_and_a_higher_rate_leaves_less(sold: list[tuple[int, str]]) -> None:
    """Laws: nothing is lost in the split; of two standard rates the higher leaves no more (Luxembourg 17 %, Hungary 27 %)."""
    record = record_of(*(gross(to, f"{cents // 100}.{cents % 100:02}") for cents, to in sold))
    found, whole = states(record), Fraction(record["same_price"]["gross"])
    assert whole == sum(Fraction(cents, 100) for cents, _ in sold)
    assert all(Fraction(row["vat"]) + Fraction(row["net"]) == whole for row in found.values())
    assert Fraction(found["LU"]["net"]) >= Fraction(found["DE"]["net"]) >= Fraction(found["HU"]["net"])
