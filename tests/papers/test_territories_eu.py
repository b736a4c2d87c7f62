"""Special territories: every one by its codes and postal codes, what a sale into it and a parcel out of it are.

Treatments are those of the Commission's table of territorial status (art. 6 and 7 of Directive 2006/112/EC), of the Danish
Tax Agency's list, and where the tables say so from memory. Postal codes stand at the edges of each range; they are ours.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import NET, asked, fulfiller, net_sale, registered, union_seller

from taxcalc import places
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    import pandas as pd

OUTSIDE, ABROAD = "zero_rated_export: eu_export", "zero_rated_export: elsewhere_export"
"""Outside the VAT territory: a territory of a member state, or a country of its own."""

BY_CODE: tuple[tuple[str, str, str, int], ...] = (
    # outside, art. 6(1): inside the customs territory
    *((to, "ES-CN", OUTSIDE, 0) for to in ("ES-CN", "ES-GC", "ES-TF", "IC", "ES 35001", "ES 38999")),
    *((to, "AX", OUTSIDE, 0) for to in ("AX", "FI-01", "FI 22100", "FI 22999")),
    *((to, "GR-69", OUTSIDE, 0) for to in ("GR-69", "GR 63086", "GR 630 87")),
    *((to, "IT-CAM", OUTSIDE, 0) for to in ("IT 22061", "CH 6911")),
    *((to, "GP", OUTSIDE, 0) for to in ("GP", "FR-971", "FR 97100", "FR 97190")),
    *((to, "MQ", OUTSIDE, 0) for to in ("MQ", "FR-972", "FR 97200")),
    *((to, "GF", OUTSIDE, 0) for to in ("GF", "FR-973", "FR 97300")),
    *((to, "RE", OUTSIDE, 0) for to in ("RE", "FR-974", "FR 97400")),
    *((to, "YT", OUTSIDE, 0) for to in ("YT", "FR-976", "FR 97600")),
    *((to, "MF", OUTSIDE, 0) for to in ("MF", "FR-MF", "FR 97150")),
    # outside, art. 6(2): outside the customs territory too
    *((to, "ES-CE", OUTSIDE, 0) for to in ("ES-CE", "ES 51001", "ES 51080")),
    *((to, "ES-ML", OUTSIDE, 0) for to in ("ES-ML", "ES 52001", "ES 52080")),
    *((to, "DE-78266", OUTSIDE, 0) for to in ("DE 78266", "CH 8238")),
    ("DE 27498", "DE-27498", OUTSIDE, 0),
    ("IT 23041", "IT-LIV", OUTSIDE, 0),
    # French overseas: third countries
    *((to, "BL", OUTSIDE, 0) for to in ("BL", "FR-BL", "FR 97133")),
    *((to, "PM", OUTSIDE, 0) for to in ("PM", "FR-PM", "FR 97500")),
    *((to, "WF", OUTSIDE, 0) for to in ("WF", "FR-WF", "FR 98600")),
    *((to, "PF", OUTSIDE, 0) for to in ("PF", "FR-PF", "FR 98700")),
    *((to, "NC", OUTSIDE, 0) for to in ("NC", "FR-NC", "FR 98800")),
    # inside, with rates of their own (Madeira and the Azores: Portuguese circular; the rest from memory)
    *((to, "PT-30", "collect: eu_over_limit", 2200) for to in ("PT-30", "PT 9000-001", "PT 9499-999")),
    *((to, "PT-20", "collect: eu_over_limit", 1600) for to in ("PT-20", "PT 9500-001", "PT 9999-999")),
    *((to, "AT-6691", "collect: eu_over_limit", 1900) for to in ("AT 6691", "DE 87491")),
    *(
        (to, "AT-699", "collect: eu_over_limit", 1900)
        for to in ("AT 6991", "AT 6993", "DE 87567", "DE 87569")
    ),
    *((to, "FR-COR", "collect: eu_over_limit", 2000) for to in ("FR-20R", "FR-2A", "FR 20000", "FR 20999")),
    # inside like any part of the state, or as if in another one
    *((to, "ES", "collect: eu_over_limit", 2100) for to in ("ES-IB", "ES-PM", "ES 07001")),
    *((to, "MC", "collect: eu_over_limit", 2000) for to in ("MC", "MC 98000", "FR 98000")),
    *((to, "XI", "collect: eu_over_limit", 2000) for to in ("XI", "GB-NIR", "GB BT1 1AA", "XI BT99 9ZZ")),
    # other countries
    *((to, "IM", ABROAD, 0) for to in ("IM", "GB IM1 1AA")),
    *((to, "JE", ABROAD, 0) for to in ("JE", "GB JE1 1AA")),
    *((to, "GG", ABROAD, 0) for to in ("GG", "GB GY1 1AA")),
    *((to, "GI", ABROAD, 0) for to in ("GI", "GB GX11 1AA")),
    *((to, "SM", ABROAD, 0) for to in ("SM", "IT 47890")),
    *((to, "VA", ABROAD, 0) for to in ("VA", "IT 00120")),
    *((to, "FO", ABROAD, 0) for to in ("FO", "DK 100")),
    *((to, "GL", ABROAD, 0) for to in ("GL", "DK 3900")),
    *((to, "SJ", ABROAD, 0) for to in ("SJ", "NO-21", "NO-22", "NO 9170")),
    *((to, "BQ", ABROAD, 0) for to in ("BQ", "NL-BQ1", "NL-BQ2", "NL-BQ3")),
    *((to, to[-2:], ABROAD, 0) for to in ("AD", "LI", "AW", "NL-AW", "CW", "NL-CW", "SX", "NL-SX")),
    # on the other side of each edge
    *((to, "ES", "collect: eu_over_limit", 2100) for to in ("ES 34999", "ES 36000", "ES 50999", "ES 53000")),
    *((to, "PT", "collect: eu_over_limit", 2300) for to in ("PT 8999-999", "PT 1000-001")),
    *((to, "GR", "collect: eu_over_limit", 2400) for to in ("GR 63085", "GR 63088")),
    *((to, "AT", "collect: eu_over_limit", 2000) for to in ("AT 6690", "AT 6994")),
    *((to, "DE", "collect: eu_home", 1900) for to in ("DE 78265", "DE 27499", "DE 87566", "DE 87570")),
    *((to, "IT", "collect: eu_over_limit", 2200) for to in ("IT 23030", "IT 22060")),
    ("FR 19999", "FR", "collect: eu_over_limit", 2000),
    ("FI 21999", "FI", "collect: eu_over_limit", 2550),
    ("DK 3899", "DK", "collect: eu_over_limit", 2500),
)
"""Address, place of arrival, duty and reason, VAT on 100.00 that a shop in Germany charges which is taxed on arrival."""

BY_NAME: tuple[tuple[str, str, str, str], ...] = (
    ("IT", "Italian waters of Lake Lugano", "IT-LUG", OUTSIDE),
    ("CY", "Cyprus north of the line", "CY-NORTH", OUTSIDE),
    ("CY", "Cyprus UK sovereign bases (Akrotiri, Dhekelia)", "CY-SBA", "collect: eu_over_limit"),
    ("GR", "Lesvos", "GR-ISL", "collect: eu_over_limit"),
)
"""Territories without postal codes are found only by the name in the region."""


@pytest.fixture(scope="module")
def sent() -> pd.DataFrame:
    """Assess a parcel to each address, from Germany, taxed on arrival by choice."""
    profile = union_seller(
        "DE",
        registration=[*registered("DE"), *registered("EU", scheme="union_oss", identified_in="DE")],
        election=[{"name": "eu_tax_at_destination", "from": date(2024, 1, 1)}],
    )
    rows = [net_sale(to, to, "100.00") for to, *_ in BY_CODE]
    named = [
        {**net_sale(f"{name}, {country}", country, "100.00"), "ship_to_region": name}
        for country, name, *_ in BY_NAME
    ]
    return asked(profile, *rows, *named)


@pytest.mark.source("eu-com-territorial-status", "dk-skat-territories", "pt-at-oc-25045-2024")
@pytest.mark.parametrize(("to", "place", "answer", "cents"), BY_CODE, ids=[row[0] for row in BY_CODE])
def test_an_address_leads_to_its_territory(
    sent: pd.DataFrame, to: str, place: str, answer: str, cents: int
) -> None:
    """Treatments stated; Jungholz, Mittelberg, Corsica, the Balearic Islands, Liechtenstein and Svalbard from memory."""
    line = sent.loc[to]
    assert (line.destination, f"{line.duty}: {line.reason}") == (place, answer)
    assert [line.to_collect_low, line.to_collect, line.to_collect_high] == [cents] * 3


@pytest.mark.source("eu-com-territorial-status", "eu-dir-2006-112-art-7")
@pytest.mark.parametrize(("country", "name", "place", "answer"), BY_NAME, ids=[row[2] for row in BY_NAME])
def test_a_territory_without_postal_codes_is_found_by_its_name(
    sent: pd.DataFrame, country: str, name: str, place: str, answer: str
) -> None:
    """Lake Lugano and the sovereign bases (art. 6, 7) stated; northern Cyprus and the Greek islands from memory."""
    line = sent.loc[f"{name}, {country}"]
    assert (line.destination, f"{line.duty}: {line.reason}") == (place, answer)


def test_every_territory_of_the_tables_stands_here() -> None:
    """No paper: a row that nobody has looked at fails."""
    table = load_tables()["eu/territories"]
    inside_the_tables = {places.code(number) for number in table["place"][:-1].tolist()}
    assert inside_the_tables <= {row[1] for row in BY_CODE} | {row[2] for row in BY_NAME}


@pytest.mark.source("eu-dir-2006-112-art-7")
def test_monaco_is_france_and_madeira_is_portugal_for_the_limit() -> None:
    """Art. 7 and 5: a sale from France to Monaco, or from Portugal to Madeira, is no distance sale."""
    french = asked(union_seller("FR", registration=registered("FR")), net_sale("A", "MC", "100.00")).iloc[0]
    portuguese = asked(
        union_seller("PT", registration=registered("PT")), net_sale("A", "PT 9000-001", "100.00")
    ).iloc[0]
    assert (french.place, french.reason, french.to_collect) == ("FR", "eu_home", 2000)
    assert (portuguese.place, portuguese.reason, portuguese.to_collect) == ("PT-30", "eu_home", 2200)


@pytest.mark.source("eu-com-explanatory-notes-2027", "eu-com-territorial-status")
@pytest.mark.parametrize(
    ("site", "reason"),
    [
        *(
            (site, "eu_import_without_ioss")
            for site in ("ES-CN", "AX", "GP", "IT-LIV", "DE-27498", "GB", "NO", "SM")
        ),
        *((site, "eu_distance_sale") for site in ("XI", "PT-30", "AT-699")),
        ("MC", "eu_domestic_elsewhere"),
    ],
)
def test_a_parcel_out_of_a_territory_is_an_import_or_a_distance_sale(site: str, reason: str) -> None:
    """Commission's notes, question 15 (Canary Islands): stated; the other territories of the same table alike."""
    profile = union_seller("DE", fulfiller=[fulfiller(ship_from=[site])])
    line = asked(profile, {"order_id": "A", "to": "FR", "item_amount": "100.00", **NET}).iloc[0]
    assert line.reason == reason
