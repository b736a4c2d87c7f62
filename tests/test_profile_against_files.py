"""What the profile says and the files, or another part of it, do not bear out: said, with no figure changed."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import orders, registered, seller

from taxcalc import assess

AS_OF = date(2026, 10, 5)
RECENT = date(2026, 1, 1)


def record(rows: list[dict[str, str]], **profile: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Assess some orders and give the record."""
    return assess(orders(rows), seller(**profile), as_of=AS_OF).record()


def before(place: str, until: date) -> dict[str, Any]:
    """Write one [[prior_sales]]."""
    return {"place": place, "from": RECENT, "until": until, "amount": "60000.00"}


@pytest.mark.parametrize(
    ("place", "until", "said"),
    [
        pytest.param("US-OH", date(2026, 5, 3), False, id="ends the day before the first order"),
        pytest.param("US-OH", date(2026, 5, 4), True, id="ends on the day of the first order"),
        pytest.param("US-GA", date(2026, 8, 1), False, id="the files have no order of that state"),
    ],
)
def test_sales_before_the_files_that_reach_into_them_are_said(place: str, until: date, *, said: bool) -> None:
    """What lies in both counts twice for the threshold."""
    found = record([{"to": "US-OH", "item_amount": "60000.00"}], prior_sales=[before(place, until)])
    assert (f"prior_sales_overlap:{place}" in [finding["id"] for finding in found["findings"]]) == said


def elected(place: str) -> list[dict[str, Any]]:
    """Write the choice of a state's flat rate."""
    return [{"name": "flat_rate", "place": place, "from": RECENT}]


@pytest.mark.parametrize(
    ("profile", "registration", "presence"),
    [
        pytest.param({"registration": registered("US-TX")}, False, False, id="registered, not present"),
        pytest.param({}, True, False, id="not registered"),
        pytest.param(
            {"registration": registered("US-TX", until=date(2025, 12, 31))},
            True,
            False,
            id="no longer registered",
        ),
        pytest.param(
            {"registration": registered("US-TX"), "region": "US-TX"}, False, True, id="at home there"
        ),
        pytest.param(
            {
                "registration": registered("US-TX"),
                "presence": [{"place": "US-TX", "kind": "stock", "from": RECENT, "until": date(2026, 2, 1)}],
            },
            False,
            True,
            id="stock there for a month of it",
        ),
    ],
)
def test_a_flat_rate_that_does_not_fit_the_rest_of_the_profile_is_said(
    profile: dict[str, Any], *, registration: bool, presence: bool
) -> None:
    """It is for sellers from outside the state, and enrolling for it registers (Texas and Alabama: `us/flat_rates`)."""
    words = record([{"to": "US-TX", "item_amount": "100.00"}], election=elected("US-TX"), **profile)[
        "assumptions"
    ]
    assert any("flat rate" in each and "no [[registration]]" in each for each in words) == registration
    assert any("flat rate" in each and "presence" in each for each in words) == presence
