"""What would otherwise pass in silence is said, with its number or its amount."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from shop import orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.days import number
from taxcalc.exchange import convert
from taxcalc.money import CURRENCY_CODE, write_amount

if TYPE_CHECKING:
    from pathlib import Path

AS_OF = date(2026, 10, 5)
WASHINGTON = {"to": "US-WA", "item_amount": "100.00", "tax_collected": "9.51", "ordered_on": "2026-08-03"}


def found(rows: list[dict[str, str]], profile: dict[str, Any], **more: Any) -> dict[str, dict[str, Any]]:  # noqa: ANN401
    """Assess some orders and give the findings by id."""
    record = assess(orders(rows), profile, as_of=AS_OF, **more).record()
    return {finding["id"]: finding for finding in record["findings"]}


def paid(place: str, amount: str) -> dict[str, Any]:
    """Write one [[remitted]]."""
    return {"place": place, "from": date(2026, 7, 1), "until": date(2026, 9, 30), "amount": amount}


@pytest.mark.parametrize(
    ("place", "amount"),
    [
        pytest.param("US-WA", None, id="sales under a registration"),
        pytest.param("US-TX", "150.00", id="no orders at all"),
        pytest.param("US-CO", "150.00", id="orders without a duty"),
        pytest.param("EU", "150.00", id="one-stop shop without a sale into the Union"),
    ],
)
def test_a_payment_that_meets_no_sale_is_said_with_its_amount(place: str, amount: str | None) -> None:
    """Two payments for one place are added up; the days of the period do not matter."""
    profile = seller(registration=registered("US-WA"), remitted=[paid(place, "120.00"), paid(place, "30.00")])
    kinds = found([WASHINGTON, {**WASHINGTON, "to": "US-CO"}], profile)
    said = kinds.get(f"payment_unmatched:{place}")
    assert (said and said["amount"]) == amount


def test_a_payment_through_the_one_stop_shop_meets_sales_into_any_member_state() -> None:
    """It is not given by state."""
    row = {"to": "FR", "item_amount": "100.00", "currency": "EUR", "ordered_on": "2026-08-03"}
    chosen = [{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]
    profile = union_seller("DE", remitted=[paid("EU", "30.00")], election=chosen)
    assert "payment_unmatched:EU" not in found([row], profile)


def test_what_is_refunded_beyond_the_sale_is_said_with_its_amount() -> None:
    """50 of one sale at once, 40 of another in two parts, 10 euros of a third; nothing of a full refund."""
    sale = {**WASHINGTON, "ordered_on": "2026-05-04"}
    refund = {**sale, "entry": "refund", "ordered_on": "2026-05-12", "tax_collected": "0"}
    euros = {"currency": "EUR", "to": "FR"}
    rows = [
        {**sale, "order_id": "once"},
        {**refund, "order_id": "once", "item_amount": "150.00"},
        {**sale, "order_id": "twice"},
        {**refund, "order_id": "twice", "item_amount": "70.00"},
        {**refund, "order_id": "twice", "item_amount": "70.00", "ordered_on": "2026-05-11"},
        {**sale, "order_id": "whole"},
        {**refund, "order_id": "whole", "item_amount": "100.00"},
    ]
    profile = seller(registration=registered("US-WA"))
    said = found(rows, profile)["refunds_above_sale"]
    assert (said["amount"], "sold: 2." in said["text"]) == ("90.00", True)
    abroad = [
        {**sale, **euros, "order_id": "abroad"},
        {**refund, **euros, "order_id": "abroad", "item_amount": "110.00"},
    ]
    beyond = int(convert(np.array([1000]), CURRENCY_CODE["EUR"], "USD", number(date(2026, 5, 12)))[0])
    said = found([*rows, *abroad], profile)["refunds_above_sale"]
    assert said["amount"] == write_amount(9000 + beyond, "USD")
    assert "refunds_above_sale" not in found(rows[-2:], profile)


OWN_RATE = (
    "place,state_percent,sourcing_in_state,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
    "US-WA,7.5,destination,2026-01-01,,memory,unconfirmed,,2026-09-01,invented for this test\n"
)


def test_rows_of_ones_own_are_said_by_the_folder_they_really_come_from(tmp_path: Path) -> None:
    """Beside the profile, or given with the call, which then counts alone; a folder without a row changes nothing."""
    rows = orders([WASHINGTON])
    (tmp_path / "shop").mkdir()
    profile = tmp_path / "shop" / "seller.toml"
    profile.write_text('[seller]\ncountry = "US"\nregion = "US-OR"\n', encoding="utf-8")
    for folder, text in (
        ("shop/own_tables", OWN_RATE),
        ("other", OWN_RATE),
        ("bare", OWN_RATE.partition("\n")[0]),
    ):
        (tmp_path / folder / "us").mkdir(parents=True)
        (tmp_path / folder / "us" / "state_rates.csv").write_text(text + "\n", encoding="utf-8")

    def said(tables: str | None) -> list[str]:
        given = None if tables is None else tmp_path / tables
        record = assess(rows, profile, tables=given, as_of=AS_OF).record()
        return [text for text in record["assumptions"] if "own" in text and "`" in text and "folder" in text]

    assert ["`own_tables`" in text for text in said(None)] == [True]
    assert ["`other`" in text for text in said("other")] == [True]
    assert said("bare") == []


@pytest.mark.parametrize(
    ("one", "other", "reasons"),
    [
        pytest.param("DE136695976", "DE136695976", ["exact_duplicate"], id="the same number"),
        pytest.param("DE136695976", " DE136695976 ", ["exact_duplicate"], id="blanks around it"),
        pytest.param("DE1", "DE2", ["conflicting_duplicate"] * 2, id="two of no valid form"),
        pytest.param("DE136695976", "DE129273398", ["conflicting_duplicate"] * 2, id="two of one country"),
        pytest.param("DE1", "", ["conflicting_duplicate"] * 2, id="one and none"),
    ],
)
def test_lines_that_differ_in_the_buyers_number_are_no_repeats(
    one: str, other: str, reasons: list[str]
) -> None:
    """They cannot both be right, so both are set aside; the numbers with valid forms pass the check digits of Germany."""
    row = {**WASHINGTON, "to": "DE", "order_id": "A", "line_id": "1"}
    rows = [{**row, "buyer_tax_number": number} for number in (one, other)]
    rows.append({**row, "order_id": "B", "buyer_tax_number": ""})
    aside = assess(orders(rows), seller(), as_of=AS_OF).set_aside
    assert aside["reason"].tolist() == reasons
