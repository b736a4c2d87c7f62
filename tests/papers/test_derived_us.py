"""United States: our own arithmetic from a published rule or rate.

No figure here is printed by the publisher.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import asked, registered, seller

if TYPE_CHECKING:
    import pandas as pd

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]
STATES = (
    "US-NY",
    "US-MA",
    "US-MN",
    "US-NJ",
    "US-PA",
    "US-VT",
    "US-FL",
    "US-CA",
    "US-NV",
    "US-SD",
    "US-NM",
    "US-RI",
)


@pytest.fixture(scope="module")
def us() -> pd.DataFrame:
    """All examples in one order file of a seller registered in each of the states."""
    worn = {"product_class": "clothing"}
    rows = [
        {"order_id": "NYC under", "to": "US-NY 10001", "item_amount": "109.99", **worn},
        {"order_id": "NYC over", "to": "US-NY 10001", "item_amount": "110.00", **worn},
        {"order_id": "Albany", "to": "US-NY 12207", "item_amount": "40.00", **worn},
        {"order_id": "coat 200", "to": "US-MA", "item_amount": "200.00", **worn},
        {"order_id": "coat 175", "to": "US-MA", "item_amount": "175.00", **worn},
        {"order_id": "two shirts", "to": "US-MA", "item_amount": "240.00", "quantity": "2", **worn},
        {"order_id": "mail order", "to": "US-FL", "item_amount": "100.00", "shipping_amount": "8.00", **worn},
        {
            "order_id": "freight known",
            "to": "US-CA",
            "item_amount": "100.00",
            "shipping_amount": "9.00",
            "fulfiller_shipping_cost": "6.50",
        },
        {"order_id": "freight unknown", "to": "US-CA", "item_amount": "100.00", "shipping_amount": "9.00"},
        {"order_id": "handled", "to": "US-NV", "item_amount": "52.00", "shipping_amount": "6.00"},
        {
            "order_id": "box",
            "line_id": "shirt",
            "to": "US-NJ",
            "item_amount": "30.00",
            "shipping_amount": "6.00",
            **worn,
        },
        {
            "order_id": "box",
            "line_id": "mug",
            "to": "US-NJ",
            "item_amount": "10.00",
            "product_class": "homeware",
        },
        *(
            {"order_id": f"{state} {day}", "to": state, "item_amount": "100.00", "ordered_on": day}
            for state, days in (
                ("US-SD", ("2023-06-30", "2023-07-01")),
                ("US-NM", ("2022-06-30", "2022-07-01", "2023-06-30", "2023-07-01")),
            )
            for day in days
        ),
        *(
            {"order_id": f"{state} {kind} {price}", "to": state, "item_amount": price, "product_class": kind}
            for state in ("US-MN", "US-NJ", "US-PA", "US-VT")
            for kind, price in (("clothing", "30.00"), ("clothing", "600.00"), ("accessories", "30.00"))
        ),
    ]
    return asked(seller(registration=registered(*STATES)), *rows)


@pytest.mark.source("ny-pub-718-c", "ny-pub-718-c-counties")
@pytest.mark.parametrize(
    ("order", "low", "high"),
    [
        pytest.param("NYC under", 0, 0, id="109.99 in New York City: no part"),
        pytest.param("NYC over", 440, 976, id="110.00 in New York City: 8.875 % at most, which holds there"),
        pytest.param("Albany", 0, 195, id="40.00 in Albany County: local part only, 1.60 at its 4 %"),
    ],
)
def test_new_york_clothing_under_110(us: pd.DataFrame, order: str, low: int, high: int) -> None:
    """New York, Publication 718-C and its list of counties: derived figures.

    9.76 is the full rate of New York City, the highest of the state. The program knows only averages and
    extremes of local rates, so 1.60 for Albany County lies inside its range, and 110.00 in the city is its
    high end.
    """
    assert us.loc[order, ["to_collect_low", "to_collect_high"]].tolist() == [low, high]
    paper = {"NYC under": 0, "NYC over": 976, "Albany": 160}[order]
    assert low <= paper <= high


@pytest.mark.source("ma-lr-83-48")
@pytest.mark.parametrize(("order", "tax_due"), [("coat 200", 156), ("coat 175", 0), ("two shirts", 0)])
def test_massachusetts_taxes_the_excess_over_175(us: pd.DataFrame, order: str, tax_due: int) -> None:
    """Massachusetts, Letter Ruling 83-48 (first 175 of an article are outside the tax).

    Derived at today's 6.25 %.
    """
    assert us.loc[order, ENDS].tolist() == [tax_due] * 3


@pytest.mark.source("mn-dor-clothing", "nj-18-24-6.3", "pa-61-53.1", "vt-dot-exempt-items")
@pytest.mark.parametrize("state", ["US-MN", "US-NJ", "US-PA", "US-VT"])
def test_clothing_at_any_price_is_free_and_a_handbag_is_not(us: pd.DataFrame, state: str) -> None:
    """Minnesota, New Jersey, Pennsylvania, Vermont, rules on clothing: derived, the prices are ours."""
    for price in ("30.00", "600.00"):
        assert us.loc[f"{state} clothing {price}", ENDS].tolist() == [0, 0, 0]
        assert us.loc[f"{state} clothing {price}", "duty"] == "exempt_goods"
    assert us.loc[f"{state} accessories 30.00", "to_collect_low"] > 0
    assert us.loc[f"{state} accessories 30.00", "duty"] == "collect"


@pytest.mark.source("nj-18-24-27.2")
def test_new_jersey_taxes_the_mugs_share_of_the_shipping(us: pd.DataFrame) -> None:
    """New Jersey, N.J.A.C. 18:24-27.2 (c), price method: derived.

    10.00 and 6.00 x 10/40 at 6.625 % are 0.76.
    """
    assert us.loc["box", ENDS].sum().tolist() == [76, 76, 76]
    assert sorted(us.loc["box", "to_collect_high"]) == [10, 66]


@pytest.mark.source("fl-12a-1.045")
def test_florida_taxes_shipping_that_the_customer_cannot_avoid(us: pd.DataFrame) -> None:
    """Florida, Rule 12A-1.045 example 2 (mail-order jacket of 100.00).

    Taxable officially, 8.00 of shipping are ours.
    """
    assert us.loc["mail order", "to_collect_low"] == 648


@pytest.mark.source("ca-cdtfa-pub-100")
@pytest.mark.parametrize(
    ("order", "low", "high"),
    [
        pytest.param("freight known", 743, 1281, id="9.00 charged for 6.50 of postage: 2.50 taxable"),
        pytest.param(
            "freight unknown", 725, 1363, id="no record of the postage: 9.00 taxable, or nothing once found"
        ),
    ],
)
def test_california_frees_no_more_than_the_postage(us: pd.DataFrame, order: str, low: int, high: int) -> None:
    """California CDTFA, Publication 100.

    Derived, at the state's 7.25 % (low) and with the highest local part (high).

    102.50 x 7.25 % = 7.43125, 102.50 x 12.5 % = 12.8125, 109.00 x 12.5 % = 13.625.
    """
    assert us.loc[order, ["to_collect_low", "to_collect_high"]].tolist() == [low, high]


@pytest.mark.source("nv-nac-372.101")
def test_nevada_taxes_handling_and_not_shipping(us: pd.DataFrame) -> None:
    """Nevada, NAC 372.101: derived; goods 50.00 with handling 2.00 in the item price, shipping 6.00.

    6.85 % of 52.00.

    The order columns have none for handling: a shop that charges it keeps it in the item amount.
    """
    assert us.loc["handled", "to_collect_low"] == 356


@pytest.mark.source("sd-dor-hb-1137", "nm-trd-rate-2022-07", "nm-trd-rate-2023-07")
@pytest.mark.parametrize(
    ("order", "tax_due"),
    [
        pytest.param("US-SD 2023-06-30", 450, id="South Dakota, last day of 4.5 %"),
        pytest.param("US-SD 2023-07-01", 420, id="South Dakota, first day of 4.2 %"),
        pytest.param("US-NM 2022-06-30", 513, id="New Mexico, last day of 5.125 %"),
        pytest.param("US-NM 2022-07-01", 500, id="New Mexico, first day of 5 %"),
        pytest.param("US-NM 2023-06-30", 500, id="New Mexico, last day of 5 %"),
        pytest.param("US-NM 2023-07-01", 488, id="New Mexico, first day of 4.875 %"),
    ],
)
def test_state_rates_change_on_their_day(us: pd.DataFrame, order: str, tax_due: int) -> None:
    """South Dakota HB 1137 and New Mexico rate notices.

    Derived state tax on 100.00, low end (no local part).
    """
    assert us.loc[order, "to_collect_low"] == tax_due


def test_before_the_first_rate_row_nothing_is_known() -> None:
    """No paper: the README of the tables says that before the first row of a key nothing is known.

    A Wisconsin sale of 2018-10-01, with a duty since that day, must not read "no general sales tax here".
    """
    profile = seller(registration=registered("US-WI"))
    line = asked(profile, {"to": "US-WI", "item_amount": "10.00", "ordered_on": "2018-10-01"}).iloc[0]
    assert line.duty != "no_tax_here"
    assert line.reason != "us_no_sales_tax"
