"""Drop shipments into the United States: outcomes that the publication states, mostly without figures.

`S` is the seller, `D` the fulfiller, `C` the customer. Who owes, on which price, and which document helps is
the publisher's; amounts are ours unless the docstring says otherwise. Taxes are the state's rate alone (low
end), because the local part is open.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import answers, asked, certificate, dropped, orders, registered, seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd

    from taxcalc import Assessment

CHARGE = ["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]


@pytest.fixture(scope="module")
def without_papers() -> pd.DataFrame:
    """Assess a seller registered nowhere that gave its fulfiller no document."""
    return asked(
        seller(),
        dropped("CA", "US-CA", fulfiller_item_cost="200.00", item_amount="300.00"),
        dropped("CA marketplace", "US-CA", channel="marketplace", marketplace="bazaar"),
        dropped("CA customer resells", "US-CA", buyer_exempt="resale"),
        dropped("MA forms", "US-MA", product_class="stationery"),
        dropped("CT", "US-CT"),
        dropped("CT customer resells", "US-CT", buyer_exempt="resale"),
        dropped("KS", "US-KS", fulfiller_item_cost="18.00"),
        dropped("VA", "US-VA", fulfiller_item_cost="20.00"),
        dropped("MS", "US-MS", fulfiller_item_cost="18.00"),
        dropped("MS customer exempt", "US-MS", fulfiller_item_cost="18.00", buyer_exempt="exempt"),
        dropped("NM brooms", "US-NM", fulfiller_item_cost="150.00"),
        dropped("OH", "US-OH"),
        dropped("MI", "US-MI"),
        dropped("IN", "US-IN"),
        dropped("TX", "US-TX"),
    )


@pytest.fixture(scope="module")
def with_home_number() -> pd.DataFrame:
    """Assess a seller registered in California alone, whose number stands in documents of every kind."""
    home, lately = "US-CA", date(2026, 1, 1)
    papers = [
        certificate("US-KS", "multijurisdiction", home, lately),
        certificate("US-NM", "multijurisdiction", home, lately),
        certificate("US-AR", "streamlined", home, lately),
        certificate("US-IN", "streamlined", home, lately),
        *(
            certificate(place, "state", home, lately)
            for place in ("US-OH", "US-VA", "US-MI", "US-NY", "US-TX", "US-MO")
        ),
    ]
    profile = seller(region="US-CA", registration=registered(home), certificate=papers)
    return asked(profile, *(dropped(c["place"][3:], c["place"]) for c in papers))


@pytest.fixture(scope="module")
def licensed() -> Assessment:
    """Assess a seller with permits and certificates of California, Michigan and Kansas."""
    own = ("US-CA", "US-MI", "US-KS")
    papers = [certificate(place, "state", place, date(2026, 1, 1)) for place in own]
    profile = seller(registration=registered(*own), certificate=papers)
    return assess(orders([dropped(place[3:], place) for place in own]), profile)


def test_who_is_unregistered_has_no_duty_of_its_own(without_papers: pd.DataFrame) -> None:
    """The setting of the examples below: no duty of the seller, by our own rule; no paper behind it."""
    plain = without_papers[~without_papers.index.str.contains("customer|marketplace")]
    assert set(plain.duty) == {"below_threshold"}
    assert (plain.to_collect_high == 0).all()


@pytest.mark.source("ca-cdtfa-pub-121")
def test_california_presumes_a_tenth_on_top_of_the_fulfillers_price(without_papers: pd.DataFrame) -> None:
    """California CDTFA, Publication 121: official base of 220.00 on a charge of 200.00.

    7.25 % of it is derived.
    """
    assert without_papers.loc["CA", "fulfiller_tax_low"] == 1595


@pytest.mark.source("ca-cdtfa-pub-121")
def test_california_asks_the_fulfiller_of_an_unregistered_seller(without_papers: pd.DataFrame) -> None:
    """California CDTFA, Publication 121, out-of-state retailers: stated officially that D owes the tax."""
    assert without_papers.loc["CA", "fulfiller_reason"] == "us_fulfiller_no_document"
    assert without_papers.loc["CA", "fulfiller_tax"] > 0


@pytest.mark.source("ca-cdtfa-pub-121")
def test_california_permit_and_certificate_move_the_duty_to_the_seller(licensed: Assessment) -> None:
    """California CDTFA, Publication 121, resale certificates: stated officially.

    D is released, S owes its own tax.
    """
    line = answers(licensed).loc["CA"]
    assert line[CHARGE].tolist() == [0, 0, 0]
    assert (line.duty, line.to_collect_low) == ("collect", 725)


@pytest.mark.source("ca-cdtfa-annotation-475.0028")
def test_california_customers_own_certificate_releases_the_fulfiller(without_papers: pd.DataFrame) -> None:
    """California CDTFA, annotation 475.0028: stated officially.

    The high end is for a document that never arrives.
    """
    line = without_papers.loc["CA customer resells"]
    assert (line.fulfiller_tax_low, line.fulfiller_tax) == (0, 0)
    assert line.fulfiller_tax_high > 0


@pytest.mark.source("ca-reg-1706")
def test_california_marketplace_sale_is_no_drop_shipment(without_papers: pd.DataFrame) -> None:
    """California CDTFA, Regulation 1706 (read in summaries): stated; the facilitator owes, D does not."""
    line = without_papers.loc["CA marketplace"]
    assert line.duty == "marketplace_collects"
    assert line.fulfiller_tax == 0
    assert line.to_collect_high == 0


@pytest.mark.source("ma-lr-85-35", "ma-directive-86-21")
def test_massachusetts_takes_the_customers_price_from_a_printer(without_papers: pd.DataFrame) -> None:
    """Massachusetts, Letter Ruling 85-35 (partly read) with Directive 86-21: stated; 6.25 % of our 100.00."""
    assert without_papers.loc["MA forms", CHARGE].tolist() == [625, 625, 625]


@pytest.mark.source("ct-drs-ruling-90-16")
def test_connecticut_takes_the_customers_price(without_papers: pd.DataFrame) -> None:
    """Connecticut DRS, Ruling 90-16: stated officially.

    6.35 % of our 100.00, nothing with C's own certificate. The low end is nothing: by a policy statement of 2013 (read in
    a summary only) what a common carrier brings may be outside.
    """
    assert without_papers.loc["CT", CHARGE].tolist() == [0, 635, 635]
    assert without_papers.loc["CT customer resells", "fulfiller_tax"] == 0


@pytest.mark.source("ks-dor-notice-07-03")
def test_kansas_asks_the_fulfiller_unless_it_holds_a_certificate(
    without_papers: pd.DataFrame, with_home_number: pd.DataFrame, licensed: Assessment
) -> None:
    """Kansas DOR, Notice 07-03: stated officially.

    D's own price is the base, a multistate form with a home number is enough, and a Kansas-registered seller
    taxes C. 6.5 % of our 18.00 is 1.17.
    """
    assert without_papers.loc["KS", "fulfiller_tax_low"] == 117
    assert with_home_number.loc["KS", CHARGE].tolist() == [0, 0, 0]
    own = answers(licensed).loc["KS"]
    assert (own.duty, own.to_collect_low, own.fulfiller_tax_high) == ("collect", 650, 0)


@pytest.mark.parametrize(
    "state",
    [
        pytest.param("OH", marks=pytest.mark.source("oh-st-1989-01")),
        pytest.param("VA", marks=pytest.mark.source("va-pd-97-95")),
        pytest.param("MI", marks=pytest.mark.source("mi-rab-1988-34")),
        pytest.param("NY", marks=pytest.mark.source("ny-tb-st-190")),
        pytest.param("IN", marks=pytest.mark.source("in-dor-bulletin-57")),
        pytest.param("TX", marks=pytest.mark.source("tx-34tac-3.285")),
        pytest.param("AR", marks=pytest.mark.source("ar-gr-5-gr-53")),
        pytest.param("NM", marks=pytest.mark.source("nm-3.2.205.8")),
        pytest.param("MO", marks=pytest.mark.source("mo-lr-5797")),
    ],
)
def test_a_document_with_the_home_number_stops_the_charge(with_home_number: pd.DataFrame, state: str) -> None:
    """Stated officially, one publication a state, none with figures.

    D's sale to an unregistered S is for resale.

    Ohio Department of Taxation ST 1989-01 (certificate stating resale); Virginia Tax P.D. 97-95 (a California
    seller need not register); Michigan RAB 1988-34 example 1; New York TB-ST-190 (form ST-120 of a qualified
    out-of-state purchaser); Indiana Information Bulletin 57 (F0003, partly read); Texas 34 TAC 3.285 (home-
    state permit number); Arkansas GR-5(D) example 1; New Mexico 3.2.205.8 (multistate form); Missouri LR 5797
    (read in a summary).
    """
    line = with_home_number.loc[state]
    assert line[CHARGE].tolist() == [0, 0, 0]
    assert line.fulfiller_reason == "us_fulfiller_document"
    assert line.duty == "below_threshold"


@pytest.mark.parametrize(
    ("order", "tax"),
    [
        pytest.param("VA", 106, marks=pytest.mark.source("va-pd-91-105")),
        pytest.param("MS", 126, marks=pytest.mark.source("ms-35-4-03-05-303")),
        pytest.param("NM brooms", 731, marks=pytest.mark.source("nm-3.2.205.8")),
    ],
)
def test_without_a_document_the_fulfillers_own_price_is_the_base(
    without_papers: pd.DataFrame, order: str, tax: int
) -> None:
    """Stated officially: Virginia P.D.

    91-105 (supplier collects), Mississippi 35-4-03-05-303 (D remits on 18), New Mexico 3.2.205.8 (the brooms
    of 150 are taxable). Derived: 5.3 % of 20.00, 7 % of 18.00, 4.875 % of 150.00.
    """
    assert without_papers.loc[order, "fulfiller_tax_low"] == tax
    assert without_papers.loc[order, "fulfiller_reason"] == "us_fulfiller_no_document"


@pytest.mark.source("nj-18-24-27.2", "nj-st-3nr")
def test_new_jersey_frees_the_fulfillers_delivery_of_goods_that_are_free() -> None:
    """New Jersey, N.J.A.C. 18:24-27.2: stated; delivery is in the price of the goods and free with clothing.

    Derived for a mug: 40.00 and 4.50 at 6.625 % are 2.95.
    """
    kinds = ("clothing", "homeware")
    sold = [dropped(kind, "US-NJ", product_class=kind, fulfiller_shipping_cost="4.50") for kind in kinds]
    found = asked(seller(), *sold)
    assert found.loc["clothing", CHARGE].tolist() == [0, 0, 0]
    assert found.loc["homeware", CHARGE].tolist() == [295, 295, 295]


@pytest.mark.source("ms-35-4-03-05-303")
def test_mississippi_frees_the_fulfiller_by_the_customers_proof(without_papers: pd.DataFrame) -> None:
    """Mississippi, 35-4-03-05-303: stated officially.

    Proof of C's exemption must reach D (else the high end).
    """
    line = without_papers.loc["MS customer exempt"]
    assert (line.fulfiller_tax_low, line.fulfiller_tax) == (0, 0)
    assert line.fulfiller_tax_high > 0


@pytest.mark.source("mi-rab-1988-34")
def test_michigan_licensed_seller_taxes_its_customer(licensed: Assessment) -> None:
    """Michigan Treasury, RAB 1988-34 example 1: stated officially; 6 % of our 100.00."""
    line = answers(licensed).loc["MI"]
    assert (line.duty, line.to_collect, line.fulfiller_tax_high) == ("collect", 600, 0)
