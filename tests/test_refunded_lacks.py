"""A sale that was refunded lacks nothing any more, whichever quarter the refund came in."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import orders, seller

from taxcalc import assess

AS_OF = date(2026, 10, 5)
SHOP = seller(presence=[{"place": "US-KY", "kind": "stock", "from": date(2024, 1, 1)}])
SALE = {"order_id": "x", "to": "US-KY", "item_amount": "100.00", "ordered_on": "2026-02-02"}
"""Kentucky: 6 %, no local tax, so 6.00 on the sale."""


def record(*rows: dict[str, str], period: str = "2026-Q2") -> dict[str, Any]:
    """Assess some orders of a shop that is present in Kentucky."""
    return assess(orders(rows), SHOP, as_of=AS_OF, period=period).record()


def back(amount: str, day: str, tax: str = "0", **more: str) -> dict[str, str]:
    """Write a refund of the sale."""
    return {**SALE, "entry": "refund", "item_amount": amount, "ordered_on": day, "tax_collected": tax, **more}


@pytest.mark.parametrize(
    ("collected", "refunds", "lack", "over"),
    [
        pytest.param("0", [back("100.00", "2026-05-04")], "0.00", "0.00", id="all of a sale without tax"),
        pytest.param("0", [back("50.00", "2026-05-04")], "3.00", "0.00", id="half of it"),
        pytest.param(
            "0",
            [back("50.00", "2026-05-04"), back("50.00", "2026-08-04")],
            "0.00",
            "0.00",
            id="in two quarters",
        ),
        pytest.param(
            "2.00", [back("100.00", "2026-05-04", "2.00")], "0.00", "0.00", id="too little, all given back"
        ),
        pytest.param(
            "6.00", [back("100.00", "2026-05-04", "6.00")], "0.00", "0.00", id="all of a taxed sale"
        ),
        pytest.param("6.00", [back("100.00", "2026-05-04")], "0.00", "6.00", id="the tax was kept"),
        pytest.param(
            "2.00", [back("100.00", "2026-05-04")], "0.00", "2.00", id="too little, and it was kept"
        ),
    ],
)
def test_a_refund_takes_back_what_its_sale_lacks(
    collected: str, refunds: list[dict[str, str]], lack: str, over: str
) -> None:
    """Counted by hand: 6.00 due on the sale; the refund is of the second quarter, the one reviewed."""
    found = record({**SALE, "tax_collected": collected}, *refunds)
    (place,) = found["places"]
    assert place["since_duty"]["shortfall"]["expected"] == lack
    assert place["over_collected"] == over
    said = [f["amount"] for f in found["findings"] if f["id"] == "past_duty:US-KY"]
    assert said == ([] if lack == "0.00" else [lack])


def test_only_what_is_below_nothing_moves_to_the_quarter_of_the_sale() -> None:
    """What is to be collected stays where returns have it: with the sale, and less with the refund."""
    found = record(SALE, {**SALE, "order_id": "y"}, back("100.00", "2026-05-04"))
    (part,) = found["look_back"]
    shown = [
        (q["quarter"], q["to_collect"]["expected"], q["shortfall"]["expected"]) for q in part["quarters"]
    ]
    assert shown == [("2026-Q1", "12.00", "6.00"), ("2026-Q2", "-6.00", "0.00")]
    assert any("refund" in words and "lacks" in words for words in found["assumptions"])


def test_a_quarter_that_can_bear_its_refunds_bears_them_itself() -> None:
    """9.00 lacking on new sales less 6.00 of the refund; the quarter of the refunded sale keeps its 6.00."""
    new = {**SALE, "order_id": "new", "item_amount": "150.00", "ordered_on": "2026-06-01"}
    (part,) = record(SALE, new, back("100.00", "2026-05-04"))["look_back"]
    shown = [(q["to_collect"]["expected"], q["shortfall"]["expected"]) for q in part["quarters"]]
    assert shown == [("6.00", "6.00"), ("3.00", "3.00")]
    assert part["shortfall"]["expected"] == "9.00"


def test_another_sales_refund_pays_for_no_lack() -> None:
    """Tax kept on a refunded sale is too much of its own, and takes nothing from what another sale lacks."""
    taxed = {**SALE, "order_id": "taxed", "tax_collected": "6.00"}
    found = record(SALE, taxed, back("100.00", "2026-05-04", order_id="taxed"))
    assert found["places"][0]["since_duty"]["shortfall"]["expected"] == "6.00"
    assert found["places"][0]["over_collected"] == "6.00"


def test_tax_that_was_too_much_and_is_given_back_is_no_lack() -> None:
    """9.00 collected where 6.00 was due, all of it given back in the next quarter: 3.00 too much and then not."""
    found = record({**SALE, "tax_collected": "9.00"}, back("100.00", "2026-05-04", "9.00"))
    (place,) = found["places"]
    assert (place["since_duty"]["shortfall"]["expected"], place["shortfall"]["expected"]) == ("0.00", "0.00")
    assert "not_collected:US-KY" not in [finding["id"] for finding in found["findings"]]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 300_00), st.integers(0, 30_00), st.integers(0, 250)), max_size=6),
    st.integers(0, 300),
)
def test_sales_that_are_all_refunded_with_their_tax_lack_nothing(
    sold: list[tuple[int, int, int]], later: int
) -> None:
    """Whatever part of the tax was collected: once everything is given back nothing is left to collect."""
    rows = []
    for number, (cents, tax, day) in enumerate(sold):
        amounts = {
            "item_amount": f"{cents / 100:.2f}",
            "tax_collected": f"{min(tax, cents * 6 // 100) / 100:.2f}",
        }
        dates = [
            date.fromordinal(date(2025, 1, 1).toordinal() + days).isoformat() for days in (day, day + later)
        ]
        one = {**SALE, **amounts, "order_id": str(number)}
        rows += [{**one, "ordered_on": dates[0]}, {**one, "ordered_on": dates[1], "entry": "refund"}]
    found = record(*rows, SALE)
    assert found["places"][0]["since_duty"]["shortfall"]["expected"] == "6.00"
