"""European Union: outcomes that an authority states for a described case; amounts are ours."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import answers, asked, fulfiller, net_sale, orders, registered, seller, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd

    from taxcalc import Assessment


@pytest.mark.source("ie-tdm-distance-sales", "eu-dir-2006-112-art-59c")
def test_the_sale_that_passes_the_limit_is_taxed_on_arrival(irish: Assessment) -> None:
    """As above, stated: below the limit Irish VAT.

    From the sale that exceeds it the VAT of the buyers' states.
    """
    found = answers(irish)
    assert found.loc[["FR", "DE", "ES", "FR again"], "place"].tolist() == ["IE", "IE", "ES", "FR"]
    assert found.loc[["FR", "DE", "ES", "FR again"], "to_collect"].tolist() == [80500, 69000, 94500, 2000]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_belgian_seller_within_the_limit_charges_belgian_vat() -> None:
    """European Commission, Explanatory Notes 2027, scenario 1: stated.

    Foreign sales within 10 000 like Belgian ones.
    """
    found = asked(union_seller("BE"), net_sale("home", "BE", "100.00"), net_sale("abroad", "NL", "100.00"))
    assert found.place.tolist() == ["BE", "BE"]
    assert found.to_collect.tolist() == [2100, 2100]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_belgian_seller_within_the_limit_may_choose_to_be_taxed_on_arrival() -> None:
    """European Commission, Explanatory Notes 2027, scenarios 1 and 6: stated; the choice covers goods and digital supplies."""
    choice = [{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]
    rows = [net_sale("goods", "NL", "100.00"), net_sale("digital", "NL", "100.00", product_class="digital")]
    found = asked(union_seller("BE", election=choice), *rows)
    assert found.place.tolist() == ["NL", "NL"]
    assert found.to_collect.tolist() == [2100, 2100]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_belgian_seller_over_the_limit_charges_the_vat_of_each_state() -> None:
    """European Commission, Explanatory Notes 2027, scenarios 2 and 9: stated.

    Goods to Germany, Czechia, Sweden.
    """
    rows = [
        net_sale("over", "DE", "10000.01"),
        *(net_sale(to, to, "100.00", "2026-03-03") for to in ("DE", "CZ", "SE")),
    ]
    found = asked(union_seller("BE"), *rows)
    assert found.loc[["DE", "CZ", "SE"], "place"].tolist() == ["DE", "CZ", "SE"]
    assert found.loc[["DE", "CZ", "SE"], "to_collect"].tolist() == [1900, 2100, 2500]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_second_establishment_takes_the_limit_away() -> None:
    """European Commission, Explanatory Notes 2027, scenario 3: stated.

    Austria with an establishment in Hungary.
    """
    found = assess(
        orders([net_sale("first", "DE", "10.00")]), union_seller("AT", established_in=["AT", "HU"])
    )
    assert found.thresholds[found.thresholds.place == "EU"].empty
    assert answers(found).loc["first", ["place", "to_collect"]].tolist() == ["DE", 190]


@pytest.mark.source("es-aeat-iva-2023")
def test_goods_sent_from_another_state_have_no_limit() -> None:
    """Agencia Tributaria, VAT manual 2023: stated (one state, goods sent only from it).

    Case numbers are ours.
    """
    profile = union_seller("ES", fulfiller=[fulfiller(ship_from=["PL"])])
    found = asked(profile, net_sale("printed in Poland", "FR", "500.00"))
    assert found.iloc[0][["place", "duty", "to_collect", "reason"]].tolist() == [
        "FR",
        "collect",
        10000,
        "eu_distance_sale",
    ]


@pytest.mark.source("ie-tdm-distance-sales")
def test_german_trader_over_the_limit_charges_irish_and_french_vat() -> None:
    """Irish Revenue, VAT and intra-Community Distance Sales of Goods, section 4.2: stated.

    VAT in Ireland and France.
    """
    rows = [
        net_sale("over", "IE", "10000.01"),
        net_sale("IE", "IE", "100.00", "2026-03-03"),
        net_sale("FR", "FR", "100.00", "2026-03-03"),
    ]
    found = asked(union_seller("DE"), *rows)
    assert found.loc[["over", "IE", "FR"], "place"].tolist() == ["IE", "IE", "FR"]
    assert found.loc[["IE", "FR"], "to_collect"].tolist() == [2300, 2000]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_parcels_from_the_canary_islands_are_imports(imports: pd.DataFrame) -> None:
    """European Commission, Explanatory Notes 2027, question 15: stated.

    Distance sales of imported goods, IOSS open.
    """
    assert imports.loc["Canary Islands", ["place", "reason"]].tolist() == ["FR", "eu_ioss"]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_stock_that_is_already_imported_is_not_of_the_import_scheme() -> None:
    """European Commission, Explanatory Notes 2027, questions 12 to 14: stated; sold from inside, or imported before the sale."""
    ioss = registered("EU", since=date(2021, 7, 1), scheme="ioss", identified_in="NL")
    inside = seller(registration=ioss, fulfiller=[fulfiller(ship_from=["NL"])])
    imported = seller(registration=ioss, fulfiller=[fulfiller(importer="fulfiller")])
    assert asked(inside, net_sale("A", "NL", "50.00")).iloc[0].reason == "eu_domestic_elsewhere"
    assert asked(imported, net_sale("A", "NL", "50.00")).iloc[0].reason == "eu_imported_for_sale"


@pytest.fixture(scope="module")
def territories() -> pd.DataFrame:
    """Parcels of a German shop to places of member states that are outside the Union's VAT."""
    addresses = ("IT 22061", "IT 23041", "DE 27498", "DE 78266", "ES 51001", "ES 52001", "FI 22100")
    plain = ("IT 20121", "DE 27472", "ES 28001", "FI 00100")
    rows = [net_sale(to, to, "100.00") for to in (*addresses, *plain)]
    return asked(union_seller("DE"), *rows)


@pytest.mark.source("eu-com-territorial-status")
@pytest.mark.parametrize(
    "to",
    [
        pytest.param("IT 22061", id="Campione d'Italia"),
        pytest.param("IT 23041", id="Livigno"),
        pytest.param("DE 27498", id="Heligoland"),
        pytest.param("DE 78266", id="Buesingen"),
        pytest.param("ES 51001", id="Ceuta"),
        pytest.param("ES 52001", id="Melilla"),
        pytest.param("FI 22100", id="Aland"),
    ],
)
def test_territories_outside_the_unions_vat_are_exports(territories: pd.DataFrame, to: str) -> None:
    """European Commission, table of territorial status: stated; postal codes are ours."""
    assert territories.loc[to, "duty"] == "zero_rated_export"
    assert territories.loc[to, "to_collect_high"] == 0


def test_neighbours_of_those_territories_are_not_exports(territories: pd.DataFrame) -> None:
    """The other side of the test above: the mainland of the same states is inside; no paper needed."""
    assert (
        territories.loc[["IT 20121", "DE 27472", "ES 28001", "FI 00100"], "duty"].tolist() == ["collect"] * 4
    )


@pytest.mark.source("fi-salo-2024")
def test_finnish_rate_follows_the_day_of_delivery(rates: pd.DataFrame) -> None:
    """City of Salo on the Finnish rule: stated; delivered 2024-08-31 at 24 %, 2024-09-01 at 25.5 %."""
    assert [rates.loc[f"delivered {day}", "to_collect"] for day in ("2024-08-31", "2024-09-01")] == [
        2400,
        2550,
    ]


@pytest.mark.source("fi-salo-2024")
def test_a_finnish_prepayment_takes_the_rate_of_its_own_day_where_no_dispatch_day_is_given() -> None:
    """City of Salo on the Finnish rule: stated; paid 2024-08-30 at 24 %, delivered 2024-09-05.

    A web shop is paid with the order. By our own word a dispatch day that is given decides (2550), so an order paid in
    advance is given without one; the assumptions of every report say so.
    """
    profile = union_seller("FI", registration=registered("FI"))
    paid = {"to": "FI", "item_amount": "100.00", "ordered_on": "2024-08-30"}
    rows = [{"order_id": "A", **paid}, {"order_id": "B", "supplied_on": "2024-09-05", **paid}]
    found = asked(profile, *rows, currency="EUR", tax_included="no")
    assert found.loc[["A", "B"], "to_collect"].tolist() == [2400, 2550]


@pytest.mark.source("pt-at-oc-25045-2024")
def test_azores_rates_lie_30_percent_below_the_national_ones(rates: pd.DataFrame) -> None:
    """Portuguese tax authority, circular 25045/2024 (read in a copy): stated; 23 and 6 become 16 and 4."""
    assert rates.loc[["PT 1000-001 other", "PT 9500-001 other"], "to_collect"].tolist() == [2300, 1600]
    assert rates.loc[["PT 1000-001 books", "PT 9500-001 books"], "to_collect"].tolist() == [600, 400]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_seller_from_outside_the_union_has_no_limit() -> None:
    """European Commission, Explanatory Notes 2027 (art.

    59c needs an establishment): stated, at any amount.
    """
    found = assess(orders([net_sale("A", "FR", "10.00", sent_from="DE")]), seller())
    assert found.thresholds[found.thresholds.place == "EU"].empty
    assert answers(found).iloc[0][["place", "reason"]].tolist() == ["FR", "eu_distance_sale"]


@pytest.mark.source("ie-vatca-2010-sch-2")
@pytest.mark.parametrize(
    ("transport", "row"), [("second", "export"), ("unset", "export"), ("first", "after_export")]
)
def test_goods_sent_out_of_the_union_carry_the_article_of_their_export(transport: str, row: str) -> None:
    """VATCA 2010 schedule 2 paragraph 3(1), on art. 146(1)(a): stated; to whatever country, whatever is asked there.

    A digital supply leaves nothing.
    """
    profile = union_seller("IE", fulfiller=[fulfiller(ship_from=["PL"], transport_supply=transport)])
    found = assess(
        orders(
            [
                net_sale("Switzerland", "CH", "30.00", sent_from="PL"),
                net_sale("Texas", "US-TX", "30.00", sent_from="PL"),
                net_sale("Canary Islands", "ES-CN", "30.00", sent_from="PL"),
                net_sale("from Indiana", "US-TX", "30.00", sent_from="US-IN"),
                net_sale("digital", "CH", "30.00", sent_from="PL", product_class="digital"),
            ]
        ),
        profile,
    )
    rows = answers(found).rows
    law = f"eu/place_of_supply:EU/{row}:2019-01-01"
    for order in ("Switzerland", "Texas", "Canary Islands"):
        assert law in rows[order].split(), order
    assert not [order for order in ("from Indiana", "digital") if "place_of_supply" in rows[order]]
