"""A check of a destination is an assessment of made-up orders: a review of the same orders gives the same figures."""

from __future__ import annotations

from datetime import date
from typing import Any

from check_place import ON, checked, tables
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import asked, certificate, fulfiller, registered, seller, union_seller

from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.destination.find import members
from taxcalc.money import write_amount

STATES, UNION = members("US", tables()), members("EU", tables())
SELLERS: dict[str, dict[str, Any]] = {
    "Oregon": seller(),
    "Oregon, unknown fulfiller": seller(fulfiller=[fulfiller(collects_in="unknown")]),
    "Texas with a number": seller(
        region="US-TX",
        registration=registered("US-TX"),
        certificate=[certificate("US", "multijurisdiction", "US-TX")],
    ),
    "goods from Slovakia": seller(fulfiller=[fulfiller(ship_from=["SK", "US-IN"])]),
    "Germany": union_seller("DE", registration=registered("DE")),
    "Germany, goods from Poland": union_seller("DE", fulfiller=[fulfiller(ship_from=["PL"])]),
    "Ireland with the import scheme": union_seller(
        "IE",
        registration=[{"place": "EU", "scheme": "ioss", "identified_in": "IE", "from": date(2021, 7, 1)}],
        fulfiller=[fulfiller(ship_from=["US-IN"])],
    ),
}
PLACES = st.sampled_from([place for place in STATES + UNION if "-" not in place or place.startswith("US-")])
ENDS = ("low", "expected", "high")


def in_review(
    place: str, profile: dict[str, Any], kind: str, item: str, shipping: str
) -> dict[str, list[str]]:
    """Give both taxes of the same order in a review."""
    row = {
        "to": place,
        "item_amount": item,
        "shipping_amount": shipping,
        "product_class": kind,
        "fulfiller_item_cost": "12.00",
        "fulfiller_shipping_cost": "4.00",
        "ordered_on": ON.isoformat(),
    }
    line = asked(profile, row).iloc[0]
    found = {}
    for name in ("to_collect", "fulfiller_tax"):
        ends = [int(line[name + suffix]) for suffix in ("_low", "", "_high")]
        found[name] = [write_amount(amount, "USD") for amount in (min(ends), ends[1], max(ends))]
    return found


@settings(max_examples=36, deadline=None)
@given(
    place=PLACES,
    kind=st.sampled_from(PRODUCT_CLASSES),
    item=st.integers(0, 300_00),
    shipping=st.integers(0, 20_00),
    who=st.sampled_from(sorted(SELLERS)),
)
def test_the_figures_are_those_of_a_review(place: str, kind: str, item: int, shipping: int, who: str) -> None:
    """Over places, goods, prices and profiles, today and once a duty holds."""
    amounts = [write_amount(amount, "USD") for amount in (item, shipping)]
    profile = SELLERS[who]
    row = checked(
        place, profile, kind=kind, item=amounts[0], shipping=amounts[1], cost="12.00", transport="4.00"
    )["compared"][0]
    now = row["now"]
    review = in_review(place, profile, kind, *amounts)
    assert [now["tax"][end] for end in ENDS] == review["to_collect"]
    assert [now["fulfiller_tax"][end] for end in ENDS] == review["fulfiller_tax"]
    if row["once_bound"] and place.startswith("US-"):
        bound = {**profile, "registration": [*profile.get("registration", []), *registered(place)]}
        review = in_review(place, bound, kind, *amounts)
        assert [row["once_bound"]["tax"][end] for end in ENDS] == review["to_collect"]
        assert [row["once_bound"]["fulfiller_tax"][end] for end in ENDS] == review["fulfiller_tax"]


def test_many_places_at_once_are_answered_like_each_alone() -> None:
    """Orders that are only made up never count for each other's limits."""
    profile = SELLERS["Germany"]
    together = checked(UNION, profile, item="600.00", currency="EUR")["compared"]
    alone = [checked(place, profile, item="600.00", currency="EUR")["compared"][0] for place in UNION]
    assert sum(float(row["now"]["goods"]) for row in together) > 10_000
    assert together == alone


@settings(max_examples=40, deadline=None)
@given(place=PLACES, item=st.integers(1, 300_00), who=st.sampled_from(sorted(SELLERS)))
def test_the_steps_of_an_order_add_up(place: str, item: int, who: str) -> None:
    """What is left is the price without the tax inside it, less what the fulfiller takes, at all three ends."""
    row = checked(place, SELLERS[who], item=write_amount(item, "USD"), shipping="3.50", transport="2.25")[
        "compared"
    ][0]
    for one in (row["now"], row["once_bound"] or row["now"]):
        cents = {
            name: round(float(one[name]) * 100)
            for name in ("goods", "shipping", "fulfiller_goods", "fulfiller_shipping")
        }
        kept = cents["goods"] + cents["shipping"] - cents["fulfiller_goods"] - cents["fulfiller_shipping"]
        for end, other in (("low", "high"), ("expected", "expected"), ("high", "low")):
            inside = round(float(one["tax"][other]) * 100) if one["tax_included"] else 0
            theirs = round(float(one["fulfiller_tax"][other]) * 100)
            assert round(float(one["left"][end]) * 100) == kept - inside - theirs
            on_top = 0 if one["tax_included"] else round(float(one["tax"][end]) * 100)
            assert (
                round(float(one["customer_pays"][end]) * 100) == cents["goods"] + cents["shipping"] + on_top
            )
