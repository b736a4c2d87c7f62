"""European Union: the chain fulfiller → seller → consumer with one transport.

Row by row of a decision table.

The table was drawn up from Directive 2006/112/EC (art. 36a read in full in a copy, art. 138 through the Irish
law that mirrors it, the others from memory), Implementing Regulation 282/2011 art. 5a, the Commission's notes
and Irish and Spanish manuals. None of the rows is a worked example with figures: outcomes are stated, amounts
are ours (100.00 net for the consumer, 40.00 net for the seller). `DE` is where the goods leave.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from shop import asked, certificate, fulfiller, registered, seller, union_seller

if TYPE_CHECKING:
    import pandas as pd

FREE = (0, 0, 0)
FREE_IF_PROVEN = (0, 0, 760)
GERMAN_VAT = (760, 760, 760)
SINCE = date(2024, 1, 1)


def chain(profile: dict[str, Any], to: str, **more: str) -> pd.Series:
    """Answer one order sent from Germany."""
    prices = {
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "currency": "EUR",
        "tax_included": "no",
    }
    return asked(profile, {"to": to, "sent_from": "DE", **prices, **more}).iloc[0]


def fulfiller_vat(line: pd.Series) -> tuple[int, int, int]:
    """Give what the fulfiller may charge: low, expected, high."""
    return (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high)


def numbers(*states: str) -> dict[str, Any]:
    """Registrations in some member states, each number given to the fulfiller."""
    return {
        "registration": registered(*states, since=SINCE),
        "certificate": [certificate("EU", "vat_number", state, SINCE) for state in states],
    }


def sent_by(**more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build a fulfiller in Germany with some choice about the transport."""
    return {"fulfiller": [fulfiller(ship_from=["DE"], **more)]}


def test_row_1_resident_seller_goods_stay() -> None:
    """Row 1 (art. 31-32, 168, from memory): VAT of the state on both sales."""
    line = chain(union_seller("DE", **numbers("DE"), **sent_by()), "DE")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("DE", "eu_home", 1900)


@pytest.mark.source("ie-tdm-sme-domestic")
def test_row_2_exempt_small_seller_goods_stay() -> None:
    """Row 2 (Irish Revenue, SME scheme, sections 1.2 and 2).

    The fulfiller's VAT is a cost, the seller collects none.
    """
    small = [{"place": "DE", "scheme": "small_business", "from": SINCE}]
    line = chain(union_seller("DE", registration=small, **sent_by()), "DE")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.duty, line.to_collect_high) == ("exempt_small_business", 0)


@pytest.mark.source("eu-dir-2006-112-art-36a", "ie-tdm-distance-sales")
def test_row_3_resident_seller_goods_leave() -> None:
    """Row 3 (art. 36a(2); Irish Revenue section 5).

    Own VAT from the fulfiller, distance sale below the limit.
    """
    line = chain(union_seller("DE", **numbers("DE"), **sent_by(transport_supply="second")), "FR")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("DE", "eu_under_limit", 1900)


@pytest.mark.source("eu-dir-2006-112-art-59c", "ie-tdm-sme-domestic")
def test_row_4_exempt_small_seller_goods_leave() -> None:
    """Row 4 (art. 59c, 284(2)): below the limit the sale is located at home and exempt.

    The fulfiller's VAT is a cost.
    """
    small = [{"place": "DE", "scheme": "small_business", "from": SINCE}]
    line = chain(union_seller("DE", registration=small, **sent_by(transport_supply="second")), "FR")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.duty, line.to_collect_high) == ("DE", "exempt_small_business", 0)


@pytest.mark.source("eu-dir-2006-112-art-36a")
def test_row_5_foreign_number_transport_with_the_first_sale() -> None:
    """Row 5 (art. 36a(1), 138): the fulfiller bills without VAT if proven.

    The seller's sale is local on arrival.
    """
    line = chain(union_seller("NL", **numbers("NL"), **sent_by(transport_supply="first")), "FR")
    assert fulfiller_vat(line) == FREE_IF_PROVEN
    assert (line.place, line.reason, line.to_collect) == ("FR", "eu_local_after_transport", 2000)


@pytest.mark.source("eu-dir-2006-112-art-36a", "es-aeat-iva-2023")
def test_row_6_number_of_the_state_of_dispatch() -> None:
    """Row 6 (art. 36a(2); Agencia Tributaria 2023): VAT at dispatch, distance sale without any limit."""
    line = chain(union_seller("NL", **numbers("DE"), **sent_by(transport_supply="second")), "FR")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("FR", "eu_distance_sale", 2000)


@pytest.mark.source("eu-dir-2006-112-art-36a")
def test_row_7_goods_arrive_in_the_sellers_state() -> None:
    """Row 7 (art. 138, 40): the fulfiller bills without VAT if proven, the seller's sale is local at home."""
    line = chain(union_seller("NL", **numbers("NL"), **sent_by(transport_supply="first")), "NL")
    assert fulfiller_vat(line) == FREE_IF_PROVEN
    assert (line.place, line.to_collect) == ("NL", 2100)


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_row_8_distance_sale_into_the_sellers_own_state() -> None:
    """Row 8 (Commission notes scenario 15): VAT at dispatch, a distance sale into the home state."""
    line = chain(union_seller("NL", **numbers("DE"), **sent_by(transport_supply="second")), "NL")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("NL", "eu_distance_sale", 2100)


def test_row_9_foreign_number_goods_stay() -> None:
    """Row 9 (art. 31-32, 138, from memory): a foreign number does not help.

    Local registration from the first sale.
    """
    line = chain(union_seller("NL", **numbers("NL"), **sent_by()), "DE")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("DE", "eu_domestic_elsewhere", 1900)


@pytest.mark.source("ie-tdm-sme-domestic")
def test_row_12_seller_from_outside_goods_stay() -> None:
    """Row 12 (Irish Revenue, SME scheme, section 1.4): VAT of the state on both sales, no threshold."""
    line = chain(seller(**sent_by()), "DE")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("DE", "eu_domestic_elsewhere", 1900)


@pytest.mark.source("eu-dir-2006-112-art-36a", "eu-dir-2006-112-art-59c")
@pytest.mark.parametrize("supply", ["unset", "second"])
def test_row_13_seller_from_outside_goods_leave(supply: str) -> None:
    """Row 13 (art. 36a, 59c(1)(a)): no number, so VAT at dispatch; VAT on arrival from the first sale."""
    line = chain(seller(**sent_by(transport_supply=supply)), "FR")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason, line.to_collect) == ("FR", "eu_distance_sale", 2000)


@pytest.mark.source("eu-dir-2006-112-art-36a")
def test_an_open_transport_shows_both_outcomes() -> None:
    """Rows 5 and 6 together: with the choice open nothing or German VAT.

    The adverse one expected (our rule).
    """
    line = chain(union_seller("NL", **numbers("NL"), **sent_by()), "FR")
    assert fulfiller_vat(line) == (0, 760, 760)
    assert line.fulfiller_reason == "eu_fulfiller_transport_open"


@pytest.mark.source("eu-dir-2006-112-art-36a")
def test_row_14_seller_from_outside_with_a_number_of_the_state_of_dispatch() -> None:
    """Row 14 (art. 36a(2), 369a(2)): VAT at dispatch, a distance sale taxed on arrival."""
    line = chain(seller(**numbers("DE"), **sent_by(transport_supply="second")), "FR")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert (line.place, line.reason) == ("FR", "eu_distance_sale")


@pytest.mark.source("eu-dir-2006-112-art-36a")
def test_row_15_seller_from_outside_with_a_number_of_another_state() -> None:
    """Row 15 (art. 36a(1), 138): no VAT if proven, then as row 5 a local sale on arrival."""
    line = chain(seller(**numbers("NL"), **sent_by(transport_supply="first")), "FR")
    assert fulfiller_vat(line) == FREE_IF_PROVEN
    assert (line.place, line.reason) == ("FR", "eu_local_after_transport")


@pytest.mark.source("ie-vatca-2010-sch-2")
def test_row_16_export_by_the_fulfiller() -> None:
    """Row 16 (art. 146(1)(a) as in Irish schedule 2 para 3(1)).

    Free as the fulfiller's export if it holds the proof.
    """
    line = chain(union_seller("DE", **numbers("DE"), **sent_by(transport_arranged_by="fulfiller")), "NO")
    assert fulfiller_vat(line) == FREE_IF_PROVEN
    assert (line.duty, line.to_collect_high) == ("zero_rated_export", 0)


@pytest.mark.source("ie-vatca-2010-sch-2")
def test_row_17_export_by_a_seller_from_elsewhere() -> None:
    """Row 17 (art. 146(1)(b) as in Irish schedule 2 para 3(3)).

    Free as the export of a buyer not established there.
    """
    line = chain(union_seller("NL", **numbers("NL"), **sent_by(transport_arranged_by="seller")), "NO")
    assert fulfiller_vat(line) == FREE_IF_PROVEN
    assert (line.duty, line.to_collect_high) == ("zero_rated_export", 0)


@pytest.mark.source("ie-vatca-2010-sch-2")
def test_row_18_export_by_a_resident_seller() -> None:
    """Row 18 (art. 146(1)(b) needs a buyer not established there).

    VAT from the fulfiller, the seller exports.
    """
    line = chain(union_seller("DE", **numbers("DE"), **sent_by(transport_arranged_by="seller")), "NO")
    assert fulfiller_vat(line) == GERMAN_VAT
    assert line.duty == "zero_rated_export"


@pytest.mark.source("ie-vatca-2010-sch-2")
@pytest.mark.parametrize("to", ["NO", "US"])
def test_an_export_is_an_export_wherever_it_goes(to: str) -> None:
    """Rows 16 and 18, with the United States in the place of Norway: the fulfiller collects no sales tax there."""
    at_home = numbers("DE")
    more = {"ship_to_region": "US-TX", "ship_to_postal_code": "78701"} if to == "US" else {}
    by_fulfiller = sent_by(transport_arranged_by="fulfiller", collects_in=[])
    assert fulfiller_vat(chain(union_seller("DE", **at_home, **by_fulfiller), to, **more)) == FREE_IF_PROVEN
    by_seller = sent_by(transport_arranged_by="seller", collects_in=[])
    assert fulfiller_vat(chain(union_seller("DE", **at_home, **by_seller), to, **more)) == GERMAN_VAT


def test_where_the_state_of_arrival_taxes_the_fulfiller_that_tax_is_shown() -> None:
    """Common practice, no source: of two taxes that one sale may meet, the one that needs no missing proof is shown."""
    line = chain(
        seller(fulfiller=[fulfiller(ship_from=["DE"])]),
        "US",
        ship_to_region="US-TX",
        ship_to_postal_code="78701",
    )
    assert line.fulfiller_tax_low > 0


def test_row_20_import_scheme() -> None:
    """Row 20 (art. 143(1)(ca); Irish schedule 2 para 2(3)).

    No VAT from the fulfiller, VAT of the state of arrival.
    """
    ioss = [{"place": "EU", "scheme": "ioss", "identified_in": "IE", "from": SINCE}]
    line = chain(seller(registration=ioss), "FR", sent_from="US-IN")
    assert fulfiller_vat(line) == FREE
    assert (line.duty, line.reason, line.to_collect) == ("collect", "eu_ioss", 2000)


@pytest.mark.source("eu-com-explanatory-notes-2027")
@pytest.mark.parametrize(
    ("registrations", "amount", "reason"),
    [
        pytest.param([], "100.00", "eu_import_without_ioss", id="no import scheme"),
        pytest.param(
            [{"place": "EU", "scheme": "ioss", "identified_in": "IE", "from": SINCE}],
            "150.01",
            "eu_import_over_150",
            id="above EUR 150",
        ),
    ],
)
def test_row_21_import_at_the_border(registrations: list[dict[str, Any]], amount: str, reason: str) -> None:
    """Row 21 (Commission notes, questions 3 and 10): VAT at the border, paid by the consumer who imports."""
    line = chain(seller(registration=registrations), "FR", sent_from="US-IN", item_amount=amount)
    assert fulfiller_vat(line) == FREE
    assert (line.duty, line.reason, line.to_collect) == ("import_at_border", reason, 0)


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_row_24_goods_from_a_territory_outside() -> None:
    """Row 24 (art. 6; Commission notes, question 15).

    No VAT from the fulfiller, a distance sale of imported goods.
    """
    line = chain(union_seller("ES"), "FR", sent_from="ES-CN")
    assert fulfiller_vat(line) == FREE
    assert line.reason == "eu_import_without_ioss"
