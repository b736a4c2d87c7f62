"""Digital supplies of a seller established in the Union: at home they are domestic, whatever is sold across borders."""

from __future__ import annotations

from datetime import date

import pytest
from shop import answers, net_sale, orders, registered, union_seller

from taxcalc import assess

SINCE = date(2024, 1, 1)
OSS = registered("EU", since=SINCE, scheme="union_oss", identified_in="BE")


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_digital_supply_at_home_is_domestic_and_in_no_one_stop_shop_return() -> None:
    """Sales inside a state where the seller is established stay in its national return; art. 45 and 58 from memory."""
    profile = union_seller(
        "BE",
        registration=[*registered("BE", since=SINCE), *OSS],
        election=[{"name": "eu_tax_at_destination", "from": SINCE}],
    )
    sales = [
        net_sale("home", "BE", "100.00", product_class="digital"),
        net_sale("abroad", "FR", "100.00", product_class="digital"),
    ]
    found = assess(orders(sales), profile, as_of=date(2026, 4, 20), period="2026-Q1")
    lines = answers(found)
    assert lines.loc[["home", "abroad"], "reason"].tolist() == ["eu_home", "eu_over_limit"]
    assert lines.loc[["home", "abroad"], "to_collect"].tolist() == [2100, 2000]
    (only,) = found.record()["one_stop_shop"]
    assert [row["member_state_of_consumption"] for row in only["supplies"]] == ["FR"]


def test_a_digital_supply_where_the_seller_has_a_second_establishment_is_domestic_there() -> None:
    """From memory (Directive 2006/112/EC art. 45, 369a): the one-stop shop is for states without an establishment."""
    profile = union_seller("DE", established_in=["DE", "AT"], registration=registered("DE", "AT"))
    lines = answers(
        assess(
            orders([net_sale(to, to, "100.00", product_class="digital") for to in ("DE", "AT", "FR")]),
            profile,
        )
    )
    assert lines.loc[["DE", "AT", "FR"], "reason"].tolist() == [
        "eu_home",
        "eu_established",
        "eu_distance_sale",
    ]
    assert lines.loc[["DE", "AT", "FR"], "to_collect"].tolist() == [1900, 2000, 2000]


def test_a_digital_supply_through_a_marketplace_may_be_the_marketplaces() -> None:
    """From memory (Implementing Regulation 282/2011 art. 9a): presumed, unless the terms name the seller as the supplier."""
    profile = union_seller("DE", registration=registered("DE"))
    through = {"product_class": "digital", "channel": "marketplace", "day": "2026-05-04"}
    sales = [
        net_sale("consumer", "FR", "100.00", **through),
        net_sale("at home", "DE", "100.00", **through),
        net_sale("business", "DE", "100.00", **through, buyer_tax_number="DE136695976"),
        net_sale("own shop", "FR", "100.00", **{**through, "channel": "own"}),
        net_sale("goods", "FR", "100.00", **{**through, "product_class": "other"}),
    ]
    found = assess(orders(sales), profile, as_of=date(2026, 7, 20), period="2026-Q2")
    ends = answers(found)[["to_collect_low", "to_collect"]]
    assert {name: tuple(row) for name, row in zip(ends.index, ends.to_numpy().tolist(), strict=True)} == {
        "consumer": (0, 1900),
        "at home": (0, 1900),
        "business": (1900, 1900),
        "own shop": (1900, 1900),
        "goods": (1900, 1900),
    }
    (only,) = [one for one in found.record()["findings"] if one["kind"] == "digital_by_marketplace"]
    assert only["amount"] == "38.00"
