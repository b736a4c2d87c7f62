"""Where the program does not (yet) give the answer of the paper. Each test says what the paper says."""

from __future__ import annotations

import pytest
from shop import asked, registered, seller


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
