"""Where the program does not (yet) give the answer of the paper. Each test says what the paper says."""

from __future__ import annotations

from datetime import date

import pytest
from shop import asked, dropped, registered, seller


@pytest.mark.source("ca-cdtfa-pub-100")
@pytest.mark.parametrize("cost_on", ["goods", "shipping"])
def test_californian_postage_is_known_on_whichever_line_it_stands(cost_on: str) -> None:
    """California CDTFA, Publication 100: derived; 9.00 charged for 6.50 of postage leave 2.50 taxable.

    An export with shipping on a line of its own has the fulfiller's cost on the line of the goods. The cost belongs to
    the parcel: the low end is 102.50 x 7.25 % = 7.43 either way (not 7.25, as if nothing of the charge were taxable).
    """
    rows = [
        {"order_id": "A", "line_id": "goods", "to": "US-CA", "item_amount": "100.00"},
        {
            "order_id": "A",
            "line_id": "shipping",
            "to": "US-CA",
            "item_amount": "0.00",
            "shipping_amount": "9.00",
        },
    ]
    rows[cost_on == "shipping"]["fulfiller_shipping_cost"] = "6.50"
    found = asked(seller(registration=registered("US-CA"), rounding="order"), *rows)
    assert [found.to_collect_low.sum(), found.to_collect_high.sum()] == [743, 1281]


@pytest.mark.xfail(strict=True, reason="a presence that the profile names counts in every state")
@pytest.mark.source("ny-tsb-a-24-45-s")
def test_new_york_stock_at_an_outside_fulfiller_is_no_presence() -> None:
    """New York, TSB-A-24(45)S: stated officially, for its facts only; neither stock nor service makes a vendor."""
    stock = [{"place": "US-NY", "kind": "stock", "from": date(2026, 1, 1)}]
    assert asked(seller(presence=stock), dropped("NY", "US-NY")).loc["NY", "duty"] == "below_threshold"


@pytest.mark.xfail(
    strict=True, reason="the sale that meets a line is never bound by it, not even by a line of nothing"
)
@pytest.mark.source("ks-dor-notice-19-04")
def test_kansas_asked_for_the_very_first_sale_too() -> None:
    """Kansas DOR, Notice 19-04 (2019-10-01 to 2021-06-30): stated; a remote seller collects on every sale."""
    first = dropped("first", "US-KS", ordered_on="2019-10-02")
    assert asked(seller(), first).loc["first", "duty"] == "collect"
