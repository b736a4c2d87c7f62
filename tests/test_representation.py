"""Fiscal representatives and intermediaries: by state, by the seller's country, and where a registration asks for one."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import fulfiller, orders, registered, seller, union_seller

from taxcalc import assess, places
from taxcalc.days import number
from taxcalc.eu.representation import IMPORTS, LOCAL, Answer, representation
from taxcalc.facts import Facts
from taxcalc.seller import read_seller
from taxcalc.tables.load import load_tables

SINCE = date(2024, 1, 1)
AS_OF = date(2026, 7, 20)
TABLES = load_tables()


def answer(place: str, country: str, topic: str = LOCAL, day: date = AS_OF) -> tuple[Answer, str]:
    """Ask for a seller of a country; gives the answer and its basis."""
    profile = read_seller(seller(country=country, region=None, established_in=[country]))
    facts = Facts(TABLES, profile, day, ("main",), number(day), number(day), number(day))
    found = representation(places.index(place), topic, number(day), facts)
    return found.answer, found.basis


@pytest.mark.source("fr-bofip-decla-20-30-40-10", "be-spf-liable-2021", "eu-com-2023-736", "ie-vatca-2010")
@pytest.mark.parametrize(
    ("place", "country", "wanted"),
    [
        pytest.param("FR", "US", (Answer.REQUIRED, "secondary"), id="France asks American sellers"),
        pytest.param("FR", "GB", (Answer.FREED, "secondary"), id="not British ones"),
        pytest.param("FR", "CH", (Answer.REQUIRED, "secondary"), id="and Swiss ones again"),
        pytest.param("BE", "GB", (Answer.REQUIRED, "official"), id="Belgium asked British ones in 2021"),
        pytest.param("BE", "NO", (Answer.FREED, "official"), id="Norway's agreement holds in every state"),
        pytest.param("BE", "US", (Answer.REQUIRED, "official"), id="no row about the country"),
        pytest.param("AT", "GB", (Answer.FREED, "unconfirmed"), id="a country freed from memory only"),
        pytest.param("IE", "US", (Answer.ON_NOTICE, "official"), id="Ireland on notice only"),
        pytest.param("DE", "US", (Answer.NOT_ASKED, "unconfirmed"), id="Germany asks nobody, from memory"),
        pytest.param("NL", "US", (Answer.IN_SOME_CASES, "unconfirmed"), id="some cases"),
        pytest.param("LV", "US", (Answer.UNCLEAR, "unconfirmed"), id="unclear"),
        pytest.param(
            "FR", "DE", (Answer.OPTIONAL, "official"), id="sellers of the Union may, and never must"
        ),
    ],
)
def test_whether_a_representative_is_needed(place: str, country: str, wanted: tuple[Answer, str]) -> None:
    """Directive art. 204; French doctrine BOI-TVA-DECLA-20-30-40-10, Belgian finances, Irish VATCA s. 109A; else from memory."""
    assert answer(place, country) == wanted


def test_an_agreement_frees_from_its_first_day() -> None:
    """The Trade and Cooperation Agreement's protocol, from 2021-01-01 (from memory)."""
    assert answer("FR", "GB", day=date(2020, 12, 31))[0] == Answer.REQUIRED
    assert answer("FR", "GB", day=date(2021, 1, 1))[0] == Answer.FREED


@pytest.mark.source("eu-impl-dec-2021-942")
@pytest.mark.parametrize(
    ("country", "wanted"),
    [("US", Answer.REQUIRED), ("GB", Answer.REQUIRED), ("NO", Answer.FREED), ("IE", Answer.OPTIONAL)],
)
def test_the_import_scheme_asks_sellers_from_outside_for_an_intermediary(
    country: str, wanted: Answer
) -> None:
    """Art. 369m; Commission Implementing Decision (EU) 2021/942 names Norway only."""
    assert answer("EU", country, IMPORTS)[0] == wanted


def findings(profile: dict[str, Any], *rows: dict[str, str]) -> dict[tuple[str, str | None], dict[str, Any]]:
    """Give the findings of the second quarter of 2026 by kind and place."""
    plain = {"item_amount": "100.00", "fulfiller_item_cost": "40.00", "currency": "EUR", "tax_included": "no"}
    found = assess(orders(rows, **plain), profile, as_of=AS_OF, period="2026-Q2").record()["findings"]
    return {(one["kind"], one["place"]): one for one in found}


@pytest.mark.source("fr-bofip-decla-20-30-40-10", "fr-training-firm-list")
def test_the_sources_of_a_finding_are_listed_with_those_of_the_figures() -> None:
    """Every row that the record names leads to its paper."""
    mine = seller(fulfiller=[fulfiller(ship_from=["FR"])], reporting_currency="EUR")
    record = assess(orders([{**to("FR", "FR"), "item_amount": "100.00"}]), mine, as_of=AS_OF).record()
    listed = {one["id"] for one in record["sources"]}
    assert {"fr-bofip-decla-20-30-40-10", "fr-training-firm-list"} <= listed


def to(place: str, leaves: str) -> dict[str, str]:
    """Write one order."""
    return {"to": place, "sent_from": leaves, "ordered_on": "2026-05-04"}


@pytest.mark.source("fr-bofip-decla-20-30-40-10")
def test_every_state_in_which_a_registration_is_needed_is_named() -> None:
    """Goods that stay in France, goods that leave Poland: registrations of an American seller, each with its representative."""
    site = [fulfiller(ship_from=["FR", "PL"])]
    mine = seller(fulfiller=site, reporting_currency="EUR")
    found = findings(mine, to("FR", "FR"), to("DE", "PL"))
    assert {place for kind, place in found if kind == "fiscal_representative"} == {"FR", "PL"}
    assert found["register_where_goods_leave", "PL"]["amount"] == "19.00"
    france = found["fiscal_representative", "FR"]["text"]
    assert (
        "United States needs a fiscal representative, who is liable for the VAT too (CGI art. 289 A" in france
    )
    assert "memory" not in france
    rows = found["fiscal_representative", "FR"]["row_ids"].split()
    assert rows == [
        "eu/fiscal_representation:FR/local_registration:2019-01-01",
        "eu/representation_freed:FR/US/local_registration:2019-01-01",
    ]
    with_poland = seller(
        fulfiller=site, reporting_currency="EUR", registration=registered("FR", "PL", since=SINCE)
    )
    kinds = {kind for kind, _ in findings(with_poland, to("FR", "FR"), to("DE", "PL"))}
    assert not kinds & {"fiscal_representative", "register_where_goods_leave"}


def test_the_one_stop_shop_of_one_state_of_dispatch_serves_the_others() -> None:
    """Art. 369a(2): goods that leave Poland are declared where the seller from outside is identified."""
    shop = [
        *registered("ES", since=SINCE),
        *registered("EU", since=SINCE, scheme="union_oss", identified_in="ES"),
    ]
    mine = seller(fulfiller=[fulfiller(ship_from=["PL"])], registration=shop, reporting_currency="EUR")
    assert not {kind for kind, _ in findings(mine, to("DE", "PL"))} & {
        "fiscal_representative",
        "register_where_goods_leave",
    }


@pytest.mark.parametrize(
    ("profile", "named"),
    [
        pytest.param(seller(reporting_currency="EUR"), "needs an intermediary", id="from outside"),
        pytest.param(union_seller("IE"), "needs no intermediary", id="from the Union"),
    ],
)
def test_low_value_imports_name_the_intermediary(profile: dict[str, Any], named: str) -> None:
    """Art. 369m; without such imports nothing is said."""
    assert named in findings(profile, to("FR", "US-IN"))["import_intermediary", "EU"]["text"]
    assert not any(kind == "import_intermediary" for kind, _ in findings(profile, to("NO", "US-IN")))
