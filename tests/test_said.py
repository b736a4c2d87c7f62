"""What would otherwise pass in silence is said, with its number or its amount."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import orders, registered, seller, union_seller

from taxcalc import assess

AS_OF = date(2026, 10, 5)
WASHINGTON = {"to": "US-WA", "item_amount": "100.00", "tax_collected": "9.51", "ordered_on": "2026-08-03"}


def found(rows: list[dict[str, str]], profile: dict[str, Any], **more: Any) -> dict[str, dict[str, Any]]:  # noqa: ANN401
    """Assess some orders and give the findings by id."""
    record = assess(orders(rows), profile, as_of=AS_OF, **more).record()
    return {finding["id"]: finding for finding in record["findings"]}


def paid(place: str, amount: str) -> dict[str, Any]:
    """Write one [[remitted]]."""
    return {"place": place, "from": date(2026, 7, 1), "until": date(2026, 9, 30), "amount": amount}


@pytest.mark.parametrize(
    ("place", "amount"),
    [
        pytest.param("US-WA", None, id="sales under a registration"),
        pytest.param("US-TX", "150.00", id="no orders at all"),
        pytest.param("US-CO", "150.00", id="orders without a duty"),
        pytest.param("EU", "150.00", id="one-stop shop without a sale into the Union"),
    ],
)
def test_a_payment_that_meets_no_sale_is_said_with_its_amount(place: str, amount: str | None) -> None:
    """Two payments for one place are added up; the days of the period do not matter."""
    profile = seller(registration=registered("US-WA"), remitted=[paid(place, "120.00"), paid(place, "30.00")])
    kinds = found([WASHINGTON, {**WASHINGTON, "to": "US-CO"}], profile)
    said = kinds.get(f"payment_unmatched:{place}")
    assert (said and said["amount"]) == amount


def test_a_payment_through_the_one_stop_shop_meets_sales_into_any_member_state() -> None:
    """It is not given by state."""
    row = {"to": "FR", "item_amount": "100.00", "currency": "EUR", "ordered_on": "2026-08-03"}
    chosen = [{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]
    profile = union_seller("DE", remitted=[paid("EU", "30.00")], election=chosen)
    assert "payment_unmatched:EU" not in found([row], profile)
