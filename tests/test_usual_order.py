"""A usual order of the period: which one it is, and that its figures are those of the review."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from example import assessment
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import dropped, orders, registered, seller

from taxcalc import Assessment, assess
from taxcalc.caution import CAUTION

TEXAS = seller(registration=registered("US-TX"))


def assessed(rows: list[dict[str, str]]) -> Assessment:
    """Assess orders in the second quarter."""
    return assess(orders(rows), TEXAS, as_of=date(2026, 10, 5), period="2026-Q2")


def order(number: str, place: str, goods: str, **more: str) -> dict[str, str]:
    """Write an order of one line."""
    return {**dropped(number, place), "item_amount": goods, **more}


def usual(found: Assessment) -> dict[str, Any]:
    """Give the order that there is."""
    one = found.usual_order()
    assert one is not None
    return one


THREE = [order("A", "US-TX", "20.00"), order("B", "US-TX", "90.00"), order("C", "US-TX", "40.00")]


def test_it_is_in_the_middle_of_those_to_where_most_go() -> None:
    """Neither the dearest nor one to a place with fewer orders."""
    rows = [*THREE, order("D", "US-OH", "41.00"), order("E", "US-OH", "42.00")]
    assert usual(assessed(rows))["order_id"] == "C"


def test_what_cannot_be_drawn_whole_is_not_taken() -> None:
    """Other days, marketplaces, unknown costs, several lines, refunded or in another currency: none of them."""
    rows = [
        order("A", "US-TX", "20.00", ordered_on="2026-01-10"),
        order("B", "US-TX", "20.00", fulfiller_item_cost=""),
        order("C", "US-TX", "20.00", currency="EUR"),
        order("D", "US-TX", "20.00", channel="marketplace"),
        order("E", "US-TX", "20.00"),
        {**order("E", "US-TX", "20.00"), "entry": "refund", "ordered_on": "2026-05-20"},
    ]
    assert assessed(rows).usual_order() is None
    assert usual(assessed([*rows, order("F", "US-TX", "70.00")]))["order_id"] == "F"


def test_tax_is_what_is_due_or_was_collected_if_that_is_more() -> None:
    """What was collected on top comes in first; by hand: 40.00, collected 1.00 or 9.00 of about 3.28 due in Texas."""
    for collected, due in (("1.00", None), ("9.00", "9.00")):
        found = assessed([order("C", "US-TX", "40.00", tax_collected=collected)])
        one, (line,) = usual(found), found.lines_of(["C"]).to_dict("records")
        tax = Decimal(line["to_collect"]) / 100
        assert Decimal("2.50") <= tax <= Decimal("3.30")  # 6.25 % of 40.00, and local tax up to 8.25 % in all
        assert Decimal(one["tax"]) == (Decimal(due) if due else tax)
        assert Decimal(one["on_top"]) == Decimal(collected)
        assert one["caution"] == CAUTION


def test_the_steps_lead_from_the_price_to_what_is_left() -> None:
    """In the example: figures of the line in the review, and what is left is what the steps leave."""
    one = usual(assessment())
    (line,) = assessment().lines_of([one["order_id"]]).to_dict("records")
    amounts = {
        name: Decimal(one[name]) for name in one if name.startswith(("fulfiller", "tax", "customer", "left"))
    }
    assert amounts["tax"] * 100 == max(line["to_collect"], line["collected"])
    assert amounts["fulfiller_tax"] * 100 == line["fulfiller_tax"]
    assert amounts["left"] == amounts["customer_paid"] - amounts["tax"] - sum(
        amounts[f"fulfiller_{name}"] for name in ("goods", "shipping", "tax")
    )


@settings(max_examples=15, deadline=None)
@given(st.permutations([*THREE, order("D", "US-TX", "40.00"), order("E", "US-TX", "20.00")]))
def test_the_order_of_the_rows_does_not_matter(rows: list[dict[str, str]]) -> None:
    """Of two at the same price the first number is taken."""
    assert usual(assessed(rows))["order_id"] == "C"
