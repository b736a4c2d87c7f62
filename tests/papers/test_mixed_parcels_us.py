"""One charge for a parcel of taxed and exempt goods: by the bill, by price, in full, or open where no paper divides it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import asked, orders, registered, seller

from taxcalc import assess

if TYPE_CHECKING:
    from pathlib import Path

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]


def mixed(state: str, *shipping: str) -> list[int]:
    """Give the tax of an order of a taxed mug of 40.00 and an exempt download of 60.00, less that without shipping."""
    goods = (("homeware", "40.00"), ("digital", "60.00"))
    rows = [
        {
            "order_id": order,
            "line_id": kind,
            "to": state,
            "product_class": kind,
            "item_amount": amount,
            "shipping_amount": sent if order == "sent" else "0.00",
        }
        for order in ("sent", "alone")
        for (kind, amount), sent in zip(goods, shipping, strict=True)
    ]
    found = asked(seller(registration=registered(state)), *rows).groupby(level=0)[ENDS].sum()
    assert (found.loc["alone"] > 0).all()
    return [int(tax) for tax in found.loc["sent"] - found.loc["alone"]]


@pytest.mark.source("ny-tb-st-838")
def test_one_charge_for_a_mixed_parcel_is_taxed_in_full_in_new_york() -> None:
    """Bulletin ST-838: stated; one charge on a bill with taxable and exempt items is taxable, a split one by its items.

    Derived amounts, state part 4 percent at the low end. Charges on both lines may be a split bill (low) or one charge
    that an export has divided (expected, high).
    """
    assert mixed("US-NY", "10.00", "0.00")[0] == 40
    assert mixed("US-NY", "0.00", "10.00")[0] == 40
    split = mixed("US-NY", "4.00", "6.00")
    assert split[0] == 16
    assert split[1:] == mixed("US-NY", "10.00", "0.00")[1:]


@pytest.mark.source("il-86iac-130.415")
def test_illinois_frees_a_share_only_if_it_is_identified() -> None:
    """86 Ill. Adm. Code 130.415: derived; 10.00 on a parcel with 40 percent of taxed goods, state part 6.25 percent at least."""
    low, expected, high = mixed("US-IL", "10.00", "0.00")
    assert low == 25
    assert expected >= 63
    assert expected <= high


@pytest.mark.source("nj-18-24-27.2")
@pytest.mark.parametrize("shipping", [("10.00", "0.00"), ("4.00", "6.00")])
def test_new_jersey_splits_by_price_whatever_line_the_charge_stands_on(shipping: tuple[str, str]) -> None:
    """N.J.A.C. 18:24-27.2(c): derived; a T-shirt of 60.00 with a mug of 40.00: 4.00 of 10.00 at 6.625 percent."""
    kinds = (("homeware", "40.00"), ("clothing", "60.00"))
    rows = [
        {
            "order_id": "a",
            "line_id": kind,
            "to": "US-NJ",
            "product_class": kind,
            "item_amount": amount,
            "shipping_amount": sent,
        }
        for (kind, amount), sent in zip(kinds, shipping, strict=True)
    ]
    found = asked(seller(registration=registered("US-NJ"), rounding="order"), *rows)
    assert found[ENDS].sum().tolist() == [292, 292, 292]


@pytest.mark.parametrize("state", ["US-TX", "US-CT"])
def test_how_a_mixed_parcel_is_divided_is_open_where_no_paper_says_it(state: str, tmp_path: Path) -> None:
    """No paper: mixed_shipment follows_goods or unknown; the share by price is expected, the whole charge the high end.

    An own row makes the download exempt. Derived: 10.00 with 40 percent of taxed goods, state part 6.25 or 6.35 percent.
    """
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "product_rules.csv").write_text(
        "place,product_class,part,locality,treatment,item_price,currency,percent,delivery_in_item_price,valid_from,ended,"
        "source,basis,unconfirmed_columns,checked_on,note\n"
        f"{state},digital,both,,exempt,,,,,2019-01-01,,memory,unconfirmed,,2026-01-01,invented for this test\n",
        encoding="utf-8",
    )
    rows = [
        {"line_id": kind, "product_class": kind, "item_amount": amount, "shipping_amount": sent}
        for kind, amount, sent in (("homeware", "40.00", "10.00"), ("digital", "60.00", "0.00"))
    ]
    rows = [{"order_id": "a", "to": state, **row} for row in rows]
    found = asked(seller(registration=registered(state)), *rows, tables=tmp_path)[ENDS].sum().tolist()
    rate = {"US-TX": 625, "US-CT": 635}[state]
    assert found[0] == round(44 * rate / 100)
    assert found[2] >= round(50 * rate / 100) > found[0]


def test_a_split_by_weight_is_named_where_a_parcel_could_need_one() -> None:
    """New Jersey lets the seller split by weight: said once taxed and exempt goods were sold there, else not."""
    profile = seller(registration=registered("US-NJ"))
    mug = {"to": "US-NJ", "item_amount": "10.00", "ordered_on": "2026-08-05", "product_class": "homeware"}
    shirt = {**mug, "product_class": "clothing"}
    said = [
        [w for w in assess(orders(rows), profile, period="2026-Q3").record()["assumptions"] if "weight" in w]
        for rows in ([mug, shirt], [mug], [shirt])
    ]
    assert [len(words) for words in said] == [1, 0, 0]
    assert "US-NJ" in said[0][0]
