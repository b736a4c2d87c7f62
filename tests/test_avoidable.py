"""Tax of the fulfiller that a document would have avoided, and what refunds take back of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import dropped, orders, registered, seller

from taxcalc import Assessment, assess

TEXAS = seller(registration=registered("US-TX"))
"""Registered in Texas (6.25 % and local tax), and no certificate given to the fulfiller, who collects there."""


def assessed(*rows: dict[str, str]) -> Assessment:
    """Assess orders of the second quarter and later."""
    return assess(orders(rows), TEXAS, as_of=date(2026, 10, 5), period="2026-Q2")


def refund(**changes: str) -> dict[str, str]:
    """Write the refund of the whole order."""
    return {**dropped("A", "US-TX"), "entry": "refund", "ordered_on": "2026-05-20", **changes}


def quarters(found: Assessment) -> dict[str, int]:
    """Give the avoidable tax by quarter."""
    frame = found.places
    return dict(zip(frame["quarter"], frame["fulfiller_tax_avoidable"].tolist(), strict=True))


def test_without_a_refund_the_expected_tax_is_avoidable() -> None:
    """What the other tests start from."""
    found = assessed(dropped("A", "US-TX"))
    (line,) = found.lines.to_dict("records")
    assert line["fulfiller_tax_avoidable"] == line["fulfiller_tax"] > 0
    assert quarters(found) == {"2026-Q2": line["fulfiller_tax"]}


@pytest.mark.parametrize(
    ("back", "left"),
    [
        pytest.param([refund()], {"2026-Q2": 0}, id="whole, in the same quarter"),
        pytest.param(
            [refund(fulfiller_item_cost="10.00")], {"2026-Q2": 75}, id="a quarter of the fulfiller's price"
        ),
        pytest.param(
            [refund(fulfiller_item_cost="")], {"2026-Q2": 100}, id="the fulfiller gives nothing back"
        ),
        pytest.param(
            [refund(ordered_on="2026-08-20")], {"2026-Q2": 100, "2026-Q3": 0}, id="whole, a quarter later"
        ),
        pytest.param(
            [refund(), refund(ordered_on="2026-05-21")], {"2026-Q2": 0}, id="twice: no more than there was"
        ),
    ],
)
def test_a_refund_takes_the_avoidable_tax_of_its_sale_back(
    back: list[dict[str, Any]], left: dict[str, int]
) -> None:
    """The frame of lines never shows less than nothing; places and record floor each quarter."""
    whole = assessed(dropped("A", "US-TX")).places["fulfiller_tax_avoidable"].item()
    found = assessed(dropped("A", "US-TX"), *back)
    assert (found.lines["fulfiller_tax_avoidable"] >= 0).all()
    wanted = {quarter: round(whole * share / 100) for quarter, share in left.items()}
    assert all(abs(one - wanted[quarter]) <= 1 for quarter, one in quarters(found).items())
    record = found.record()
    cents = str(quarters(found)["2026-Q2"]).rjust(3, "0")
    shown = f"{cents[:-2]}.{cents[-2:]}"
    assert record["places"][0]["fulfiller_tax_avoidable"] == shown
    assert record["totals"]["fulfiller_tax_avoidable"] == shown
    assert [row["avoidable"] for row in record["fulfiller"]] == [shown]
    assert any(f["kind"] == "avoidable" for f in record["findings"]) == (shown != "0.00")


def test_a_refund_of_a_whole_order_takes_back_only_what_was_avoidable() -> None:
    """The tax of one line could be avoided by a document of the seller's; that of an exempt buyer's line could not."""
    order = {"order_id": "A", "to": "US-TX", "ordered_on": "2026-05-04"}
    rows = [
        {**order, "line_id": "1", "item_amount": "100.00", "fulfiller_item_cost": "40.00"},
        {
            **order,
            "line_id": "2",
            "item_amount": "100.00",
            "fulfiller_item_cost": "40.00",
            "buyer_exempt": "exempt",
        },
    ]
    back = {
        **order,
        "line_id": "",
        "entry": "refund",
        "item_amount": "200.00",
        "fulfiller_item_cost": "80.00",
    }
    before, after = assessed(*rows), assessed(*rows, {**back, "ordered_on": "2026-05-09"})
    assert sorted((before.lines["fulfiller_tax_avoidable"] > 0).tolist()) == [False, True]
    assert after.places["fulfiller_tax_avoidable"].item() == 0
