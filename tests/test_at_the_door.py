"""What customers may be asked for when a parcel from outside the Union arrives: by day, value, kinds of goods and place."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import fulfiller, net_sale, orders, registered, seller

from taxcalc import assess
from taxcalc.reports.terminal import review_text

AS_OF = date(2026, 10, 5)
IOSS = registered("EU", scheme="ioss", identified_in="NL")
FROM_OUTSIDE = {"sent_from": "US-IN", "ordered_on": "2026-07-06"}


def door(
    *rows: dict[str, str],
    held: list[dict[str, Any]] | None = None,
    period: str | tuple[str, str] = "2026-Q3",
    **more: Any,  # noqa: ANN401
) -> dict[str, Any]:
    """Give the part of the record."""
    profile = seller(registration=held or [], **more)
    record = assess(orders(rows), profile, as_of=AS_OF, period=period).record()
    return dict(record["at_the_door"] or {})


def parcel(to: str, amount: str, order: str = "A", **more: str) -> dict[str, str]:
    """Write one line of a parcel from Indiana."""
    return net_sale(order, to, amount, **{"day": "2026-07-06", **more}, sent_from="US-IN")


def due(found: dict[str, Any], name: str) -> list[str]:
    """Give the ends of one figure of all parcels that are asked for."""
    return [found["asked"][name][end] for end in ("low", "expected", "high")]


@pytest.mark.source("eu-reg-2026-382", "eu-com-flat-duty-2026")
def test_the_flat_duty_is_once_for_each_kind_of_goods_in_a_parcel() -> None:
    """Council and Commission: stated (five T-shirts 3, a T-shirt and a watch 6); a shirt and a mug are ours."""
    shirts = door(parcel("DE", "60.00", product_class="clothing", quantity="3"))
    mixed = door(
        parcel("DE", "20.00", product_class="clothing"),
        parcel("DE", "20.00", product_class="clothing"),
        parcel("DE", "20.00", product_class="homeware"),
    )
    singly = door(parcel("DE", "20.00"), parcel("DE", "20.00", "B"))
    assert [due(found, "flat_duty") for found in (shirts, mixed, singly)] == [
        ["3.00"] * 3,
        ["6.00"] * 3,
        ["6.00"] * 3,
    ]


@pytest.mark.source("eu-reg-2026-382")
@pytest.mark.parametrize(
    ("amount", "day", "duty"),
    [
        pytest.param("150.00", "2026-06-30", "0.00", id="last day of the relief"),
        pytest.param("150.00", "2026-07-01", "3.00", id="first day of the duty, 150.00 is inside"),
        pytest.param("150.01", "2026-07-01", "0.00", id="above, the tariff holds"),
    ],
)
def test_the_flat_duty_by_day_and_value(amount: str, day: str, duty: str) -> None:
    """Regulation (EU) 2026/382: official day, sum and limit."""
    found = door(parcel("DE", amount, day=day), period=("2026-06-30", "2026-07-01"))
    assert due(found, "flat_duty") == [duty] * 3
    assert found["asked"]["above_limit"] == (amount == "150.01")


def test_import_vat_is_on_goods_transport_and_duty() -> None:
    """From memory (Directive 2006/112/EC art. 85, 86): 19 % of 100 + 10 + 3 is 21.47."""
    found = door(parcel("DE", "100.00", shipping_amount="10.00"))
    assert due(found, "import_vat") == ["21.47"] * 3
    assert due(found, "at_the_door") == ["24.47"] * 3
    assert found["basis"] == "unconfirmed"
    rules = ("base_of_import_vat", "unit_of_duty", "who_pays_duty")
    assert {f"eu/scheme_rules:EU/customs/{rule}:2026-07-01" for rule in rules} <= set(found["row_ids"])


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_lines_of_one_order_are_one_consignment_for_the_limit() -> None:
    """Commission's notes (art. 369l): stated; 80 and 80 are 160 together, transport is left out of the value."""
    together = door(parcel("DE", "80.00"), parcel("DE", "80.00"))
    apart = door(parcel("DE", "80.00"), parcel("DE", "80.00", "B"))
    with_freight = door(parcel("DE", "140.00", shipping_amount="20.00"))
    assert [found["asked"]["above_limit"] for found in (together, apart, with_freight)] == [1, 0, 0]


@pytest.mark.source("fr-customs-fee-2026", "ro-law-239-2025")
@pytest.mark.parametrize(
    ("to", "kinds", "fee"),
    [
        ("FR", ("clothing", "homeware"), "4.00"),
        ("RO", ("clothing", "homeware"), "4.78"),
        ("DE", ("clothing",), "0.00"),
    ],
)
def test_fees_of_single_states(to: str, kinds: tuple[str, ...], fee: str) -> None:
    """France 2 for a line of the declaration, Romania RON 25 for a parcel (secondary); at the ECB rate of 2026-07-06."""
    found = door(*(parcel(to, "20.00", product_class=kind) for kind in kinds))
    assert due(found, "national_fees") == ["0.00", fee, fee]


def test_charges_that_are_only_planned_are_not_charged_but_named() -> None:
    """No paper: Italy's fee is put off in the tables, and whether it began is unknown."""
    day = "2026-10-02"
    found = door(parcel("IT", "20.00", day=day), period=("2026-10-01", "2026-10-05"))
    assert due(found, "national_fees") == ["0.00"] * 3
    assert found["not_in_force"] == ["eu/import_charges:IT/national_fee:2026-10-01"]


def test_under_the_scheme_nothing_is_asked_but_the_duty() -> None:
    """Regulation (EU) 2026/382 art. 2 names goods under the scheme; what it spares is a figure apart."""
    found = door(parcel("DE", "100.00"), held=IOSS)
    assert (found["asked"], found["places"]) == (None, [])
    spared = found["spared_by_scheme"]
    assert spared["vat_in_the_sale"] == "19.00"
    assert spared["duty_and_fees_all_the_same"]["expected"] == "3.00"
    assert spared["without_scheme"]["import_vat"]["expected"] == "19.57"


def test_a_business_may_not_bear_the_duty() -> None:
    """By the guidance the duty is on distance sales to consumers: the low end leaves it out, and the VAT on it."""
    found = door(parcel("DE", "100.00", buyer_tax_number="FR40303265045"))
    assert due(found, "flat_duty") == ["0.00", "3.00", "3.00"]
    assert due(found, "import_vat") == ["19.00", "19.57", "19.57"]


def test_it_is_in_no_other_figure_and_only_where_customers_import() -> None:
    """No paper: own by definition. A seller that imports itself, and goods that start inside, have no such part."""
    rows = [parcel("DE", "100.00")]
    record = assess(orders(rows), seller(), as_of=AS_OF, period="2026-Q3").record()
    assert record["totals"]["to_collect"]["high"] == "0.00"
    assert "at_the_door:EU" in {finding["id"] for finding in record["findings"]}
    assert "What customers may be asked for at the door" in review_text(record)
    itself = seller(fulfiller=[fulfiller(importer="seller")])
    imported = assess(orders(rows), itself, as_of=AS_OF, period="2026-Q3").record()
    assert imported["at_the_door"] is None
    assert "seller_imports:EU" in {finding["id"] for finding in imported["findings"]}
    assert not door(net_sale("A", "FR", "100.00", "2026-07-06", sent_from="DE"))


@settings(max_examples=12, deadline=None)
@given(st.lists(st.integers(1, 40_000), min_size=1, max_size=12))
def test_parcels_of_different_orders_do_not_touch_each_other(cents: list[int]) -> None:
    """A law, by exact fractions: 19 % of each parcel and its duty, rounded half up once, then added."""
    amounts = [f"{value // 100}.{value % 100:02}" for value in cents]
    found = door(*(parcel("DE", amount, str(number)) for number, amount in enumerate(amounts)))["asked"]
    duties = [300 if value <= 15_000 else 0 for value in cents]
    vat = sum(
        int(Fraction((value + duty) * 19, 100) + Fraction(1, 2))
        for value, duty in zip(cents, duties, strict=True)
    )
    assert [int(found[name]["expected"].replace(".", "")) for name in ("import_vat", "flat_duty")] == [
        vat,
        sum(duties),
    ]


def test_tax_charged_on_a_parcel_that_the_border_taxes_is_collected_without_a_duty_and_may_be_asked_for_twice() -> (
    None
):
    """From memory (Directive 2006/112/EC art. 203): shown VAT is owed; nothing spares the customer that of the import.

    An export from Poland to the Canary Islands meets no border of the Union: the sentence is not for it.
    """
    shown = {"tax_collected": "10.00", "ordered_on": "2026-07-06"}
    rows = [
        {**parcel("DE", "50.00"), **shown},
        {**parcel("ES 35001", "50.00", "B"), **shown, "sent_from": "PL"},
    ]
    record = assess(orders(rows), seller(), as_of=AS_OF, period="2026-Q3").record()
    texts = {
        one["place"]: one["text"] for one in record["findings"] if one["kind"] == "collected_without_duty"
    }
    assert {place: "import VAT on delivery" in text for place, text in texts.items()} == {
        "DE": True,
        "ES-CN": False,
    }
    assert all("paid over or given back" in text for text in texts.values())
