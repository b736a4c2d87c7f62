"""A short way to write sellers of the small-business scheme and their orders, in addition to `shop`."""

from __future__ import annotations

from datetime import date
from typing import Any

SINCE = date(2025, 1, 1)
EXEMPT = "exempt_small_business"


def scheme(*states: str, since: date = SINCE, **more: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - values of a profile
    """Build one registration of the small-business scheme a state."""
    return [{"place": state, "scheme": "small_business", "from": since, **more} for state in states]


def sold(name: str, to: str, amount: str, on: str = "2026-03-04", **more: str) -> dict[str, str]:
    """Build an order in euros with a price that holds what tax there is, made in the state of arrival."""
    return {
        "order_id": name,
        "to": to,
        "sent_from": to.partition(" ")[0],
        "item_amount": amount,
        "currency": "EUR",
        "ordered_on": on,
        "tax_included": "yes",
        **more,
    }
