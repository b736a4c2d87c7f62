"""The price that keeps a margin: it does, and a cent less does not."""

from __future__ import annotations

from typing import Any

from check_place import checked
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import fulfiller, registered, seller, union_seller

SELLERS: dict[str, tuple[str, dict[str, Any]]] = {
    "price with VAT inside": ("DE", union_seller("DE", registration=registered("DE"))),
    "VAT inside and the fulfiller's VAT": ("FR", seller(fulfiller=[fulfiller(ship_from=["SK"])])),
    "fulfiller taxed on the retail price": ("US-MA", seller()),
    "tax on top": ("US-TX", seller(registration=registered("US-TX"))),
}


def left(found: dict[str, Any]) -> tuple[int, int]:
    """Give what is left and what is charged, in cents."""
    cents = {name: round(float(found[name]) * 100) for name in ("goods", "shipping")}
    return round(float(found["left"]["expected"]) * 100), cents["goods"] + cents["shipping"]


@settings(max_examples=16, deadline=None)
@given(
    who=st.sampled_from(sorted(SELLERS)),
    wanted=st.integers(0, 600),
    cost=st.integers(1, 60_00),
    shipping=st.integers(0, 9_00),
)
def test_the_price_keeps_the_margin_and_a_cent_less_does_not(
    who: str, wanted: int, cost: int, shipping: int
) -> None:
    """Exact inverse: run forward at the price found, and at the price one cent below."""
    place, profile = SELLERS[who]
    order = {
        "cost": f"{cost // 100}.{cost % 100:02}",
        "shipping": f"{shipping // 100}.{shipping % 100:02}",
        "kind": "homeware",
    }
    found = checked(place, profile, keep_margin=wanted, item="20.00", **order)["compared"][0]["keep_margin"]
    price = round(float(found["price"]) * 100)

    def keeps(item: int) -> bool:
        now = checked(place, profile, item=f"{item // 100}.{item % 100:02}", **order)["compared"][0]["now"]
        rest, charged = left(now)
        return rest * 1000 >= wanted * charged

    assert keeps(price)
    assert price == 0 or not keeps(price - 1)
    assert found["proof"]["goods"] == found["price"]


def test_by_hand() -> None:
    """Germany, 19 % inside: 40 % of p is left when p/1.19 - 20 = 0.4 p, so p = 20/(1/1.19 - 0.4) = 45.42, rounded up."""
    profile = union_seller(
        "DE", registration=registered("DE"), fulfiller=[fulfiller(ship_from=["US-IN"], importer="seller")]
    )
    found = checked("DE", profile, keep_margin=400, cost="20.00", currency="EUR")["compared"][0][
        "keep_margin"
    ]
    assert found["price"] == "45.42"


def test_the_lowest_price_is_found_below_a_limit_per_item_too() -> None:
    """New York frees clothing under 110 dollars: with the tax inside, a price just under it may keep what 110 does not."""
    order: dict[str, Any] = {
        "cost": "90.00",
        "transport": "4.00",
        "shipping": "5.00",
        "kind": "clothing",
        "item": "30.00",
    }
    order["tax_included"] = True
    profile = seller(registration=registered("US-NY"))
    found = checked("US-NY", profile, keep_margin=100, **order)["compared"][0]["keep_margin"]
    assert float(found["price"]) < 110
    assert left(found["proof"])[0] * 1000 >= 100 * left(found["proof"])[1]
    dearer = checked("US-NY", profile, **{**order, "item": "110.00"})["compared"][0]["now"]
    assert left(dearer)[0] * 1000 < 100 * left(dearer)[1]


def test_a_margin_that_no_price_keeps_is_said() -> None:
    """With 20 % inside at most five sixths are left; no order so large that it could not be one is tried."""
    profile = seller(fulfiller=[fulfiller(ship_from=["SK"])])
    assert checked("FR", profile, keep_margin=900)["compared"][0]["keep_margin"]["price"] is None
