"""States that tax the fulfiller on the retail price: covered sales, and offsets that take nothing off the seller's debt."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import certificate, dropped, orders, registered, seller

from taxcalc import assess
from taxcalc.reports.terminal import review_text

AS_OF = date(2026, 9, 30)


def record_of(*rows: dict[str, str], **profile: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Assess drop-shipped orders of the second quarter."""
    return assess(orders(rows), seller(**profile), as_of=AS_OF, period="2026-Q2").record()


def kinds_of(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give findings by id."""
    return {finding["id"]: finding for finding in record["findings"]}


@pytest.mark.source("ca-cdtfa-pub-121")
def test_without_a_duty_the_sale_is_covered_by_the_fulfillers_tax() -> None:
    """California, example E03 of the publication: the seller is not registered, the drop shipper owes on the retail price."""
    record = record_of(dropped("A", "US-CA", fulfiller_tax_charged="7.25"))
    (part,) = record["retail_base"]
    assert (part["place"], part["with_duty"]) == ("US-CA", None)
    assert (part["covered"]["sales"], part["covered"]["fulfiller_tax_charged"]) == ("100.00", "7.25")
    assert part["covered"]["fulfiller_tax"] == record["places"][0]["fulfiller_tax"]
    assert kinds_of(record)["covered_by_fulfiller:US-CA"]["amount"] == "7.25"
    assert "Sales covered if charged" in review_text(record)


def test_with_a_duty_the_debt_stays_whole_beside_the_possible_offset() -> None:
    """The same sale with and without the fulfiller's tax lacks the same; the offset stands in a column of its own."""
    bound = {"registration": registered("US-CA")}
    with_tax = record_of(dropped("A", "US-CA", fulfiller_tax_charged="7.25"), **bound)
    without = record_of(dropped("A", "US-CA"), **bound)
    (part,) = with_tax["retail_base"]
    assert part["covered"] is None
    assert part["with_duty"]["possible_offset"] == "7.25"
    assert part["with_duty"]["to_collect"] == with_tax["places"][0]["to_collect"]["expected"]
    assert with_tax["places"][0]["shortfall"] == without["places"][0]["shortfall"]
    assert with_tax["places"][0]["shortfall"]["low"] == "7.25"
    assert kinds_of(with_tax)["possible_offset:US-CA"]["amount"] == "7.25"
    assert "covered_by_fulfiller:US-CA" not in kinds_of(with_tax)
    assert "Possible offset" in review_text(with_tax)


@pytest.mark.parametrize(
    "rows",
    [
        pytest.param(({"to": "US-TX"},), id="a state that taxes the fulfiller's own price"),
        pytest.param(({"to": "US-OR"},), id="a state without a sales tax"),
    ],
)
def test_elsewhere_there_is_no_such_part(rows: tuple[dict[str, str], ...]) -> None:
    """Neither a key filled nor a section."""
    record = record_of(*(dropped("A", row["to"], fulfiller_tax_charged="3.00") for row in rows))
    assert record["retail_base"] == []
    assert "retail price" not in review_text(record)


@pytest.mark.source("ca-cdtfa-pub-121")
def test_a_valid_document_leaves_nothing_to_cover() -> None:
    """California, E04: a registered seller's resale certificate releases the drop shipper."""
    profile = {
        "registration": registered("US-CA"),
        "certificate": [certificate("US-CA", "state", "US-CA")],
    }
    for charged in ("", "7.25"):
        record = record_of(dropped("A", "US-CA", fulfiller_tax_charged=charged), **profile)
        assert record["retail_base"] == []
        assert "possible_offset:US-CA" not in kinds_of(record)
    assert kinds_of(record)["charged_with_document:US-CA"]["amount"] == "7.25"


@pytest.mark.source("ma-directive-86-21")
def test_tax_charged_on_goods_that_are_free_covers_nothing() -> None:
    """Massachusetts frees clothing below 175 an item; what is charged all the same is more than explained."""
    free = {"product_class": "clothing", "fulfiller_shipping_cost": "0.00", "fulfiller_tax_charged": "6.25"}
    record = record_of(dropped("A", "US-MA", **free))
    assert record["retail_base"] == []
    assert kinds_of(record)["charged_more:US-MA"]["amount"] == "6.25"
