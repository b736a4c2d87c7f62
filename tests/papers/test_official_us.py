"""United States: results that the publication itself prints, in figures.

Where a rate of the paper is the state's rate alone, the low end of the range is compared: an address without
a full ZIP+4 leaves the local part open, and "low" is the state part with no local part at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import asked, registered, seller

if TYPE_CHECKING:
    import pandas as pd


@pytest.fixture(scope="module")
def us() -> pd.DataFrame:
    """All examples in one order file of a seller registered in each of the states."""
    profile = seller(registration=registered("US-RI", "US-MA", "US-NY", "US-WI", "US-CA"))
    clothing = {"product_class": "clothing"}
    return asked(
        profile,
        {"order_id": "suit", "to": "US-RI", "item_amount": "275.00", **clothing},
        {"order_id": "five shirts", "to": "US-RI", "item_amount": "300.00", "quantity": "5", **clothing},
        {
            "order_id": "suit, altered",
            "to": "US-RI",
            "item_amount": "285.00",
            "shipping_amount": "20.00",
            **clothing,
        },
        {"order_id": "apron", "to": "US-MA", "item_amount": "30.00", **clothing},
        {"order_id": "furniture", "to": "US-NY", "item_amount": "3500.00", "shipping_amount": "250.00"},
        {"order_id": "furniture alone", "to": "US-NY", "item_amount": "3750.00"},
        {
            "order_id": "delivered",
            "to": "US-WI",
            "item_amount": "100.00",
            "shipping_amount": "10.00",
            **clothing,
        },
        {"order_id": "freight inside", "to": "US-CA", "item_amount": "100.00"},
    )


@pytest.mark.source("ri-280-ricr-20-70-6")
@pytest.mark.parametrize(
    ("order", "charged", "tax", "invoice"),
    [
        pytest.param("suit", 27500, 175, 27675, id="example 1: a suit of 275"),
        pytest.param(
            "five shirts", 30000, 0, 30000, id="example in (B): five shirts of 60, tested one by one"
        ),
        pytest.param(
            "suit, altered", 30500, 385, 30885, id="example 3: alteration and delivery enter the price"
        ),
    ],
)
def test_rhode_island_taxes_what_an_item_costs_over_250(
    us: pd.DataFrame, order: str, charged: int, tax: int, invoice: int
) -> None:
    """Rhode Island Division of Taxation, 280-RICR-20-70-6.6 (B) and (C): official figures."""
    line = us.loc[order]
    assert (line.to_collect_low, line.to_collect, line.to_collect_high) == (tax, tax, tax)
    assert charged + line.to_collect == invoice


@pytest.mark.source("ma-lr-80-59")
def test_massachusetts_frees_an_apron_with_a_decoration_as_clothing(us: pd.DataFrame) -> None:
    """Massachusetts Department of Revenue, Letter Ruling 80-59: official result (exempt).

    The price of 30 is ours.
    """
    assert us.loc["apron", ["to_collect_low", "to_collect", "to_collect_high"]].tolist() == [0, 0, 0]


@pytest.mark.source("ny-tb-st-838")
def test_new_york_taxes_furniture_and_its_transport_together(us: pd.DataFrame) -> None:
    """New York Department of Taxation and Finance, TB-ST-838.

    Official base of 3,750.00 for 3,500 and 250 of transport.

    The tax is derived: the same as on goods of 3,750.00 without transport, and 4 % for the state alone.
    """
    ends = ["to_collect_low", "to_collect", "to_collect_high"]
    assert us.loc["furniture", ends].tolist() == us.loc["furniture alone", ends].tolist()
    assert us.loc["furniture", "to_collect_low"] == 15000


@pytest.mark.source("wi-tax-11.94")
def test_wisconsin_taxes_clothing_and_its_delivery(us: pd.DataFrame) -> None:
    """Wisconsin Department of Revenue, Tax 11.94(2)(a).

    Official tax 5.50 and total 115.50 at the 5 % of the state.
    """
    assert us.loc["delivered", "to_collect_low"] == 550
    assert 10000 + 1000 + us.loc["delivered", "to_collect_low"] == 11550


@pytest.mark.source("ca-reg-1628")
def test_california_takes_no_freight_out_of_a_price_of_100(us: pd.DataFrame) -> None:
    """California CDTFA, Regulation 1628 appendix: official base of 100.

    The tax at the state's 7.25 % is derived.
    """
    assert us.loc["freight inside", "to_collect_low"] == 725
