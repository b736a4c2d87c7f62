"""Local sales to businesses of a state where the seller is not established: the buyer may have to account for the VAT."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import asked, fulfiller, net_sale, orders, registered, seller, union_seller

from taxcalc import assess

SINCE = date(2024, 1, 1)
NUMBERS = {"FR": "FR40303265045", "PL": "PL8567346215", "DE": "DE136695976", "IT": "IT00743110157"}
"""Numbers of the published forms."""
ENDS = ["to_collect_low", "to_collect", "to_collect_high"]


def shop(made_in: str, *numbers: str, transport: str = "unset") -> dict[str, Any]:
    """Build a Dutch shop whose goods are made in one member state, registered at home and in some others."""
    site = fulfiller(ship_from=[made_in], transport_supply=transport)
    return union_seller("NL", registration=registered("NL", *numbers, since=SINCE), fulfiller=[site])


def inside(state: str, **more: str) -> dict[str, str]:
    """Sell to a business of a state at an address there."""
    return net_sale("A", state, "100.00", buyer_tax_number=NUMBERS[state], **more)


@pytest.mark.source("fr-bofip-decla-10-10-20", "de-ustg-13b", "pl-jpk-vat-form", "it-commentary-35-ter")
@pytest.mark.parametrize(
    ("state", "numbers", "ends"),
    [
        pytest.param("FR", (), [0, 2000, 2000], id="France: whoever is not established"),
        pytest.param("FR", ("FR",), [0, 2000, 2000], id="France: a French number changes nothing"),
        pytest.param("IT", ("IT",), [0, 2200, 2200], id="Italy: an Italian number changes nothing"),
        pytest.param("PL", (), [0, 2300, 2300], id="Poland: neither established nor registered"),
        pytest.param("PL", ("PL",), [2300] * 3, id="Poland: a registered seller charges itself"),
        pytest.param("DE", (), [1900] * 3, id="Germany: not for plain goods"),
    ],
)
def test_a_local_sale_to_a_business_may_be_accounted_for_by_the_buyer(
    state: str, numbers: tuple[str, ...], ends: list[int]
) -> None:
    """Art. 194 as each state uses it; whether the buyer meets what the state asks of it is not known: a range."""
    line = asked(shop(state, *numbers), inside(state)).iloc[0]
    assert (line.place, line.duty) == (state, "collect")
    assert line[ENDS].tolist() == ends
    assert (line.reason == "eu_buyer_may_account") == (ends[0] == 0)


@pytest.mark.source("fr-bofip-decla-10-10-20")
def test_consumers_numbers_of_other_states_and_an_establishment_leave_the_tax_with_the_seller() -> None:
    """CGI art. 283-1: a buyer identified in France, a seller that is not established there."""
    consumer = net_sale("A", "FR", "100.00")
    foreign = {**consumer, "buyer_tax_number": NUMBERS["PL"]}
    for row in (consumer, foreign):
        assert asked(shop("FR"), row).iloc[0][ENDS].tolist() == [2000] * 3
    at_home = union_seller("FR", registration=registered("FR", since=SINCE))
    assert asked(at_home, inside("FR")).iloc[0][ENDS].tolist() == [2000] * 3


@pytest.mark.source("fr-bofip-decla-10-10-20")
def test_sales_that_the_transport_or_the_import_makes_local_are_no_different() -> None:
    """They are supplies placed in France as well."""
    moved = asked(shop("DE", transport="first"), inside("FR")).iloc[0]
    imported = asked(seller(fulfiller=[fulfiller(importer="seller")]), inside("FR")).iloc[0]
    assert moved[ENDS].tolist() == imported[ENDS].tolist() == [0, 2000, 2000]


@pytest.mark.source("fr-bofip-decla-10-10-20")
def test_the_finding_names_the_law_the_sum_and_what_is_expected() -> None:
    """One finding a state, with the VAT that is expected all the same; the registration stays named beside it."""
    rows = [inside("FR", ordered_on="2026-05-04")]
    findings = assess(orders(rows), shop("FR"), as_of=date(2026, 7, 20)).record()["findings"]
    (only,) = [one for one in findings if one["kind"] == "buyer_may_account"]
    assert (only["place"], only["amount"]) == ("FR", "20.00")
    assert "CGI art. 283-1" in only["text"]
    assert "memory" not in only["text"]
    assert "local_registration" in {one["kind"] for one in findings}
