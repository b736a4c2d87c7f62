"""Sales-tax holidays on the fulfiller's side: free at the low end only, by the price that is the base.

No paper speaks of a drop shipment in a holiday, so every answer here is derived: a sale to a seller without an accepted
document is taxed like a sale to a consumer, with the item prices of us/holidays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import asked, certificate, fulfiller, registered, seller

if TYPE_CHECKING:
    import pandas as pd

ENDS = ["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]


def worn(to: str, day: str, price: str, cost: str, **more: str) -> dict[str, str]:
    """Write one order of clothing: the customer's price and what the fulfiller bills."""
    return {
        "order_id": "a",
        "to": to,
        "ordered_on": day,
        "item_amount": price,
        "fulfiller_item_cost": cost,
        "product_class": "clothing",
        **more,
    }


def ask(row: dict[str, str], profile: dict[str, object] | None = None) -> pd.Series:
    """Assess one order of a shop without any document for its fulfiller."""
    return asked(profile or seller(), row).loc["a"]


@pytest.mark.parametrize(
    ("row", "taxed"),
    [
        pytest.param(
            worn("US-MS", "2025-07-12", "150.00", "99.99"), (0, 1, 1), id="own price below 100, retail above"
        ),
        pytest.param(
            worn("US-MS", "2025-07-12", "150.00", "100.00"), (1, 1, 1), id="own price at what must be below"
        ),
        pytest.param(worn("US-MS", "2025-07-10", "150.00", "99.99"), (1, 1, 1), id="the day before"),
        pytest.param(worn("US-MS", "2025-07-13", "150.00", "99.99"), (0, 1, 1), id="its last day"),
        pytest.param(worn("US-MS", "2025-07-14", "150.00", "99.99"), (1, 1, 1), id="the day after"),
        pytest.param(
            worn("US-MS", "2025-07-12", "300.00", "199.98", quantity="2"), (0, 1, 1), id="two at 99.99"
        ),
        pytest.param(
            worn("US-MS", "2025-07-12", "150.00", "99.99", product_class="homeware"),
            (1, 1, 1),
            id="other goods",
        ),
        pytest.param(
            worn("US-MA", "2025-08-09", "2500.00", "40.00", product_class="other"),
            (0, 1, 1),
            id="retail up to 2,500",
        ),
        pytest.param(
            worn("US-MA", "2025-08-09", "2500.01", "40.00", product_class="other"),
            (1, 1, 1),
            id="retail a cent above",
        ),
        pytest.param(
            worn("US-MS", "2025-07-12", "150.00", "99.99", entry="sample"), (0, 1, 1), id="own use alike"
        ),
    ],
)
def test_the_price_that_is_the_base_is_tested(row: dict[str, str], taxed: tuple[int, int, int]) -> None:
    """Derived from us/holidays and the bases of us/resale_rules: wholesale in Mississippi, retail in Massachusetts."""
    assert [amount > 0 for amount in ask(row)[ENDS]] == [bool(end) for end in taxed]


def test_the_expected_and_the_high_end_are_those_of_any_other_day() -> None:
    """Derived: 7 percent of 99.99 in Mississippi is 7.00, in the holiday and after it; only the low end differs."""
    inside, outside = (ask(worn("US-MS", day, "150.00", "99.99")) for day in ("2025-07-12", "2025-09-12"))
    assert inside[ENDS[1:]].tolist() == outside[ENDS[1:]].tolist()
    assert (inside[ENDS[0]], outside[ENDS[0]]) == (0, 700)


def test_the_reason_and_the_row_of_the_holiday_are_named() -> None:
    """A line in a holiday names its open question and the row; one without a charge at the low end names neither."""
    row = worn("US-MS", "2025-07-12", "150.00", "99.99")
    open_ = ask(row)
    assert open_["fulfiller_reason"] == "us_fulfiller_holiday_open"
    assert "us/holidays:US-MS/clothing:2025-07-11" in open_["fulfiller_rows"]
    unknown = ask(row, seller(fulfiller=[fulfiller(collects_in="unknown")]))
    assert unknown["fulfiller_reason"] == "us_fulfiller_unknown"


def test_a_document_goes_before_the_holiday() -> None:
    """A registered seller with its own number pays nothing, so that the holiday decides nothing."""
    papers = {
        "registration": registered("US-MS", number="1"),
        "certificate": [certificate("US-MS", "state", "US-MS", number="1")],
    }
    found = ask(worn("US-MS", "2025-07-12", "150.00", "99.99"), seller(**papers))
    assert found["fulfiller_reason"] == "us_fulfiller_document"
    assert found[ENDS].tolist() == [0, 0, 0]
