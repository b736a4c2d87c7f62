"""Limits by the price of an item are in dollars; a price in another currency is compared at the rate of the order day."""

from __future__ import annotations

import pytest
from shop import asked, registered, seller


@pytest.mark.parametrize(
    ("currency", "price", "free"),
    [
        pytest.param("USD", "99.99", True, id="below 100 dollars"),
        pytest.param("USD", "100.00", False, id="at 100 dollars"),
        pytest.param("CAD", "130.00", True, id="130 Canadian dollars are some 95"),
        pytest.param("CAD", "140.00", False, id="140 Canadian dollars are some 102"),
        pytest.param("EUR", "95.00", False, id="95 euros are some 110"),
        pytest.param("JPY", "14000", True, id="14 000 yen are some 95"),
    ],
)
def test_what_a_holiday_frees_is_measured_in_dollars(currency: str, price: str, *, free: bool) -> None:
    """Texas, 8 to 10 August 2025: clothing below USD 100 an item (row of us/holidays).

    Reference rates of the European Central Bank of 8 August 2025, from memory: EUR 1 = USD 1.16, CAD 1.60, JPY 172.
    """
    row = {
        "order_id": "A",
        "to": "US-TX",
        "item_amount": price,
        "currency": currency,
        "product_class": "clothing",
        "ordered_on": "2025-08-09",
    }
    line = asked(seller(registration=registered("US-TX")), row).loc["A"]
    assert (line.to_collect_high == 0) == free
    assert (line.to_collect_low == 0) == free
