"""European Union: supplies that the program holds no rules for. They are set aside, move no limit, and the review says so."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from exempt_shop import scheme, sold
from shop import net_sale, orders, registered, union_seller

from taxcalc import assess, places
from taxcalc.days import number
from taxcalc.tables.load import load_tables


def left_out(kind: str, amount: str) -> tuple[str, int, set[str], list[str]]:
    """Sell goods for 9 000 and something else abroad: status and value of the limit, what was set aside, what is outside."""
    rows = [net_sale("goods", "FR", "9000.00"), net_sale(kind, "DE", amount, product_class=kind)]
    found = assess(orders(rows), union_seller("IE", registration=registered("IE")))
    limit = found.thresholds.set_index("place").loc["EU"]
    reasons = {str(reason) for reason in found.set_aside["reason"]}
    return str(limit.status), int(limit.value), reasons, found.record()["outside"]


@pytest.mark.source("ie-tdm-distance-sales")
def test_excise_goods_do_not_count_towards_the_limit() -> None:
    """Irish Revenue, distance sales, 3.2: stated; derived, goods of 9 000 and wine of 3 000 count 9 000, not exceeded."""
    status, value, reasons, outside = left_out("wine", "3000.00")
    assert (status, value, reasons) == ("near", 900_000, {"unknown_product_class"})
    assert "Excise goods (alcohol, tobacco)" in " ".join(outside)
    assert any(words.startswith("They do not count towards the Union-wide limit") for words in outside)


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_other_services_do_not_count_towards_the_limit() -> None:
    """European Commission, Explanatory Notes 2027, scenario 7: stated; training for consumers abroad adds nothing."""
    status, value, reasons, outside = left_out("training", "3000.00")
    assert (status, value, reasons) == ("near", 900_000, {"unknown_product_class"})
    assert any("services other than digital ones" in words for words in outside)


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_an_order_with_excise_goods_is_said_to_be_outside_the_import_scheme() -> None:
    """Explanatory Notes 2027, question 26: stated; below 150 in all, no part of it goes through the import scheme.

    The program holds no rules for such goods: it says so in every review, and sets their rows aside.
    """
    rows = [
        net_sale("parcel", "FR", "60.00", sent_from="US-IN", line_id="1"),
        net_sale("parcel", "FR", "40.00", sent_from="US-IN", line_id="2", product_class="wine"),
    ]
    ioss = [{"place": "EU", "scheme": "ioss", "identified_in": "IE", "from": date(2021, 7, 1)}]
    found = assess(orders(rows), union_seller("IE", registration=ioss))
    (aside,) = found.set_aside.to_dict("records")
    assert (aside["reason"], aside["value"]) == ("unknown_product_class", "wine")
    words = " ".join(found.record()["outside"])
    assert "an order with excise goods in it is outside the import one-stop shop" in words


@pytest.mark.source("ie-tdm-sme-domestic")
@pytest.mark.parametrize(("amount", "duty"), [("70000", "exempt_small_business"), ("110000", "collect")])
def test_the_sale_of_a_building_on_the_side_is_no_turnover_of_the_scheme(amount: str, duty: str) -> None:
    """Irish Revenue, EU VAT SME Scheme, Domestic Layer, example 9: official; 70 000 and a building for 40 000 stay exempt.

    The building is no order; 110 000 of goods would not have been exempt.
    """
    profile = union_seller("IE", registration=scheme("IE"))
    found = assess(orders([sold("sweets", "IE", amount, currency="EUR", sent_from="IE")]), profile)
    assert set(found.lines["duty"]) == {duty}
    assert "property or equipment on the side does not count" in " ".join(found.record()["assumptions"])


@pytest.mark.source("ie-tdm-sme-domestic")
def test_the_irish_limit_of_services_is_held_and_said_not_to_be_tested() -> None:
    """The same, example 7: official; services of 30 000 lie below 42 500. Digital supplies are the only services here."""
    table = load_tables()["eu/small_business_rules"]
    row = table.row(number(date(2026, 6, 1)), place=places.index("IE"), sales="services")
    assert 30_000_00 <= int(table["amount"][row]) == 42_500_00
    assert table.sources(np.array([row])) == {"ie-tdm-sme-domestic"}
    profile = union_seller("IE", registration=scheme("IE"))
    rows = [sold("plans", "IE", "30000", currency="EUR", product_class="digital")]
    found = assess(orders(rows), profile)
    assert set(found.lines["duty"]) == {"exempt_small_business"}
    assert any(
        words.startswith("IE: digital supplies are services") for words in found.record()["assumptions"]
    )
