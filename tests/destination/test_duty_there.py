"""Must the seller register: now, later or never; what triggers it; when at so many orders a month; what moves."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from check_place import checked
from shop import fulfiller, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.destination.question import WhatIf

if TYPE_CHECKING:
    from pathlib import Path


def register(place: str, profile: dict[str, Any], **asked: Any) -> dict[str, Any]:  # noqa: ANN401 - as in `checked`
    """Give the part about registering."""
    found: dict[str, Any] = checked(place, profile, **asked)["place"]["register"]
    return found


@pytest.mark.parametrize(
    ("place", "profile", "answer", "kind"),
    [
        ("US-TX", seller(), "later", None),
        ("US-TX", seller(registration=registered("US-TX")), "registered", "local"),
        (
            "US-TX",
            seller(presence=[{"place": "US-TX", "kind": "staff", "from": date(2024, 1, 1)}]),
            "now",
            "local",
        ),
        ("US-OR", seller(), "not_needed", None),
        ("FR", seller(), "choice", "ioss"),
        ("SK", seller(fulfiller=[fulfiller(ship_from=["SK"])]), "now", "local"),
        ("FR", seller(fulfiller=[fulfiller(ship_from=["SK"])]), "now", "union_oss"),
        ("FR", union_seller("DE"), "later", "home"),
        ("NO", seller(), "unknown", None),
    ],
)
def test_now_later_or_never(place: str, profile: dict[str, Any], answer: str, kind: str | None) -> None:
    """One answer for each situation."""
    found = register(place, profile)
    assert (found["answer"], found["registration"]) == (answer, kind)


def test_a_state_names_its_limit_window_start_and_end() -> None:
    """In the words of the tables, with the row that says so."""
    amount, number = register("US-NJ", seller())["triggers"]
    assert (amount["limit"], amount["met_when"], number["limit"], number["connector"]) == (
        "100000.00",
        "over",
        200,
        "either",
    )
    assert amount["window"].startswith("The calendar year")
    assert amount["binds_from"]
    assert amount["row"].startswith("us/thresholds:US-NJ:")


def test_the_union_limit_is_named_where_it_helps() -> None:
    """EUR 10 000 over this year and the one before."""
    (found,) = register("FR", union_seller("DE"))["triggers"]
    assert (found["place"], found["limit"], found["currency"]) == ("EU", "10000.00", "EUR")
    assert register("FR", union_seller("DE", fulfiller=[fulfiller(ship_from=["PL"])]))["triggers"] == []


def test_the_forecast_is_the_day_of_the_very_order() -> None:
    """Georgia binds from the next order after more than 200 (or $100,000) in a year: at 100 a month in the third month."""
    found = register("US-GA", seller(), monthly=100, on=date(2026, 1, 1), item="20.00")["forecast"]
    rows = [{"to": "US-GA", "item_amount": "20.00", "ordered_on": f"2026-03-{day:02}"} for day in range(1, 3)]
    assert found["duty_from"][:7] == "2026-03"
    assert assess(orders(rows), seller()).thresholds.set_index("measure").loc["transactions", "limit"] == 200
    assert register("US-GA", seller(), monthly=1, item="20.00")["forecast"]["duty_from"] is None


def test_what_if_shows_before_and_after() -> None:
    """Registered, with a document, at another price, shipping built in: each changes what it should and nothing else."""
    asked = {"item": "30.00", "shipping": "5.00", "cost": "12.00", "kind": "homeware"}
    found = checked("US-NY", seller(), what_if=WhatIf(registered=True), **asked)["compared"][0]["what_if"]
    assert (found["before"]["duty"], found["after"]["duty"]) == ("below_threshold", "collect")
    found = checked(
        "US-WA",
        seller(region="US-TX", registration=registered("US-TX")),
        what_if=WhatIf(certificate="streamlined"),
        **asked,
    )
    change = found["compared"][0]["what_if"]
    assert change["before"]["fulfiller_tax"]["expected"] != "0.00"
    assert change["after"]["fulfiller_tax"]["expected"] == "0.00"
    found = checked(
        "FR",
        union_seller("FR"),
        what_if=WhatIf(item_amount=4000, free_shipping=True),
        currency="EUR",
        **asked,
    )
    after = found["compared"][0]["what_if"]["after"]
    assert (after["goods"], after["shipping"]) == ("45.00", "0.00")


def test_history_says_what_is_owed_already_and_what_would_move(tmp_path: Path) -> None:
    """A crossed limit of last year comes first; a limit that grows by the new orders is shown before and after."""
    rows = [
        {"order_id": f"old {number}", "to": "US-GA", "item_amount": "20.00", "ordered_on": "2025-11-03"}
        for number in range(201)
    ]
    rows += [{"order_id": "after", "to": "US-GA", "item_amount": "20.00", "ordered_on": "2026-02-03"}]
    file = tmp_path / "orders.csv"
    orders(rows).to_csv(file, index=False)
    found = checked("US-GA", seller(), history=(file,), monthly=10, item="20.00")["place"]
    assert {each["kind"] for each in found["already"]} >= {"past_duty"}
    assert found["register"]["answer"] == "now"
    found = checked("US-NC", seller(), history=(file,), monthly=10, item="20.00")["place"]["effect"]
    assert {(each["place"], each["measure"]) for each in found["limits"]} == {("US-NC", "amount")}
    (limit,) = found["limits"]
    assert (limit["before"], limit["after"]) == ("0.00", "600.00")


def test_a_duty_that_is_over_makes_no_new_one(tmp_path: Path) -> None:
    """Georgia's limit met in 2022 bound to the end of 2023: two orders a month in 2026 meet none."""
    rows = [
        {"order_id": f"old {number}", "to": "US-GA", "item_amount": "20.00", "ordered_on": "2022-11-03"}
        for number in range(202)
    ]
    file = tmp_path / "orders.csv"
    orders(rows).to_csv(file, index=False)
    found = register("US-GA", seller(), history=(file,), monthly=2, item="20.00")
    assert found["answer"] == "later"
    assert found["forecast"]["duty_from"] is None


@pytest.mark.parametrize(
    ("place", "reason", "ends"),
    [
        pytest.param("IE", "eu_home", ["18.70"] * 3, id="at home"),
        pytest.param("FR", "eu_under_limit", ["16.67", "18.70", "18.70"], id="abroad, the transport open"),
    ],
)
def test_once_an_exempt_seller_has_to_collect_it_is_registered_at_home(
    place: str, reason: str, ends: list[str]
) -> None:
    """Ireland 23 % and France 20 % inside 100.00: no exemption is left to hope for, and none is missing in the profile."""
    exempt = union_seller("IE", registration=registered("IE", scheme="small_business"))
    (compared,) = checked(place, exempt, currency="EUR")["compared"]
    once = compared["once_bound"]
    assert compared["now"]["duty"] == "exempt_small_business"
    assert once["reason"] == reason
    assert [once["tax"][end] for end in ("low", "expected", "high")] == ends
