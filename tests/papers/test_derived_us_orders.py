"""United States, whole orders: rounding, mixed parcels, flat rates by choice. All figures are our own arithmetic."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shop import answers, asked, net_sale, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.kernel import Charges, Rules, tax

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]


@pytest.mark.source("ssuta-324", "nd-81-04.1-01-29")
@pytest.mark.parametrize(
    ("ppm", "cents"),
    [
        pytest.param(3_749, 37, id="0.3749"),
        pytest.param(10_050, 101, id="1.0050"),
        pytest.param(21_749, 217, id="2.1749"),
        pytest.param(21_750, 218, id="2.1750"),
        pytest.param(3_744, 37, id="0.3744"),
        pytest.param(3_745, 37, id="0.3745"),
        pytest.param(3_750, 38, id="0.3750"),
    ],
)
def test_a_third_decimal_above_four_goes_up(ppm: int, cents: int) -> None:
    """SSUTA section 324, North Dakota 81-04.1-01-29: official rule, derived figures.

    Tax on 100.00 at made-up rates.
    """
    one = np.array([1], np.int64)
    none = np.array([0], np.int64)
    plain = np.zeros(1, np.int8)
    charges = Charges(one * 10_000, none, one, np.zeros(1, bool), np.zeros(1, np.int32), none)
    rules = Rules(
        plain, none, one * ppm, none, plain, none, none, plain, np.ones(1, bool), plain, plain, none, none > 0
    )
    assert tax(charges, rules).tolist() == [cents]
    assert tax(charges, rules, by_order=True).tolist() == [cents]


@pytest.mark.source("ssuta-324")
@pytest.mark.parametrize(
    ("rounding", "price", "cents"),
    [("line", "9.99", 210), ("order", "9.99", 210), ("line", "1.07", 21), ("order", "1.07", 22)],
)
def test_item_level_and_invoice_level_may_differ_by_a_cent(rounding: str, price: str, cents: int) -> None:
    """SSUTA section 324: the seller may round items or invoices.

    Derived, three items at the 7 % of Rhode Island.
    """
    profile = seller(registration=registered("US-RI"), rounding=rounding)
    rows = [{"order_id": "A", "to": "US-RI", "item_amount": price}] * 3
    assert asked(profile, *rows).to_collect.sum() == cents


@pytest.fixture(scope="module")
def elected() -> pd.DataFrame:
    """Assess a seller that chose the flat rates of Alabama and Texas for 2026.

    And sold on both sides of that day.
    """
    chosen = [{"name": "flat_rate", "place": place, "from": date(2026, 1, 1)} for place in ("US-AL", "US-TX")]
    rows = [
        {
            "order_id": f"{place} {day}",
            "to": place,
            "item_amount": item,
            "shipping_amount": shipping,
            "ordered_on": day,
        }
        for place, item, shipping in (("US-AL", "50.00", "0.00"), ("US-TX", "24.50", "5.00"))
        for day in ("2025-12-31", "2026-01-01")
    ]
    return asked(seller(registration=registered("US-AL", "US-TX"), election=chosen), *rows)


@pytest.mark.source("al-code-40-23-193", "tx-comptroller-single-local-rate", "tx-34tac-3.303")
@pytest.mark.parametrize(("place", "tax_due"), [("US-AL", 400), ("US-TX", 236)])
def test_a_flat_rate_works_from_the_day_it_is_chosen(elected: pd.DataFrame, place: str, tax_due: int) -> None:
    """Alabama 40-23-193 (8 %), Texas 151.0595 (6.25 % and 1.75 %, shipping taxable): derived, no range left.

    On the day before the choice the local part is open, so the range is wider than the flat rate.
    """
    assert elected.loc[f"{place} 2026-01-01", ENDS].tolist() == [tax_due] * 3
    before = elected.loc[f"{place} 2025-12-31"]
    assert before.to_collect_low < before.to_collect_high


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> pd.DataFrame:
    """Taxable and exempt goods in one parcel.

    Own rows make books exempt, which no shipped row of these states does.
    """
    where: Path = tmp_path_factory.mktemp("own")
    (where / "us").mkdir()
    header = "place,product_class,part,locality,treatment,item_price,currency,percent,delivery_in_item_price,"
    header += "valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
    row = "{},books,both,,exempt,,,,,2019-01-01,,memory,unconfirmed,,2026-11-25,made up for a test\n"
    text = header + "".join(row.format(state) for state in ("US-OH", "US-LA"))
    (where / "us" / "product_rules.csv").write_text(text, encoding="utf-8")
    rows = [
        {
            "order_id": "OH",
            "line_id": "mug",
            "to": "US-OH",
            "item_amount": "75.00",
            "shipping_amount": "8.00",
        },
        {
            "order_id": "OH",
            "line_id": "book",
            "to": "US-OH",
            "item_amount": "25.00",
            "product_class": "books",
        },
        {"order_id": "LA", "line_id": "mug", "to": "US-LA", "item_amount": "40.00"},
        {
            "order_id": "LA",
            "line_id": "book",
            "to": "US-LA",
            "item_amount": "60.00",
            "shipping_amount": "10.00",
            "product_class": "books",
        },
    ]
    profile = seller(registration=registered("US-OH", "US-LA"))
    return answers(assess(orders(rows), profile, tables=where)).groupby(level=0)[ENDS].sum()


@pytest.mark.source("oh-oac-5703-9-52")
def test_ohio_splits_delivery_by_price_or_taxes_all_of_it(mixed: pd.DataFrame) -> None:
    """Ohio, OAC 5703-9-52: derived; 75 taxable, 25 exempt, delivery 8.

    Base 81 with a split and 83 without.

    Low 81.00 x 5.75 % = 4.6575, high 83.00 x (5.75 + 2.25) % = 6.64.
    """
    assert mixed.loc["OH", ["to_collect_low", "to_collect_high"]].tolist() == [466, 664]


@pytest.mark.source("la-rib-25-025")
def test_louisiana_taxes_one_transport_charge_on_a_mixed_invoice_whole(mixed: pd.DataFrame) -> None:
    """Louisiana, RIB 25-025 (read in a summary): derived.

    Taxable 40, exempt 60, transport 10: base 50 at 5 %.
    """
    assert mixed.loc["LA", "to_collect_low"] == 250


SHIPPING_ALONE = [
    {"order_id": "A", "line_id": "goods", "item_amount": "100.00"},
    {"order_id": "A", "line_id": "shipping", "item_amount": "0.00", "shipping_amount": "10.00"},
]
"""An order whose shipping stands on a line of its own, as many exports have it."""


@pytest.mark.source("ny-tb-st-838")
def test_shipping_on_a_line_of_its_own_is_taxed_with_the_goods_of_the_order() -> None:
    """New York TB-ST-838: stated; a delivery charge on a bill with taxable goods is taxed.

    Derived: 110.00 at the state's 4 %.
    """
    rows = [{"to": "US-NY", **line} for line in SHIPPING_ALONE]
    assert asked(seller(registration=registered("US-NY")), *rows).to_collect_low.sum() == 440


@pytest.mark.source("ca-cdtfa-pub-100")
def test_californian_shipping_on_a_line_of_its_own_may_be_taxed() -> None:
    """California CDTFA, Publication 100: stated.

    Without a record of the postage all of a separate charge is taxable.

    High end 110.00 x 12.5 % = 13.75.
    """
    rows = [{"to": "US-CA", **line} for line in SHIPPING_ALONE]
    assert asked(seller(registration=registered("US-CA")), *rows).to_collect_high.sum() == 1375


def test_an_order_with_shipping_on_a_line_of_its_own_is_rounded_once() -> None:
    """No paper: our own rule that the lines of an order add up to its tax rounded once, also inside prices.

    Goods 10.04 and shipping 2.52 at 19 % inside: 12.56 x 19/119 = 2.00538. Rounded
    line by line they would be 1.60 and 0.40.
    """
    profile = union_seller("DE", rounding="order")
    rows = [
        net_sale("A", "DE", "10.04", line_id="1"),
        net_sale("A", "DE", "0.00", line_id="2", shipping_amount="2.52"),
    ]
    found = asked(profile, *({**row, "tax_included": "yes"} for row in rows))
    assert found.to_collect.sum() == 201
