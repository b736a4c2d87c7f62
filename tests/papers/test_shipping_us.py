"""Shipping: exempt by carrier and exempt if avoidable are two rules; actual cost; exempt orders; delivery on its own line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import asked, orders, registered, seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]
STATES = (
    "AL",
    "CA",
    "ME",
    "CO",
    "FL",
    "IL",
    "VA",
    "RI",
    "TX",
    "GA",
    "MS",
    "NJ",
    "MN",
    "PA",
    "NM",
    "ID",
    "OK",
)


def ask(*rows: dict[str, str], pickup: bool = False) -> pd.DataFrame:
    """Assess orders of a shop registered in every state of these tests."""
    places = registered(*(f"US-{state}" for state in STATES))
    return asked(seller(registration=places, pickup_offered=pickup), *rows)


def shipping_taxed(row: dict[str, str], *, pickup: bool = False) -> list[bool]:
    """Tell at which end the shipping charge of 10.00 bears tax."""
    plain = {"item_amount": "100.00", **row}
    both = ask(
        {**plain, "order_id": "without"},
        {**plain, "order_id": "with", "shipping_amount": "10.00"},
        pickup=pickup,
    )
    return (both.loc["with", ENDS] > both.loc["without", ENDS]).tolist()


@pytest.mark.source("al-810-6-1-.178", "me-mrs-faq-13")
@pytest.mark.parametrize("pickup", [False, True])
@pytest.mark.parametrize("state", ["US-AL", "US-ME"])
def test_a_parcel_by_carrier_is_free_whatever_the_customer_could_choose(state: str, *, pickup: bool) -> None:
    """Alabama rule 810-6-1-.178, Maine FAQ 13: common carrier or mail, straight to the buyer, a line of its own."""
    assert shipping_taxed({"to": state}, pickup=pickup) == [False] * 3


@pytest.mark.source("co-gil-12-007", "fl-12a-1.045", "il-86iac-130.415")
@pytest.mark.parametrize("state", ["US-CO", "US-FL", "US-IL"])
def test_a_charge_that_nobody_can_avoid_is_taxed(state: str) -> None:
    """Colorado GIL 12-007, Florida 12A-1.045 (its mail-order example), Illinois 130.415: free only with a way around it."""
    assert shipping_taxed({"to": state}) == [True] * 3
    assert shipping_taxed({"to": state}, pickup=True) == [False] * 3


@pytest.mark.source("ca-cdtfa-pub-100", "va-23vac10-210-6000", "ok-710-65-19-70")
@pytest.mark.parametrize("state", ["US-CA", "US-VA", "US-OK"])
def test_no_more_than_the_actual_cost_is_free(state: str) -> None:
    """Publication 100; 23VAC10-210-6000 on drop shipments; OAC 710:65-19-70. A blank cost leaves it open."""
    cost = "fulfiller_shipping_cost"
    assert shipping_taxed({"to": state, cost: "10.00"}) == [False] * 3
    assert shipping_taxed({"to": state, cost: "6.50"}) == [True] * 3
    assert shipping_taxed({"to": state}) == [False, True, True]


@pytest.mark.parametrize("state", ["US-PA", "US-NJ", "US-MN"])
def test_shipping_of_an_exempt_order_is_free(state: str) -> None:
    """Pennsylvania 54.1, New Jersey 18:24-27.2, Minnesota fact sheet 155: clothing alone in the box."""
    assert shipping_taxed({"to": state, "product_class": "clothing"}) == [False] * 3


@pytest.mark.parametrize("state", ["US-TX", "US-GA", "US-MS", "US-NM"])
def test_shipping_of_taxed_goods_is_taxed_where_it_is_part_of_the_price(state: str) -> None:
    """Texas 3.303, Georgia 560-12-2-.45; Mississippi and New Mexico from memory."""
    assert shipping_taxed({"to": state}) == [True] * 3


def rhode_island(*items: tuple[str, str, str]) -> int:
    """Give the expected tax of one order to Rhode Island: lines of (class, goods, shipping)."""
    rows = [
        {
            "order_id": "a",
            "line_id": str(n),
            "to": "US-RI",
            "product_class": kind,
            "item_amount": goods,
            "shipping_amount": sent,
        }
        for n, (kind, goods, sent) in enumerate(items, start=1)
    ]
    return int(ask(*rows)["to_collect"].sum())


@pytest.mark.source("ri-280-ricr-20-70-6")
def test_delivery_on_a_line_of_its_own_enters_the_price_in_rhode_island() -> None:
    """Example 3 of 280-RICR-20-70-6.6: 285 with alteration, delivery 20: tax 3.85, wherever the delivery stands."""
    assert rhode_island(("clothing", "285.00", "20.00")) == 385
    assert rhode_island(("clothing", "285.00", "0.00"), ("other", "0.00", "20.00")) == 385


def test_delivery_on_a_line_of_its_own_is_shared_by_price_in_rhode_island() -> None:
    """Derived: 10 for a shirt of 100 and a mug of 25; the mug's share of 2 is taxed at 7 percent with it, the shirt's is not."""
    alone = rhode_island(
        ("clothing", "100.00", "0.00"), ("homeware", "25.00", "0.00"), ("other", "0.00", "10.00")
    )
    assert alone == round(2700 * 7 / 100)


def test_what_a_charge_for_handling_would_change_is_said() -> None:
    """Maine taxes a combined charge: the assumption names it, and not Texas, where transport is taxed anyway."""
    profile = seller(registration=registered("US-ME", "US-TX"))
    rows = [{"to": to, "item_amount": "10.00", "ordered_on": "2026-08-05"} for to in ("US-ME", "US-TX")]
    words = [
        w for w in assess(orders(rows), profile, period="2026-Q3").record()["assumptions"] if "handling" in w
    ]
    assert len(words) == 1
    assert "US-ME" in words[0]
    assert "US-TX" not in words[0]
