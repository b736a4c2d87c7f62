"""What files and profile leave open is said, and nothing is computed from what is not known."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import asked, fulfiller, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.errors import Refusal
from taxcalc.seller import read_seller

if TYPE_CHECKING:
    from pathlib import Path

AS_OF = date(2026, 10, 5)


@pytest.mark.parametrize(
    ("currency", "day", "used"),
    [
        pytest.param("HRK", "2022-12-30", True, id="the kuna's last published day"),
        pytest.param("HRK", "2026-05-04", False, id="years after it became the euro"),
        pytest.param("RUB", "2022-03-01", True, id="the rouble's last published day"),
        pytest.param("RUB", "2026-05-04", False, id="years after its publication was suspended"),
        pytest.param("ISK", "2015-06-01", False, id="inside the years without a published krona"),
        pytest.param("ISK", "2026-05-04", True, id="published again"),
        pytest.param("GBP", "2026-04-06", True, id="a holiday between published days"),
    ],
)
def test_a_rate_stands_in_for_days_not_for_years(currency: str, day: str, used: bool) -> None:  # noqa: FBT001
    """Days of publication: the European Central Bank's file of reference rates (the krona was out from 2008 to 2018)."""
    rows = [
        {"to": "US-WA", "item_amount": "10", "currency": currency, "ordered_on": day},
        {"to": "US-WA", "item_amount": "10"},
    ]
    found = assess(orders(rows), seller(), as_of=AS_OF)
    expected = [] if used else [[currency, "currency", "no_rate"]]
    assert found.set_aside[["value", "column", "reason"]].to_numpy().tolist() == expected


def test_the_fulfillers_currency_without_a_rate_is_named_in_its_own_column() -> None:
    """The line's own currency is not at fault."""
    rows = [
        {"to": "US-WA", "item_amount": "10", "fulfiller_item_cost": "5", "fulfiller_currency": "HRK"},
        {"to": "US-WA", "item_amount": "10"},
    ]
    found = assess(orders(rows), seller(), as_of=AS_OF).set_aside
    assert found[["value", "column"]].to_numpy().tolist() == [["HRK", "fulfiller_currency"]]


def test_rows_set_aside_by_whole_orders_show_the_cell_of_the_column_named() -> None:
    """The value of a cell, not the order number."""
    rows = [
        {"order_id": "1", "line_id": "a", "to": "US-WA", "item_amount": "10"},
        {"order_id": "1", "line_id": "a", "to": "US-WA", "item_amount": "11"},
        {"order_id": "7", "to": "US-WA", "item_amount": "5"},
        {"order_id": "9", "to": "US-WA", "item_amount": "5", "ordered_on": "2026-12-01"},
    ]
    found = assess(orders(rows), seller(), as_of=AS_OF).set_aside
    assert found[["column", "value", "reason"]].to_numpy().tolist() == [
        ["line_id", "a", "conflicting_duplicate"],
        ["line_id", "a", "conflicting_duplicate"],
        ["ordered_on", "2026-12-01", "after_as_of"],
    ]


def test_a_us_address_without_a_state_says_that_the_state_is_missing() -> None:
    """It is not a place without rules."""
    line = asked(seller(), {"order_id": "a", "to": "US", "item_amount": "5.00"}).loc["a"]
    assert (line.duty, line.reason) == ("unknown_place", "us_state_unknown")


def test_a_fulfiller_that_the_profile_does_not_name_is_named() -> None:
    """Its answers are all unknown, which the review says."""
    rows = [{"to": "US-TX", "item_amount": "1", "fulfiller": "ghost", "fulfiller_item_cost": "5"}]
    assumptions = assess(orders(rows), seller(), as_of=AS_OF).record()["assumptions"]
    assert [text for text in assumptions if "ghost" in text]


def test_the_same_file_twice_is_said(tmp_path: Path) -> None:
    """Rows without a line_id are separate lines, so the figures double."""
    text = "order_id,ordered_on,currency,ship_to_country,ship_to_region,item_amount\n1,2026-05-01,USD,US,WA,10.00\n"
    for name in ("one.csv", "two.csv"):
        (tmp_path / name).write_text(text, encoding="utf-8")
    files = [tmp_path / "one.csv", tmp_path / "two.csv"]
    alike = [t for t in assess(files, seller()).record()["assumptions"] if "one.csv, two.csv" in t]
    assert len(alike) == 1
    assert not [t for t in assess(files[:1], seller()).record()["assumptions"] if "very same" in t]


def test_a_reporting_currency_without_published_rates_is_refused() -> None:
    """The European Central Bank publishes no rate for the dinar of Bahrain."""
    with pytest.raises(Refusal, match="reporting_currency"):
        read_seller(seller(reporting_currency="BHD"))


@pytest.mark.parametrize(
    ("number", "answer"),
    [
        pytest.param("DE136695976", ("buyer_accounts", 0, 0, 1597), id="a business"),
        pytest.param("", ("collect", 1597, 1597, 1597), id="a consumer"),
    ],
)
def test_a_digital_supply_to_a_business_is_accounted_for_by_it(
    number: str, answer: tuple[str, int, int, int]
) -> None:
    """Directive 2006/112/EC art. 44 and 196; a number's form is not its validity, so the full VAT is the high end."""
    row = {
        "order_id": "a",
        "to": "DE",
        "item_amount": "100.00",
        "currency": "EUR",
        "product_class": "digital",
    }
    line = asked(seller(), {**row, "sent_from": "PL", "buyer_tax_number": number}).loc["a"]
    assert (line.duty, line.to_collect_low, line.to_collect, line.to_collect_high) == answer


def test_no_transport_is_open_where_nothing_is_transported() -> None:
    """A digital supply under the Union-wide limit is taxed at home, without a range."""
    profile = union_seller("PL", registration=registered("PL"), fulfiller=[fulfiller(ship_from=["PL"])])
    row = {
        "order_id": "a",
        "to": "DE",
        "item_amount": "123.00",
        "currency": "EUR",
        "product_class": "digital",
    }
    line = asked(profile, {**row, "sent_from": "PL"}).loc["a"]
    assert (line.to_collect_low, line.to_collect, line.to_collect_high) == (
        2300,
        2300,
        2300,
    )  # 23 % inside 123.00
