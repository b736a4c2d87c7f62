"""Whose local rate counts: the buyer's, but the seller's own where a state of origin sourcing holds seller and goods."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from rate_files import add, simple
from shop import answers, fulfiller, orders, registered, seller

from taxcalc.run import assess

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc import Assessment

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]
INVENTED = "TX,78701,8.25,2020-01-01,,x"
"""A rate of one ZIP code, invented for these tests."""


def sold(own: Path | None, site: str, to: str = "US-TX 78701", **profile: Any) -> Assessment:  # noqa: ANN401 - of a profile
    """One order of 100.00, sent from a site."""
    shop = seller(
        registration=registered("US-TX", "US-KS"), fulfiller=[fulfiller(ship_from=[site])], **profile
    )
    return assess(
        orders([{"order_id": "a", "to": to, "item_amount": "100.00"}]), shop, tables=own, period="2026-Q2"
    )


def said(assessment: Assessment) -> bool:
    """Tell whether the report says that the seller's own place of business decides."""
    return any("your own place of business" in words for words in assessment.record()["assumptions"])


@pytest.mark.parametrize(
    ("region", "site", "by_buyer"),
    [
        pytest.param("US-TX", "US-TX", False, id="seller and goods inside"),
        pytest.param("US-TX", "US-IN", True, id="goods from another state"),
        pytest.param("US-OR", "US-TX", True, id="seller elsewhere, without presence"),
    ],
)
def test_origin_takes_seller_and_goods_inside_the_state(
    tmp_path: Path, region: str, site: str, *, by_buyer: bool
) -> None:
    """Texas, as `sourcing_in_state` of us/state_rates has it: the buyer's ZIP code no longer decides."""
    add(tmp_path / "own", simple(tmp_path, INVENTED))
    assessment = sold(tmp_path / "own", site, region=region)
    found = answers(assessment).loc["a"]
    state_wide = answers(sold(None, "US-IN")).loc["a", ENDS].tolist()
    assert found[ENDS].tolist() == ([825] * 3 if by_buyer else state_wide)
    assert state_wide[0] < 825 <= state_wide[2]
    assert said(assessment) is not by_buyer
    assert "us/state_rates:US-TX" in found["rows"]


def test_in_a_state_of_destination_sourcing_the_buyer_decides(tmp_path: Path) -> None:
    """Kansas: inside the state as from outside, the rate of the buyer's ZIP code."""
    add(tmp_path / "own", simple(tmp_path, "KS,67202,7.5,2020-01-01,,x"))
    inside = sold(tmp_path / "own", "US-KS", to="US-KS 67202", region="US-KS")
    assert answers(inside).loc["a", ENDS].tolist() == [750] * 3
    assert not said(inside)


@pytest.mark.parametrize("place", ["US-AA", "US-AE", "US-AP"])
def test_a_military_address_bears_no_tax_and_names_its_unconfirmed_row(place: str) -> None:
    """Common practice, no source: the row says so, and the line's basis with it."""
    line = answers(sold(None, "US-IN", to=place)).loc["a"]
    assert (line["duty"], line["reason"], line["basis"]) == ("no_tax_here", "us_military", "unconfirmed")
    assert line[ENDS].tolist() == [0, 0, 0]
    assert line["rows"].split() == [f"us/state_rates:{place}:2019-01-01"]


def test_a_state_without_sales_tax_names_its_row() -> None:
    """Oregon has none; the row that says so stands with the line."""
    line = answers(sold(None, "US-IN", to="US-OR")).loc["a"]
    assert (line["reason"], line["rows"].split()) == ("us_no_sales_tax", ["us/state_rates:US-OR:2019-01-01"])
