"""Rules that are easy to get wrong, each with the smallest history that shows it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import (
    answers,
    asked,
    certificate,
    fulfiller,
    net_sale,
    orders,
    registered,
    seller,
    spread,
    union_seller,
)

from taxcalc import assess
from taxcalc.duties import Position
from taxcalc.tables.load import load_tables
from taxcalc.us.start_end import start_day


def places_of(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give the places of a record by code."""
    return {place["place"]: place for place in record["places"]}


def test_a_row_that_begins_mid_year_adds_no_two_years_together() -> None:
    """North Carolina's row of 2024-07-01: 60 000 in one year and 60 000 in the next are never 120 000."""
    rows = [
        {"to": "US-NC", "item_amount": "60000.00", "ordered_on": "2023-09-01", "order_id": "a"},
        {"to": "US-NC", "item_amount": "60000.00", "ordered_on": "2024-03-01", "order_id": "b"},
    ]
    found = assess(orders(rows), seller(), as_of=date(2024, 12, 31))
    assert found.duties[found.duties.place == "US-NC"].empty
    amount = found.thresholds[
        (found.thresholds.place == "US-NC") & (found.thresholds.measure == "amount")
    ].iloc[0]
    assert (amount.value, amount.status) == (6_000_000, "watch")


def test_a_period_that_cuts_a_quarter_shows_its_own_days_only() -> None:
    """1 to 31 August counts August; the frame of quarters stays whole."""
    rows = [
        {"to": "US-WA", "item_amount": "500.00", "ordered_on": "2026-07-10", "order_id": "july"},
        {"to": "US-WA", "item_amount": "200.00", "ordered_on": "2026-08-10", "order_id": "august"},
    ]
    found = assess(
        orders(rows), seller(), as_of=date(2026, 9, 30), period=(date(2026, 8, 1), date(2026, 8, 31))
    )
    shown = places_of(found.record())["US-WA"]
    assert (shown["sales"], shown["orders"]) == ("200.00", 1)
    assert found.places["sales"].tolist() == [70_000]
    assert found.places["quarter"].tolist() == ["2026-Q3"]


def test_a_duty_by_the_union_limit_is_seen_in_the_state_of_arrival() -> None:
    """A German seller over the limit has a duty in France, since its first sale taxed there."""
    rows = [
        net_sale(name, "FR", amount, ordered_on=day)
        for name, amount, day in (
            ("under", "9000.00", "2026-01-10"),
            ("over", "2000.00", "2026-02-01"),
            ("later", "100.00", "2026-02-05"),
        )
    ]
    record = assess(
        orders(rows, currency="EUR", tax_included="no"), union_seller("DE"), as_of=date(2026, 6, 30)
    ).record()
    france = places_of(record)["FR"]
    assert (france["duty_from"], france["cause"]) == ("2026-02-01", "threshold")
    assert france["since_duty"]["shortfall"]["expected"] == "420.00"
    assert "past_duty:FR" in [finding["id"] for finding in record["findings"]]


@pytest.mark.parametrize(
    ("change", "duty"),
    [
        ({"sent_from": "CN", "item_amount": "400.00"}, "import_at_border"),
        ({"sent_from": "CN", "item_amount": "40.00"}, "marketplace_collects"),
        ({"sent_from": "SK", "buyer_tax_number": "DE136695976"}, "buyer_accounts"),
        ({"sent_from": "SK"}, "marketplace_collects"),
    ],
)
def test_a_facilitator_is_deemed_supplier_of_low_value_imports_and_of_consumer_goods_of_outsiders(
    change: dict[str, str], duty: str
) -> None:
    """Nothing else is taken off a seller from outside the Union."""
    row = net_sale("A", "DE", change.pop("item_amount", "40.00"), channel="marketplace", **change)
    assert asked(seller(), row, currency="EUR", tax_included="no").iloc[0].duty == duty


def test_both_sides_give_the_transport_to_the_same_supply() -> None:
    """Where the transport is the fulfiller's, the sale to a business is local on arrival and not exempt as well.

    In France the buyer may account for it (CGI art. 283-1), so only the low end is without tax.
    """
    profile = seller(
        fulfiller=[fulfiller(transport_supply="first", ship_from=["SK"])],
        certificate=[certificate("EU", "vat_number", "DE")],
    )
    row = net_sale("A", "FR", "100.00", sent_from="SK", buyer_tax_number="FR40303265045")
    line = asked(profile, row, currency="EUR", tax_included="no").iloc[0]
    assert (line.duty, line.reason, line.place) == ("collect", "eu_buyer_may_account", "FR")
    assert (line.to_collect_low, line.to_collect, line.to_collect_high) == (0, 2000, 2000)


def test_another_states_number_must_be_replaced_after_registration_too() -> None:
    """Texas: a home-state number shields until it is replaced, also once the seller is registered there."""
    profile = seller(registration=registered("US-TX"), certificate=[certificate("US-TX", "state", "US-WA")])
    row = {"to": "US-TX", "item_amount": "50.00", "fulfiller_item_cost": "20.00"}
    line = asked(profile, row).iloc[0]
    assert (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_reason) == (
        0,
        0,
        "us_fulfiller_replace_document",
    )
    assert line.fulfiller_tax_high > 0


def test_goods_for_oneself_are_taxed_in_florida_wherever_they_start() -> None:
    """The exception for parcels from outside is one for resale; own use is none."""
    row = {
        "to": "US-FL",
        "entry": "sample",
        "item_amount": "0.00",
        "fulfiller_item_cost": "50.00",
        "sent_from": "US-IN",
    }
    line = asked(seller(), row).iloc[0]
    assert (line.fulfiller_tax_low, line.fulfiller_reason) == (300, "us_fulfiller_own_use")


def test_a_refund_without_its_sale_gives_nothing_back_from_before_the_duty() -> None:
    """The duty must have held on the day of the sale, which the line names."""
    profile = seller(registration=registered("US-TX", since=date(2026, 2, 1)))
    row = {"to": "US-TX", "entry": "refund", "item_amount": "50.00", "ordered_on": "2026-03-06"}
    before, after = (
        asked(profile, {**row, "original_ordered_on": day}).iloc[0] for day in ("2026-01-02", "2026-02-02")
    )
    assert (before.to_collect, before.duty) == (0, "below_threshold")
    assert after.to_collect == -410


def test_a_missing_price_of_the_fulfiller_is_said() -> None:
    """Zero would be a figure; what is not known is counted."""
    row = {"to": "US-TX", "item_amount": "50.00", "fulfiller_item_cost": "", "ordered_on": "2026-05-05"}
    record = assess(orders([row]), seller(), as_of=date(2026, 6, 30), period="2026-Q2").record()
    assert "fulfiller_price_unknown" in [finding["kind"] for finding in record["findings"]]


def test_payments_through_the_one_stop_shop_are_held_against_all_member_states() -> None:
    """They are not given by state, so no single state can be short of them."""
    rows = [
        net_sale(state, state, "100.00", ordered_on="2026-04-10", tax_collected="20.00")
        for state in ("FR", "ES")
    ]
    paid = {"place": "EU", "from": date(2026, 4, 1), "until": date(2026, 6, 30), "amount": "30.00"}
    profile = union_seller(
        "DE", remitted=[paid], election=[{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]
    )
    record = assess(
        orders(rows, currency="EUR", tax_included="no"), profile, as_of=date(2026, 6, 30)
    ).record()
    gaps = [(f["place"], f["amount"]) for f in record["findings"] if f["kind"] == "remittance_not_evidenced"]
    assert gaps == [("EU", "10.00")]


def test_a_month_that_begins_on_the_day_of_crossing_is_not_the_next_one() -> None:
    """Kentucky: a crossing on the first of a month binds from the first of a later month."""
    rules = load_tables()["us/start_rules"]
    row = int(rules.rows(start_rule="first_of_month_within_30_days")[0])
    crossed = Position((date(2019, 12, 1) - date(1970, 1, 1)).days)
    assert start_day(rules, row, crossed.day) == (date(2020, 1, 1) - date(1970, 1, 1)).days


def test_no_limit_is_shown_for_a_day_before_there_was_one() -> None:
    """Before its first row the Union-wide limit is not known, and nothing is measured against it."""
    row = net_sale("A", "FR", "100.00", ordered_on="2020-10-10")
    found = assess(
        orders([row], currency="EUR", tax_included="no"), union_seller("DE"), as_of=date(2020, 12, 31)
    )
    assert found.thresholds.empty
    assert (answers(found)["to_collect"] >= 0).all()


def test_facilitated_sales_alone_make_no_duty_where_the_state_says_so() -> None:
    """Both sides of the rule: with one own sale the duty begins with it."""
    through = spread("US-IA", "200000.00", 10, date(2024, 1, 10), 30, channel="marketplace", marketplace="Y")
    own = {"to": "US-IA", "item_amount": "10.00", "ordered_on": "2024-12-20", "order_id": "own"}
    found = assess(orders([*through, own]), seller(), as_of=date(2024, 12, 31))
    assert found.duties[found.duties.place == "US-IA"]["from"].tolist() == ["2024-12-20"]
