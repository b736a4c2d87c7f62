"""Where the program does not (yet) give the answer of the paper. Each test says what the paper says."""

from __future__ import annotations

import pytest
from shop import asked, registered, seller, union_seller


@pytest.mark.source("fi-salo-2024")
def test_a_prepayment_takes_the_rate_of_its_own_day() -> None:
    """City of Salo on the Finnish rule: stated; paid 2024-08-30 at 24 %, delivered 2024-09-05.

    A web shop is paid with the order, so ordered_on is the day of the prepayment; the program takes
    supplied_on.
    """
    sale = {"to": "FI", "item_amount": "100.00", "ordered_on": "2024-08-30", "supplied_on": "2024-09-05"}
    profile = union_seller("FI", registration=registered("FI"))
    assert asked(profile, sale, currency="EUR", tax_included="no").iloc[0].to_collect == 2400


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
