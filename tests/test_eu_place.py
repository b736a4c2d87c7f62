"""Where a sale into the Union is taxed: one row a situation with its article, and the cases that are easy to get wrong."""

from __future__ import annotations

from typing import Any

import pytest
from shop import asked, fulfiller, net_sale, registered, seller, union_seller

from taxcalc.eu.place import Situation
from taxcalc.tables.load import load_tables

POLISH, FRENCH, GERMAN = "PL8567346215", "FR40303265045", "DE136695976"
"""Numbers of the published forms."""
IOSS = registered("EU", scheme="ioss", identified_in="NL")


def test_every_situation_has_its_article_in_the_tables() -> None:
    """No paper: names are held against each other, so that no answer is without a row."""
    table = load_tables()["eu/place_of_supply"]
    assert sorted(set(table["situation"][:-1])) == sorted(
        situation.name.lower() for situation in Situation if situation
    )
    assert all(text.strip() for text in table.printed("law"))


@pytest.mark.source("ie-vatca-2010")
@pytest.mark.parametrize(
    ("number", "place", "reason", "ends"),
    [
        pytest.param(FRENCH, "PL", "eu_intra_community", [0, 0, 2300], id="of another member state"),
        pytest.param(GERMAN, "PL", "eu_intra_community", [0, 0, 2300], id="of a third member state"),
        pytest.param(
            POLISH, "PL", "eu_business_at_dispatch", [2000, 2300, 2300], id="of the state of dispatch"
        ),
        pytest.param("FR40303265046", "FR", "eu_distance_sale", [2000] * 3, id="of no valid form"),
        pytest.param("", "FR", "eu_distance_sale", [2000] * 3, id="none"),
    ],
)
def test_a_buyers_number_decides_by_who_issued_it(
    number: str, place: str, reason: str, ends: list[int]
) -> None:
    """VATCA 2010 Sch. 2 para 1: the exemption asks for a number of another member state than that of dispatch."""
    line = asked(
        union_seller("DE", fulfiller=[fulfiller(ship_from=["PL"])]),
        net_sale("A", "FR", "100.00", buyer_tax_number=number),
    ).iloc[0]
    assert (line.place, line.reason) == (place, reason)
    assert [line.to_collect_low, line.to_collect, line.to_collect_high] == ends


def test_a_business_of_the_home_state_is_sold_to_like_at_home() -> None:
    """From memory (Directive 2006/112/EC art. 32, 138): no exemption, no registration abroad; and not of the limit."""
    profile = union_seller("PL", registration=registered("PL"))
    line = asked(profile, net_sale("A", "FR", "100.00", buyer_tax_number=POLISH)).iloc[0]
    assert (line.place, line.reason, line.to_collect) == ("PL", "eu_business_at_home", 2300)


def test_a_second_establishment_is_no_foreign_state() -> None:
    """From memory (art. 31, 32): taxed there, but no registration of a seller who is not established."""
    profile = union_seller("DE", established_in=["DE", "FR"], fulfiller=[fulfiller(ship_from=["FR", "PL"])])
    found = asked(
        profile,
        net_sale("there", "FR", "100.00", sent_from="FR"),
        net_sale("elsewhere", "PL", "100.00", sent_from="PL"),
    )
    assert found.loc[["there", "elsewhere"], "reason"].tolist() == ["eu_established", "eu_domestic_elsewhere"]


@pytest.mark.source("dk-skat-territories")
def test_northern_ireland_is_inside_for_goods_only() -> None:
    """Windsor Framework (list of the Danish Tax Agency): stated for goods; a digital supply is not one."""
    found = asked(
        union_seller("DE", registration=registered("DE")),
        net_sale("goods", "XI", "100.00"),
        net_sale("digital", "XI", "100.00", product_class="digital"),
        net_sale("digital, Canary Islands", "ES 35001", "100.00", product_class="digital"),
    )
    assert found.loc["goods", "duty"] == "collect"
    services = found.loc[["digital", "digital, Canary Islands"]]
    assert services.duty.tolist() == ["no_tax_here"] * 2
    assert services.reason.tolist() == ["eu_service_northern_ireland", "eu_service_outside"]
    assert services.to_collect_high.tolist() == [0, 0]


@pytest.mark.source("ie-vatca-2010-sch-2")
@pytest.mark.parametrize(
    ("transport", "duty", "reason"),
    [
        ("second", "zero_rated_export", "eu_export"),
        ("unset", "zero_rated_export", "eu_export"),
        ("first", "no_tax_here", "eu_after_export"),
    ],
)
def test_only_the_supply_with_the_transport_is_the_export(transport: str, duty: str, reason: str) -> None:
    """VATCA 2010 Sch. 2 para 3: exported by the supplier; where the fulfiller's sale carries it, that one is the export."""
    profile = union_seller("DE", fulfiller=[fulfiller(ship_from=["DE"], transport_supply=transport)])
    line = asked(profile, net_sale("A", "ES 35001", "100.00")).iloc[0]
    assert (line.duty, line.reason, line.to_collect_high) == (duty, reason, 0)


@pytest.mark.parametrize(
    ("importer", "held", "amount", "reason"),
    [
        pytest.param("customer", [], "100.00", "eu_import_without_ioss", id="the buyer imports"),
        pytest.param("customer", IOSS, "100.00", "eu_ioss", id="the scheme"),
        pytest.param("customer", IOSS, "150.01", "eu_import_over_150", id="the scheme, above its limit"),
        pytest.param("seller", [], "100.00", "eu_imported_for_sale", id="the seller imports"),
        pytest.param("seller", IOSS, "100.00", "eu_ioss", id="the seller imports under its scheme"),
        pytest.param(
            "seller", IOSS, "150.01", "eu_imported_for_sale", id="the seller imports, above the limit"
        ),
        pytest.param("fulfiller", IOSS, "100.00", "eu_imported_for_sale", id="the fulfiller imports first"),
    ],
)
def test_who_imports_decides(importer: str, held: list[dict[str, Any]], amount: str, reason: str) -> None:
    """Commission's notes, questions 12 to 14: stock that is already imported is not of the scheme; the rest from memory."""
    profile = seller(registration=held, fulfiller=[fulfiller(importer=importer)])
    line = asked(profile, net_sale("A", "FR", amount, sent_from="US-IN")).iloc[0]
    assert line.reason == reason


@pytest.mark.parametrize(
    ("channel", "held", "collected", "reason"),
    [
        pytest.param("own", [], "", "eu_import_over_150", id="nobody charges VAT: the price is the value"),
        pytest.param("own", IOSS, "", "eu_ioss", id="the scheme's VAT is inside"),
        pytest.param("own", [], "28.00", "eu_import_without_ioss", id="VAT that was charged is inside"),
        pytest.param("marketplace", [], "", "eu_deemed_supplier", id="the marketplace's VAT is inside"),
    ],
)
def test_vat_is_inside_a_price_only_where_it_is_charged(
    channel: str, held: list[dict[str, Any]], collected: str, reason: str
) -> None:
    """Commission's notes, question 17 (168 with VAT of 28 is 140); without any VAT charged the 168 are the value: derived."""
    order = net_sale("A", "FR", "168.00", sent_from="US-IN", tax_collected=collected, channel=channel)
    order |= {"tax_included": "yes", "marketplace": "bazaar" if channel == "marketplace" else ""}
    assert asked(seller(registration=held), order).iloc[0].reason == reason


@pytest.mark.source("es-aeat-iva-2023", "eu-dir-2006-112-art-59c", "ie-tdm-distance-sales")
@pytest.mark.parametrize(
    ("home", "more", "rule"),
    [
        (
            "ES",
            {"fulfiller": [fulfiller(ship_from=["PL"])]},
            "ES/distance_sales/sent_from_home_only:2023-01-01",
        ),
        (
            "DE",
            {"fulfiller": [fulfiller(ship_from=["PL"])]},
            "EU/distance_sales/sent_from_home_only:2021-07-01",
        ),
        (
            "AT",
            {"established_in": ["AT", "HU"]},
            "EU/distance_sales/established_in_one_state_only:2021-07-01",
        ),
        ("BE", {}, "EU/distance_sales/what_counts:2021-07-01"),
    ],
)
def test_a_case_carries_the_rule_of_the_limit_that_decides(
    home: str, more: dict[str, Any], rule: str
) -> None:
    """Art. 59c and the Spanish rule: the row of the tables is named with the answer."""
    rows = asked(union_seller(home, **more), net_sale("A", "FR", "100.00")).iloc[0]["rows"].split()
    assert f"eu/scheme_rules:{rule}" in rows
    assert sum(row.startswith("eu/place_of_supply:") for row in rows) == 1


@pytest.mark.parametrize(
    ("home", "leaves", "amount", "kind", "duty"),
    [
        pytest.param("US", "US-IN", "150.00", "other", "marketplace_collects", id="import up to the limit"),
        pytest.param(
            "DE", "US-IN", "150.00", "other", "marketplace_collects", id="import of a seller inside"
        ),
        pytest.param("US", "US-IN", "150.01", "other", "import_at_border", id="import above the limit"),
        pytest.param(
            "US", "PL", "500.00", "other", "marketplace_collects", id="goods inside, seller outside"
        ),
        pytest.param(
            "DE", "PL", "500.00", "other", "collect", id="goods inside, seller inside: its own sale"
        ),
        pytest.param("US", "PL", "10.00", "digital", "collect", id="no goods"),
    ],
)
def test_a_facilitator_is_deemed_supplier_of_some_goods_only(
    home: str, leaves: str, amount: str, kind: str, duty: str
) -> None:
    """From memory (Directive 2006/112/EC art. 14a): imports up to EUR 150, and goods of sellers not established inside."""
    order = net_sale("A", "FR", amount, sent_from=leaves, product_class=kind)
    order |= {"channel": "marketplace", "marketplace": "bazaar"}
    profile = seller() if home == "US" else union_seller(home)
    assert asked(profile, order).iloc[0].duty == duty
