"""What the explanation says: the story of a line in each situation, its table rows, and what would have changed it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from shop import LONG_AGO, certificate, fulfiller, net_sale, orders, registered, seller, spread, union_seller
from worked import ENDS, before_rounding, half_away, shown

from taxcalc.errors import Refusal
from taxcalc.eu.place import Situation
from taxcalc.explain import explain, explain_place
from taxcalc.explain.base import FREED, SHIPPING
from taxcalc.explain.found import nearest
from taxcalc.explain.where import KINDS
from taxcalc.kernel import Freed, ShippingTreatment
from taxcalc.local_rates.add import add_local
from taxcalc.reports.json_file import json_text
from taxcalc.run import assess
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from pathlib import Path


def explained(
    profile: dict[str, Any],
    *rows: dict[str, str],
    order: str = "A",
    **more: Any,  # noqa: ANN401 - passed on
) -> dict[str, Any]:
    """Explain one order of a made-up history."""
    found = explain(assess(orders(rows), profile, **more), order)
    assert found["check"]["agrees"]
    json_text(found)
    return found


def line_of(profile: dict[str, Any], **row: str) -> dict[str, Any]:
    """Explain an order of one line."""
    line: dict[str, Any] = explained(profile, {"order_id": "A", **row})["lines"][0]
    return line


def said(line: dict[str, Any], topic: str) -> str:
    """Give the sentences of a step in one text."""
    return " ".join(sentence for step in line["steps"] if step["topic"] == topic for sentence in step["says"])


def tried(line: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    """Give what was tried of one kind and changed a figure."""
    return [one for one in line["would_change"] if one["kind"] == kind]


@pytest.mark.source("ri-280-ricr-20-70-6")
@pytest.mark.parametrize(
    ("charged", "tax"),
    [
        pytest.param("275.00", "1.75", id="example 1: a suit of 275"),
        pytest.param("305.00", "3.85", id="example 3"),
    ],
)
def test_the_arithmetic_of_a_published_example_is_written_out(charged: str, tax: str) -> None:
    """Rhode Island Division of Taxation, 280-RICR-20-70-6.6: 7 % of what an item costs above 250."""
    shop = seller(registration=registered("US-RI"))
    line = line_of(shop, to="US-RI", item_amount=charged, product_class="clothing")
    excess = f"{int(charged[:3]) - 250}.00"
    assert line["arithmetic"][0]["formula"].startswith(f"goods {excess} × 7 % = ")
    assert line["to_collect"] == dict.fromkeys(ENDS, tax)
    assert f"{charged} USD" in said(line, "base")
    (within,) = tried(line, "price")
    assert within["to_collect"]["expected"] == "0.00"
    assert "250.00 USD" in within["says"]


def test_tax_inside_a_price_is_gross_times_rate_over_one_plus_rate() -> None:
    """Common practice, no source: 119.00 with 19 % inside holds 19.00 of it."""
    shop = union_seller("DE", registration=registered("DE"))
    line = line_of(shop, to="DE", item_amount="119.00", currency="EUR")
    assert line["arithmetic"][0]["formula"] == "goods 119.00 × 19 ÷ 119 = 19.00, rounded 19.00 EUR"
    assert line["arithmetic"][0]["products"][0]["divided_by"] == "119"
    assert said(line, "rate") == "VAT rate: 19 %."


def test_a_crossed_limit_names_its_order_its_rule_and_its_rows() -> None:
    """The crossing, the start rule in words, and the rows of limit and start."""
    before = spread("US-GA", "150000.00", 3, date(2026, 2, 1), 1)
    found = explained(
        seller(),
        *before,
        {"order_id": "A", "to": "US-GA", "item_amount": "10.00", "ordered_on": "2026-04-01"},
    )
    line = found["lines"][0]
    assert line["duty"] == "collect"
    words = said(line, "duty")
    assert (
        "was met on 2026-02-03 with order US-GA 2026-02-01 150000.00 0002 by the amount of your sales"
        in words
    )
    assert "When it begins: " in words
    assert "By your profile no registration serves it" in words
    tables = {row["row"].split(":")[0] for row in found["rows"]}
    assert {"us/thresholds", "us/threshold_starts", "us/state_rates", "us/local_rates"} <= tables


def test_below_the_limit_a_registration_is_tried() -> None:
    """Where it stands, and what being registered would have meant, by the engine itself."""
    line = line_of(seller(), to="US-TX", item_amount="50.00")
    assert "50.00 USD of the limit of 500000.00 USD" in said(line, "duty")
    (change,) = tried(line, "registration")
    there = line_of(seller(registration=registered("US-TX")), to="US-TX", item_amount="50.00")
    assert change["to_collect"] == there["to_collect"]
    assert change["then"] == ["you were registered here"]


def test_a_document_that_would_have_helped_is_tried_with_the_engine() -> None:
    """The same order with the document on file gives the very figure that was tried."""
    home = registered("US-WA")
    rows = {"to": "US-TX", "item_amount": "100.00", "fulfiller_item_cost": "40.00"}
    line = line_of(seller(registration=home), **rows)
    assert line["fulfiller_tax"]["expected"] != "0.00"
    (change, *_) = [one for one in tried(line, "document") if "the state's own form" in one["says"]]
    held = seller(registration=home, certificate=[certificate("US-TX", "state", "US-WA")])
    assert change["fulfiller_tax"] == line_of(held, **rows)["fulfiller_tax"]
    assert "It had: the state's own form for US-TX" in said(line_of(held, **rows), "fulfiller")


def test_the_day_before_a_rate_changed_is_tried() -> None:
    """Slovakia's standard rate rose on 1 January 2025; the old row is named with its source."""
    shop = union_seller("SK", registration=registered("SK"))
    found = explained(
        shop,
        {"order_id": "A", "to": "SK", "item_amount": "123.00", "currency": "EUR", "ordered_on": "2025-03-01"},
    )
    line = found["lines"][0]
    (change,) = [one for one in tried(line, "day") if "2024-12-31" in one["says"]]
    assert (line["to_collect"]["expected"], change["to_collect"]["expected"]) == ("23.00", "20.50")
    (row,) = [one for one in found["rows"] if one["row"] in change["rows"]]
    assert row["valid_until"] == "2024-12-31"
    assert row["source"]["link"].startswith("http")


def test_the_union_limit_and_its_election_are_tried() -> None:
    """Below the limit the home rate holds; the choice to be taxed on arrival is shown with the rate there."""
    shop = union_seller(
        "DE",
        registration=registered("DE"),
        fulfiller=[fulfiller(ship_from=["DE"], transport_supply="second")],
    )
    line = explained(shop, net_sale("A", "FR", "100.00"))["lines"][0]
    assert (line["place"], line["situation"]) == ("DE", "distance_within_limit")
    assert line["to_collect"]["expected"] == "19.00"
    (change,) = tried(line, "limit")
    assert change["to_collect"]["expected"] == "20.00"


def test_a_mixed_parcel_shows_its_share() -> None:
    """New Jersey frees clothing; shipping of a parcel with both kinds is explained by the goods in it."""
    shop = seller(registration=registered("US-NJ"))
    one = {
        "order_id": "A",
        "to": "US-NJ",
        "item_amount": "60.00",
        "product_class": "clothing",
        "shipping_amount": "8.00",
    }
    found = explained(
        shop,
        {**one, "line_id": "1"},
        {**one, "line_id": "2", "product_class": "homeware", "item_amount": "20.00", "shipping_amount": ""},
    )
    free, taxed = found["lines"]
    assert "of its goods for 80.00 USD the state taxes 20.00 USD" in said(free, "base")
    assert free["arithmetic"][0]["products"][0]["of"] == "shipping"
    assert {part["of"] for part in taxed["arithmetic"][0]["products"]} == {"goods"}


def test_an_order_rounded_as_a_whole_says_so() -> None:
    """Three lines of 0.07 at 7 %: one cent together, none alone."""
    shop = seller(registration=registered("US-IN"), rounding="order")
    rows = [{"order_id": "A", "line_id": str(n), "to": "US-IN", "item_amount": "0.06"} for n in (1, 2, 3)]
    found = explained(shop, *rows)
    assert found["sum"]["to_collect"]["expected"] == "0.01"
    one = shown(found["lines"][0], "arithmetic", "expected")
    assert one["rounding"] == "order"
    assert (
        half_away(sum(before_rounding(shown(line, "arithmetic", "expected")) for line in found["lines"])) == 1
    )
    assert "all lines rounded together" in one["formula"]


def test_a_refund_names_its_sale_and_its_share() -> None:
    """A third given back takes a third of the tax; nothing else is told of it twice."""
    shop = seller(registration=registered("US-IN"))
    sale = {"order_id": "A", "line_id": "1", "to": "US-IN", "item_amount": "30.00"}
    back = {**sale, "entry": "refund", "item_amount": "10.00", "ordered_on": "2026-05-20"}
    first, second = explained(shop, sale, back)["lines"]
    assert (first["to_collect"]["expected"], second["to_collect"]["expected"]) == ("2.10", "-0.70")
    assert "gives back line 1 of this order" in said(second, "refund")
    assert second["arithmetic"][0]["formula"].startswith("tax of the sale 2.10 × 10.00 ÷ 30.00 = 0.70")
    assert second["would_change"] == []


def test_a_refund_without_its_sale_is_told_apart() -> None:
    """Its own day's rules, with a minus."""
    shop = seller(registration=registered("US-IN"))
    line = line_of(shop, to="US-IN", item_amount="10.00", entry="refund")
    assert line["to_collect"]["expected"] == "-0.70"
    assert "The sale is not in the files" in said(line, "refund")


SHORT: tuple[tuple[str, dict[str, str], str, str], ...] = (
    ("a sample", {"to": "US-TX", "entry": "sample"}, "own_use", "your own order, not sold"),
    ("a marketplace", {"to": "US-TX", "channel": "marketplace"}, "marketplace_collects", "facilitator law"),
    ("a reseller", {"to": "US-TX", "buyer_exempt": "resale"}, "exempt_buyer", "sold for resale"),
    ("a state without tax", {"to": "US-OR"}, "no_tax_here", "no general sales tax"),
    ("a country without rules", {"to": "NO"}, "zero_rated_export", "not held here"),
    ("an unknown state", {"to": "US"}, "unknown_place", "state of delivery is not known"),
)


@pytest.mark.parametrize(
    ("row", "duty", "words"), [case[1:] for case in SHORT], ids=[case[0] for case in SHORT]
)
def test_short_stories(row: dict[str, str], duty: str, words: str) -> None:
    """Nothing to collect is said with its reason, and no rate is shown that was not used."""
    line = line_of(seller(), item_amount="20.00", **row)
    assert line["duty"] == duty
    assert words in said(line, "duty")
    assert said(line, "rate") == ""
    assert line["to_collect"] == dict.fromkeys(ENDS, "0.00")


def test_what_was_assumed_is_said() -> None:
    """Dispatch by the profile is an assumption; by the file it is a fact."""
    by_profile = line_of(seller(), to="US-TX", item_amount="20.00")
    by_file = line_of(seller(), to="US-TX", item_amount="20.00", sent_from="US-IN")
    assert "Sent from Indiana (US-IN): assumed" in said(by_profile, "read")
    assert "Sent from Indiana (US-IN) (your file)" in said(by_file, "read")
    assert "no other tax point is given" in said(by_file, "read")


def test_every_row_behind_a_case_is_named() -> None:
    """What the frame of cases says a figure rests on is in the explanation, both sides."""
    rows = {"order_id": "A", "to": "US-NY 10001", "item_amount": "120.00", "product_class": "clothing"}
    shop = seller(registration=registered("US-NY"))
    assessment = assess(orders([{**rows, "shipping_amount": "5.00", "fulfiller_item_cost": "50.00"}]), shop)
    found = explain(assessment, "A")
    case = assessment.cases.loc[assessment.lines["case_id"][0]]
    cited = [row for step in found["lines"][0]["steps"] for row in step["rows"]]
    for behind in (case["rows"], case["fulfiller_rows"]):
        left = f" {behind} "
        for row in cited:
            left = left.replace(f" {row} ", " ")
        assert left.strip() == ""
        assert behind
    for row in found["rows"]:
        assert row["source"]["title"]
        assert row["checked_on"]


def test_an_unknown_order_is_refused_with_the_nearest_numbers() -> None:
    """How many orders were read, and which numbers come close."""
    assessment = assess(
        orders([{"order_id": f"QL-{n}", "to": "US-TX", "item_amount": "1.00"} for n in range(100, 140)]),
        seller(),
    )
    with pytest.raises(Refusal) as refused:
        explain(assessment, "ql-111")
    assert refused.value.complaint.id == "E205"
    assert "40 orders" in refused.value.complaint.why
    assert "QL-111" in refused.value.complaint.mend
    assert set(nearest("QL-13", ["QL-130", "QL-131", "XX-1"])[:2]) == {"QL-130", "QL-131"}


def test_the_lines_of_a_place_add_up_to_the_record() -> None:
    """In several currencies, with refunds; the sum of the lines is that of the record's place."""
    shop = union_seller("DE", registration=registered("DE"), reporting_currency="USD")
    rows = [net_sale(f"A{n}", to, f"{n}7.35", f"2026-0{n}-11") for n in range(1, 7) for to in ("DE", "FR")]
    rows.append({**rows[0], "entry": "refund", "ordered_on": "2026-02-01", "item_amount": "3.33"})
    for number, row in enumerate(rows):
        row["order_id"] = row["order_id"] + row["to"] if number < 12 else "A1DE"
    assessment = assess(orders(rows), shop, period=("2026-01-01", "2026-06-30"))
    record = {place["place"]: place for place in assessment.record()["places"]}
    for code, place in record.items():
        found = explain_place(assessment, code)
        json_text(found)
        assert found["check"]["agrees"]
        assert found["sum"] == found["record"]
        for name in ("sales", "collected", "to_collect", "fulfiller_tax", "fulfiller_tax_charged"):
            assert found["sum"][name] == place[name], name
        assert len(found["lines"]) == place["lines"]
    with pytest.raises(Refusal, match="E206"):
        explain_place(assessment, "AU")


def test_nothing_personal_is_in_an_explanation() -> None:
    """A VAT number, the numbers of registrations and documents, free text: none of it is repeated."""
    shop = seller(
        registration=registered("US-WA", number="600123456"),
        certificate=[certificate("US", "multijurisdiction", "US-WA", number="600123456", since=LONG_AGO)],
    )
    row = {
        "to": "FR",
        "item_amount": "20.00",
        "buyer_tax_number": "FR40303265045",
        "description": "For Ada Byrne",
    }
    text = json_text(explained(shop, {"order_id": "A", **row}))
    assert not [word for word in ("600123456", "40303265045", "Ada") if word in text]


def test_a_duty_without_a_limit_names_its_first_sale() -> None:
    """Sales across a border of a seller without an establishment in the Union: from the first one on."""
    shop = seller(fulfiller=[fulfiller(ship_from=["SK"])])
    first = net_sale("first", "IT", "10.00", "2026-01-05")
    line = explained(shop, first, net_sale("A", "IT", "10.00", "2026-02-05"))["lines"][0]
    assert "begins with the first one, here on 2026-01-05, order first" in said(line, "duty")


def test_rates_of_a_zip_code_name_the_file_they_come_from(tmp_path: Path) -> None:
    """With a store of local rates the range closes, and its row is the user's own."""
    given = tmp_path / "rates.csv"
    given.write_text(
        "state,postal_code,rate_percent,valid_from,valid_to,source\nWA,98148,10.1,2025-01-01,,invented\n",
        encoding="utf-8",
    )
    add_local([given], tmp_path / "own", load_tables(), date(2026, 11, 25))
    shop = seller(registration=registered("US-WA"))
    row = {"order_id": "A", "to": "US-WA 98148", "item_amount": "100.00"}
    found = explained(shop, row, tables=tmp_path / "own")
    line = found["lines"][0]
    assert line["to_collect"] == dict.fromkeys(ENDS, "10.10")
    assert "from files of the state that you added" in said(line, "rate")
    (own,) = [one for one in found["rows"] if one["own"]]
    assert "rates.csv" in own["row"]
    assert own["says"][0].endswith("10.1 %")


def test_every_treatment_and_situation_has_words() -> None:
    """A new one is not left unexplained."""
    assert {one.name for one in ShippingTreatment} <= set(SHIPPING)
    assert {one.name.lower() for one in Situation} - {"none"} <= set(KINDS)
    assert set(FREED) == set(Freed) - {Freed.NOTHING}


def test_the_rate_of_the_sellers_own_place_is_told_apart() -> None:
    """Texas by the place of the seller (`sourcing_in_state`): the local rate is not that of the address."""
    shop = seller(
        region="US-TX", registration=registered("US-TX"), fulfiller=[fulfiller(ship_from=["US-TX"])]
    )
    line = line_of(shop, to="US-TX 75001", item_amount="20.00", sent_from="US-TX")
    assert "that of your own place of business" in said(line, "rate")
    assert "By your profile you are registered there since 2018-01-01" in said(line, "duty")
