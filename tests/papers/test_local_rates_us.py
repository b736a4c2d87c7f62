"""Local rates that a law fixes, and who collects the taxes of localities: rows of tables, and ranges where they end."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from shop import asked, orders, registered, seller

from taxcalc import assess

if TYPE_CHECKING:
    from pathlib import Path

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]
CHARGED = ["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]
TENNESSEE = {"to": "US-TN", "item_amount": "100.00", "product_class": "digital"}


def test_digital_goods_bear_one_local_rate_in_all_of_tennessee() -> None:
    """From memory: state 7 percent and 2.5 percent local in every county; other goods keep the range of the counties."""
    shop = seller(registration=registered("US-TN"))
    rows = [
        {**TENNESSEE, "order_id": "digital", "fulfiller_item_cost": "40.00"},
        {**TENNESSEE, "order_id": "mug", "product_class": "homeware"},
    ]
    found = asked(shop, *rows)
    assert found.loc["digital", ENDS].tolist() == [950, 950, 950]
    assert found.loc["digital", CHARGED].tolist() == [380, 380, 380]
    assert found.loc["mug", ENDS[0]] == 700 < found.loc["mug", ENDS[2]]
    assert "us/class_local_rates:US-TN/digital" in found.loc["digital", "rows"]
    assert "us/local_rates" not in found.loc["digital", "rows"]
    assert "us/class_local_rates" not in found.loc["mug", "rows"]


def test_the_uniform_rate_of_out_of_state_dealers_went_before_it() -> None:
    """From memory: until 2019-09-30 a dealer could choose 2.25 percent in place of every local rate."""
    chosen = [{"name": "flat_rate", "place": "US-TN", "from": date(2019, 1, 1)}]
    shop = seller(registration=registered("US-TN"), election=chosen)
    rows = [{**TENNESSEE, "order_id": day, "ordered_on": day} for day in ("2019-09-30", "2019-10-01")]
    assert asked(shop, *rows)["to_collect"].tolist() == [925, 950]


def test_a_class_rate_of_ones_own_that_ends_gives_the_range_back(tmp_path: Path) -> None:
    """Both sides of a day: an own row ends the fixed rate on 2026-05-04."""
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "class_local_rates.csv").write_text(
        "place,product_class,local_percent,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
        "US-TN,digital,,2026-05-04,yes,memory,unconfirmed,,2026-01-01,invented for this test\n",
        encoding="utf-8",
    )
    rows = [{**TENNESSEE, "order_id": day, "ordered_on": day} for day in ("2026-05-03", "2026-05-04")]
    found = asked(seller(registration=registered("US-TN")), *rows, tables=tmp_path)
    assert (found[ENDS[0]] == found[ENDS[2]]).tolist() == [True, False]


@pytest.mark.source("id-code-63-3611")
def test_idaho_remote_sellers_charge_no_local_tax_but_a_fulfiller_may() -> None:
    """Idaho Code 63-3611(3)(h): stated for remote sellers; 6 percent, from memory. Derived.

    A fulfiller with a place in Idaho may owe local tax of up to 3 percent (us/local_rates), so its range goes to 9 percent.
    """
    row = {"order_id": "a", "to": "US-ID", "item_amount": "100.00", "fulfiller_item_cost": "40.00"}
    found = asked(seller(registration=registered("US-ID")), row).loc["a"]
    assert found[ENDS].tolist() == [600, 600, 600]
    assert [found[CHARGED[0]], found[CHARGED[2]]] == [240, 360]


@pytest.mark.source("va-23vac10-210-6000")
def test_virginia_taxes_handling_that_the_fulfiller_bills_with_its_shipping() -> None:
    """23VAC10-210-6000: derived; 40.00 and 10.00 of shipping at 5.3 percent at least: handling at the high end only.

    Shipping of the fulfiller adds nothing at the low end and as expected, since it is taken as transport at cost.
    """
    row = {"to": "US-VA", "item_amount": "100.00", "fulfiller_item_cost": "40.00"}
    found = asked(
        seller(),
        {**row, "order_id": "sent", "fulfiller_shipping_cost": "10.00"},
        {**row, "order_id": "goods"},
        {**row, "order_id": "more", "fulfiller_item_cost": "50.00"},
    )[CHARGED]
    assert found.loc["sent"].tolist()[:2] == found.loc["goods"].tolist()[:2]
    assert found.loc["sent", CHARGED[0]] == 212
    assert found.loc["sent", CHARGED[2]] == found.loc["more", CHARGED[2]] > found.loc["goods", CHARGED[2]]


def said(*states: str, **more: Any) -> list[str]:  # noqa: ANN401 - values of a profile
    """Give the assumptions of a quarter with one sale into each state that speak of who collects local taxes."""
    rows = [{"to": state, "item_amount": "10.00", "ordered_on": "2026-08-05"} for state in states]
    shop = seller(**{"registration": registered(*states), **more})
    found = assess(orders(rows), shop, period="2026-Q3").record()["assumptions"]
    marks = ("own administration", "outside the state's administration", "to one body", "has no state tax")
    return [words for words in found if any(mark in words for mark in marks)]


@pytest.mark.source("co-dor-marketplace-sellers", "la-rs-47-340.1", "ak-arsstc-code")
@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("US-CO", "outside the state's administration"),
        ("US-LA", "Louisiana Sales and Use Tax Commission for Remote Sellers"),
        ("US-AK", "Alaska Remote Seller Sales Tax Commission"),
        ("US-AL", "outside the state's administration"),
    ],
)
def test_localities_that_a_registration_does_not_reach_are_named(state: str, words: str) -> None:
    """Colorado's home-rule cities, Louisiana's commission, Alaska's members: stated; Alabama from memory."""
    (sentence,) = said(state)
    assert state in sentence
    assert words in sentence


def test_nothing_is_said_where_the_state_collects_for_all_or_no_tax_is_collected() -> None:
    """Arizona collects for its cities (memory); Texas has no row; without a duty in Colorado nothing is collected there."""
    assert said("US-AZ", "US-TX") == []
    assert said("US-CO", registration=[]) == []


def test_a_flat_rate_stands_for_all_localities() -> None:
    """Alabama's flat 8 percent is paid to the state, whatever the town (al-dor-ssut): nothing more is said."""
    chosen = [{"name": "flat_rate", "place": "US-AL", "from": date(2024, 1, 1)}]
    assert said("US-AL", election=chosen) == []


def test_low_leaves_out_localities_outside_the_states_administration() -> None:
    """From rows of us/local_rates: in Colorado and Alaska the low end holds no local tax, the high end the highest."""
    rows = [{"order_id": state, "to": state, "item_amount": "100.00"} for state in ("US-AK", "US-CO")]
    found = asked(seller(registration=registered("US-AK", "US-CO")), *rows)[ENDS]
    assert found.loc["US-AK"].tolist() == [0, 182, 785]
    assert found.loc["US-CO"].tolist() == [290, 789, 1200]
