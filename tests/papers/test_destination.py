"""Checks of single destinations, each with the figures that its published source gives or that follow from it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from check_place import checked, expected, today
from shop import certificate, fulfiller, registered, seller, union_seller

SINCE = date(2021, 7, 1)


def collecting(place: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build the shop in Oregon, registered in one state."""
    return seller(registration=registered(place), **more)


@pytest.mark.source("ri-280-ricr-20-70-6")
def test_rhode_island_taxes_what_a_suit_costs_above_250() -> None:
    """Rhode Island, 280-RICR-20-70-6.6 (C) example 1: official; a suit of 275.00 carries 1.75, the invoice is 276.75."""
    found = today("US-RI", collecting("US-RI"), kind="clothing", item="275.00")
    assert (expected(found, "tax"), expected(found, "customer_pays")) == ("1.75", "276.75")


@pytest.mark.source("wi-tax-11.94")
def test_wisconsin_taxes_clothing_with_its_delivery() -> None:
    """Wisconsin, Tax 11.94(2)(a): official; 100.00 and 10.00 of delivery at 5 % are 5.50, in all 115.50.

    The rule's rate is the state's; local tax comes on top of it here, so that it is the low end.
    """
    found = today("US-WI", collecting("US-WI"), kind="clothing", item="100.00", shipping="10.00")
    assert (found["tax"]["low"], found["customer_pays"]["low"]) == ("5.50", "115.50")


@pytest.mark.source("ma-lr-83-48")
def test_massachusetts_frees_the_first_175_of_a_coat() -> None:
    """Massachusetts, Letter Ruling 83-48: derived; a coat of 200.00 is taxed on 25.00, at 6.25 % 1.56; one of 175.00 free."""
    dear, cheap = (
        today("US-MA", collecting("US-MA"), kind="clothing", item=item) for item in ("200.00", "175.00")
    )
    assert (expected(dear, "tax"), expected(cheap, "tax")) == ("1.56", "0.00")


@pytest.mark.source("ma-directive-86-21")
def test_massachusetts_taxes_the_fulfiller_on_the_retail_price() -> None:
    """Massachusetts, Directive 86-21: derived; a mug sold for 40.00 and made for 15.00 costs 2.50 of the fulfiller's tax."""
    found = today("US-MA", seller(), item="40.00", cost="15.00", kind="homeware")
    assert (expected(found, "fulfiller_tax"), expected(found, "left")) == ("2.50", "22.50")


@pytest.mark.source("al-code-40-23-193")
def test_alabama_flat_rate() -> None:
    """Alabama, Code 40-23-193: derived; 8 % of 50.00 are 4.00 wherever in the state, once the seller has enrolled."""
    enrolled = [{"name": "flat_rate", "place": "US-AL", "from": SINCE}]
    found = today("US-AL", collecting("US-AL", election=enrolled), item="50.00")
    assert found["tax"] == {"low": "4.00", "expected": "4.00", "high": "4.00"}


@pytest.mark.source("tx-comptroller-single-local-rate")
def test_texas_single_local_rate() -> None:
    """Texas, Tax Code 151.0595: derived; 24.50 and 5.00 of shipping at 6.25 % and 1.75 % are 2.36."""
    chosen = [{"name": "flat_rate", "place": "US-TX", "from": SINCE}]
    found = today("US-TX", collecting("US-TX", election=chosen), item="24.50", shipping="5.00")
    assert found["tax"] == {"low": "2.36", "expected": "2.36", "high": "2.36"}


@pytest.mark.parametrize("place", ["US-DE", "US-MT", "US-NH", "US-OR"])
@pytest.mark.practice
def test_states_without_a_sales_tax_need_nothing(place: str) -> None:
    """No tax, no registration, nothing of the fulfiller (common practice, no source)."""
    row = checked(place, seller())["compared"][0]
    assert (row["register"], expected(row["now"], "left")) == ("not_needed", "60.00")


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_belgian_seller_within_and_beyond_the_limit() -> None:
    """Explanatory Notes 2027, scenarios 1 and 2: stated; Belgian VAT (21 %) within 10 000, else that of Sweden (25 %)."""
    within = checked("SE", union_seller("BE"), item="121.00", currency="EUR")["compared"][0]
    assert (within["register"], expected(within["now"], "tax")) == ("later", "21.00")
    chosen = [{"name": "eu_tax_at_destination", "from": SINCE}]
    beyond = checked("SE", union_seller("BE", election=chosen), item="125.00", currency="EUR")["compared"][0]
    assert (beyond["register"], expected(beyond["now"], "tax")) == ("now", "25.00")
    assert within["once_bound"]["taxed_in"] == "SE"


@pytest.mark.source("ie-tdm-distance-sales")
def test_goods_from_another_member_state_have_no_limit() -> None:
    """Irish Revenue, distance sales: stated; the limit is only for goods sent from the seller's own state."""
    found = checked(
        "FR", union_seller("IE", fulfiller=[fulfiller(ship_from=["DE"])]), item="120.00", currency="EUR"
    )
    row = found["compared"][0]
    assert (row["register"], row["registration"], expected(row["now"], "tax")) == (
        "now",
        "union_oss",
        "20.00",
    )


@pytest.mark.source("eu-dir-2006-112-art-59c")
def test_a_seller_from_outside_the_union_has_no_limit() -> None:
    """Directive 2006/112/EC, art. 59c(1)(a): stated; the limit needs an establishment in one member state only."""
    row = checked("DE", seller(fulfiller=[fulfiller(ship_from=["CZ"])]), item="119.00", currency="EUR")[
        "compared"
    ][0]
    assert (row["register"], expected(row["now"], "tax")) == ("now", "19.00")


@pytest.mark.parametrize(
    ("item", "register"),
    [pytest.param("150.00", "choice", id="up to 150"), pytest.param("150.01", "border", id="above 150")],
)
@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_parcel_from_outside_below_and_above_150(item: str, register: str) -> None:
    """Explanatory Notes: stated; the import scheme is open to consignments up to EUR 150, tax not counted."""
    row = checked("FR", seller(), item=item, currency="EUR", tax_included=False)["compared"][0]
    assert (row["register"], expected(row["now"], "tax")) == (register, "0.00")
    bound = row["once_bound"]
    assert (bound and expected(bound, "tax")) == ("30.00" if register == "choice" else None)


@pytest.mark.source("eu-com-territorial-status")
def test_the_canary_islands_are_outside_the_unions_vat() -> None:
    """Territorial status of EU countries: stated; goods from mainland Spain leave the VAT territory."""
    row = checked("ES-CN", union_seller("ES"), currency="EUR")["compared"][0]
    assert (row["now"]["duty"], expected(row["now"], "tax"), row["register"]) == (
        "zero_rated_export",
        "0.00",
        "not_needed",
    )


@pytest.mark.source("pt-at-oc-25045-2024")
def test_the_azores_have_a_lower_rate_than_the_mainland() -> None:
    """Portuguese tax authority, circular 25045/2024: stated; 16 % in the Azores, 23 % on the mainland."""
    sent = {"item": "116.00", "currency": "EUR"}
    azores = today("PT-20", seller(fulfiller=[fulfiller(ship_from=["CZ"])]), **sent)
    assert expected(azores, "tax") == "16.00"


@pytest.mark.source("ca-cdtfa-pub-121")
def test_california_presumes_a_mark_up_of_10_percent() -> None:
    """California CDTFA, Publication 121: derived; made for 40.00, the base is 44.00, at the state's 7.25 % 3.19."""
    found = today("US-CA", seller(), item="100.00", cost="40.00")
    assert found["fulfiller_tax"]["low"] == "3.19"


@pytest.mark.source("nj-st-3nr")
def test_a_document_with_a_home_state_number_frees_the_fulfiller_in_new_jersey() -> None:
    """New Jersey, form ST-3NR: stated; a seller not registered there gives it with its own state's number."""
    home = {"region": "US-TX", "registration": registered("US-TX")}
    without = today("US-NJ", seller(**home), kind="homeware")
    with_it = today(
        "US-NJ", seller(**home, certificate=[certificate("US-NJ", "state", "US-TX")]), kind="homeware"
    )
    assert (expected(without, "fulfiller_tax"), expected(with_it, "fulfiller_tax")) == ("2.65", "0.00")
