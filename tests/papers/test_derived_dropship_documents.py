"""Documents, dispatch and base of the fulfiller's sale: cases derived from the rules that the publications state.

The rules are the publishers'; amounts, days and sellers are ours. Who takes which document is listed by hand from the
publications that `rate_tables/us/resale_rules.csv` names row by row.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from shop import asked, certificate, dropped, fulfiller, registered, seller

from taxcalc import places
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    import pandas as pd

LATELY = date(2026, 1, 1)
CHARGE = ["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]
STRICT = ("US-CA", "US-CT", "US-DC", "US-HI", "US-LA", "US-MD", "US-MA", "US-MS", "US-PR")
"""Where only a number of the state itself works: practice notes on drop shipments, from each state's publication."""

STREAMLINED = tuple(
    f"US-{code}"
    for code in [
        "AR",
        "GA",
        "IN",
        "IA",
        "KS",
        "KY",
        "MI",
        "MN",
        "NE",
        "NV",
        "NJ",
        "NC",
        "ND",
        "OH",
        "OK",
        "RI",
        "SD",
        "TN",
        "UT",
        "VT",
        "WA",
        "WV",
        "WI",
        "WY",
    ]
)
"""The member states of the Streamlined Sales and Use Tax Agreement (streamlinedsalestax.org), Tennessee among them."""


def line(to: str, papers: list[dict[str, Any]] = (), numbers: tuple[str, ...] = (), **more: str) -> pd.Series:  # type: ignore[type-arg,assignment]
    """Assess one order of a seller with some documents and registrations."""
    profile = seller(certificate=list(papers), registration=registered(*numbers))
    return asked(profile, dropped("A", to, **more)).loc["A"]


@pytest.mark.parametrize("state", STRICT)
@pytest.mark.parametrize("form", ["state", "multijurisdiction", "streamlined"])
def test_a_strict_state_takes_no_other_states_number_in_any_form(state: str, form: str) -> None:
    """The fulfiller may charge all the same; in Connecticut the law leaves open whether it does for a parcel."""
    found = line(state, [certificate(state, form, "US-ID", LATELY)], ("US-ID",))
    sure = state != "US-CT"
    assert found.fulfiller_reason == ("us_fulfiller_no_document" if sure else "us_fulfiller_law_unclear")
    assert (found.fulfiller_tax_low > 0) == sure
    assert found.fulfiller_tax > 0


@pytest.mark.parametrize("state", STRICT)
def test_a_strict_state_takes_its_own_number(state: str) -> None:
    """In its own form."""
    found = line(state, [certificate(state, "state", state, LATELY)], (state,))
    assert found.fulfiller_reason == "us_fulfiller_document"
    assert found[CHARGE].tolist() == [0, 0, 0]


@pytest.mark.source("sst-exemptions", "sst-state-details-mo")
def test_the_agreement_has_24_members_and_missouri_is_none() -> None:
    """Streamlined Sales Tax Governing Board: stated, 24 states; its page on Missouri says that it is not a member.

    There the Board's certificate with a home number is no document, and 4.225 % of our 40.00 is 1.69 at the least.
    """
    table = load_tables()["us/streamlined_states"]
    assert {places.code(table["place"][row]) for row in table.rows()} == set(STREAMLINED)
    assert len(set(STREAMLINED)) == 24
    found = line("US-MO", [certificate("US", "streamlined", "US-ID", LATELY)], ("US-ID",))
    assert (found.fulfiller_reason, found.fulfiller_tax_low) == ("us_fulfiller_no_document", 169)


@pytest.mark.source("sst-exemptions", "wv-code-11-15b-24")
@pytest.mark.parametrize("state", STREAMLINED)
def test_streamlined_members_take_their_certificate_with_a_home_number(state: str) -> None:
    """A member lets the fulfiller rely on it whether or not the seller is registered there."""
    found = line(state, [certificate("US", "streamlined", "US-ID", LATELY)], ("US-ID",))
    assert found.fulfiller_reason == "us_fulfiller_document"


@pytest.mark.source("ny-tb-st-190", "mtc-uniform-certificate")
@pytest.mark.parametrize("issuer", ["CA", "US-ID", "US"])
def test_a_good_number_in_a_form_that_the_state_does_not_take_is_no_document(issuer: str) -> None:
    """New York takes form ST-120 from sellers registered elsewhere, and not the multijurisdiction form."""
    assert line("US-NY", [certificate("US-NY", "state", issuer, LATELY)])[CHARGE].tolist() == [0, 0, 0]
    found = line("US-NY", [certificate("US", "multijurisdiction", issuer, LATELY)])
    assert found.fulfiller_reason == "us_fulfiller_no_document"


@pytest.mark.source("co-gil-13-006", "tx-34tac-3.285", "al-dor-faq-drop-shipping")
@pytest.mark.parametrize("issuer", ["US-OR", "US"])
def test_a_seller_without_any_state_number_follows_what_the_state_says_of_it(issuer: str) -> None:
    """Oregon gives none, so what stands in the form is no state's number.

    Texas takes a statement, Colorado asks for the licence of some state, Alabama does not say.
    """
    papers = [certificate(state, "state", issuer, LATELY) for state in ("US-TX", "US-CO", "US-AL")]
    assert line("US-TX", papers).fulfiller_reason == "us_fulfiller_document"
    assert line("US-CO", papers).fulfiller_reason == "us_fulfiller_no_document"
    unclear = line("US-AL", papers)
    assert unclear.fulfiller_reason == "us_fulfiller_document_unclear"
    assert unclear.fulfiller_tax_low == 0 < unclear.fulfiller_tax <= unclear.fulfiller_tax_high


@pytest.mark.source("ca-cdtfa-pub-121", "ca-cdtfa-pub-100")
def test_california_taxes_what_the_customer_paid_above_the_postage_where_its_price_is_the_base() -> None:
    """Publications 121 and 100: no more than the actual cost of shipping is free, 2.50 of 9.00 for 6.50 is taxed.

    The presumed price, 44.00 without shipping, is expected: 3.19 at 7.25 % and 3.19 + 44.00 x 5.25 % at the highest. The
    customer's price is the high end: 102.50 at 7.25 + 5.25 % is 12.81.
    """
    paid = {"shipping_amount": "9.00", "fulfiller_shipping_cost": "6.50"}
    low, expected, high = line("US-CA", **paid)[CHARGE].tolist()
    assert (low, high) == (319, 1281)
    assert low < expected < 550
    assert line("US-CA", **{**paid, "shipping_amount": "6.50"}).fulfiller_tax_high == 1250
    apart = {"to": "US-CA", "order_id": "A", "item_amount": "50.00", "fulfiller_item_cost": "20.00"}
    first, second = {**apart, "line_id": "1"}, {**apart, "line_id": "2"}
    split = asked(
        seller(),
        {**first, "shipping_amount": "9.00", "fulfiller_shipping_cost": "0.00"},
        {**second, "shipping_amount": "0.00", "fulfiller_shipping_cost": "6.50"},
    )
    assert split["fulfiller_tax_high"].sum() == 1281


@pytest.mark.source("mn-dor-clothing", "nj-18-24-6.3", "pa-61-53.1")
@pytest.mark.parametrize("state", ["US-MN", "US-NJ", "US-PA"])
def test_goods_that_are_free_are_free_without_a_document_and_the_reason_says_so(state: str) -> None:
    """Clothing is outside the tax there, at any price; other goods are not, and a document that is on file is still named."""
    free = line(state, product_class="clothing")
    assert (free.fulfiller_reason, free[CHARGE].tolist()) == ("us_fulfiller_exempt_goods", [0, 0, 0])
    assert line(state, product_class="homeware").fulfiller_reason == "us_fulfiller_no_document"
    papers = [certificate(state, "state", state, LATELY)]
    held = line(state, papers, (state,), product_class="clothing")
    assert held.fulfiller_reason == "us_fulfiller_document"
    own = line(state, product_class="clothing", entry="sample")
    assert (own.fulfiller_reason, own.fulfiller_tax_high) == ("us_fulfiller_exempt_goods", 0)


@pytest.mark.source("tx-34tac-3.285")
def test_a_document_with_a_number_that_was_given_up_may_hold_no_longer() -> None:
    """Texas takes the home-state number (34 TAC 3.285); that one given up leaves it open is common practice, no source."""
    since = date(2025, 1, 1)
    papers = [certificate("US-TX", "state", "US-ID", since)]
    profile = seller(
        certificate=papers, registration=registered("US-ID", since=since, until=date(2026, 5, 4))
    )
    rows = [dropped(day, "US-TX", ordered_on=day) for day in ("2026-05-04", "2026-05-05")]
    found = asked(profile, *rows)["fulfiller_reason"].tolist()
    assert found == ["us_fulfiller_document", "us_fulfiller_document_unclear"]


@pytest.mark.source("fl-dor-faq-1443")
def test_florida_looks_at_where_the_goods_started() -> None:
    """Common carrier from elsewhere to a customer there is no Florida sale of the fulfiller; from Florida it is."""
    assert line("US-FL", sent_from="US-IN").fulfiller_reason == "us_fulfiller_starts_elsewhere"
    assert line("US-FL", sent_from="US-IN")[CHARGE].tolist() == [0, 0, 0]
    assert line("US-FL", sent_from="US-FL").fulfiller_tax_low == 240
    home = [certificate("US-FL", "state", "US-ID", LATELY)]
    assert line("US-FL", home, ("US-ID",), sent_from="US-FL").fulfiller_tax_low == 240


@pytest.mark.source("fl-dor-faq-1443")
@pytest.mark.parametrize(
    ("day", "reason"),
    [
        pytest.param("2025-02-28", "no_document", id="the day before it was given"),
        pytest.param("2025-03-01", "document", id="the day it was given"),
        pytest.param("2025-12-31", "document", id="the last day of its year"),
        pytest.param("2026-01-01", "document_ran_out", id="the first day of the next year"),
    ],
)
def test_floridas_annual_certificate_ends_with_its_year(day: str, reason: str) -> None:
    """After that nothing is sure at the low end, and the tax is expected."""
    papers = [certificate("US-FL", "state", "US-FL", date(2025, 3, 1))]
    found = line("US-FL", papers, ("US-FL",), sent_from="US-FL", ordered_on=day)
    assert found.fulfiller_reason == f"us_fulfiller_{reason}"
    assert (found.fulfiller_tax > 0) == (reason != "document")
    assert (found.fulfiller_tax_low > 0) == (reason == "no_document")


def test_an_end_named_in_the_profile_stands_instead_of_the_rule() -> None:
    """And a new document takes the place of the one that ran out."""
    own = ("US-FL",)
    until = [certificate("US-FL", "state", "US-FL", date(2025, 3, 1), until=date(2027, 1, 31))]
    both = [certificate("US-FL", "state", "US-FL", day) for day in (date(2025, 3, 1), date(2026, 1, 1))]
    for papers in (until, both):
        found = line("US-FL", papers, own, sent_from="US-FL", ordered_on="2026-05-04")
        assert found.fulfiller_reason == "us_fulfiller_document"


def test_one_multistate_form_runs_out_state_by_state() -> None:
    """Michigan four years, Iowa three (both from memory, as their rows say), Kansas without an end."""
    papers = [certificate("US", "streamlined", "US-ID", date(2022, 5, 4))]
    days = {"US-MI": ("2026-05-03", "2026-05-04"), "US-IA": ("2025-05-03", "2025-05-04")}
    for state, (last, after) in days.items():
        assert line(state, papers, ("US-ID",), ordered_on=last).fulfiller_reason == "us_fulfiller_document"
        found = line(state, papers, ("US-ID",), ordered_on=after)
        assert (found.fulfiller_reason, found.fulfiller_basis) == (
            "us_fulfiller_document_ran_out",
            "unconfirmed",
        )
    assert line("US-KS", papers, ("US-ID",)).fulfiller_reason == "us_fulfiller_document"


@pytest.mark.source("ma-directive-86-21", "ma-lr-83-48")
@pytest.mark.parametrize(("price", "tax"), [("175.00", 0), ("175.08", 1), ("200.00", 156)])
def test_an_item_price_is_tested_on_the_price_that_is_the_base(price: str, tax: int) -> None:
    """Massachusetts taxes the customer's price, so clothing is taxed on what it costs the customer above 175.

    The fulfiller's own 40.00 never counts: 6.25 % of 0.08 is half a cent and rounds up.
    """
    found = line("US-MA", product_class="clothing", item_amount=price)
    assert found[CHARGE].tolist() == [tax, tax, tax]


def test_new_york_tests_its_clothing_price_on_the_fulfillers_own() -> None:
    """Its base is the fulfiller's price: 40.00 is below the 110 of the state exemption, whatever the customer paid."""
    cheap = line("US-NY", product_class="clothing", item_amount="300.00")
    dear = line("US-NY", product_class="clothing", item_amount="300.00", fulfiller_item_cost="110.00")
    assert cheap.fulfiller_tax_low == 0
    assert dear.fulfiller_tax_low >= 440


@pytest.mark.source("ms-35-4-03-05-303")
def test_shipping_enters_the_base_as_the_state_says() -> None:
    """Mississippi: with it (7 % of 45.00); Massachusetts: not where it is stated apart; Puerto Rico: not known."""
    shipped = {"fulfiller_shipping_cost": "5.00", "shipping_amount": "5.00"}
    assert line("US-MS", **shipped).fulfiller_tax_low == 315
    assert line("US-MA", **shipped)[CHARGE].tolist() == [625, 625, 625]
    low, _, high = line("US-PR", **shipped)[CHARGE].tolist()
    assert low < high


@pytest.mark.source("pa-61-54.1")
def test_shipping_of_a_mixed_parcel_may_be_taxed_whole_on_the_fulfillers_invoice_too() -> None:
    """Pennsylvania: shipping follows the goods, and for a mixed parcel the row holds no rule; clothing is exempt.

    6 % of 40.00 and of half of the shipping is 2.70 at the low end; 8 % (Philadelphia) of 40.00 and all of it 4.00 at the
    high end, where half would make 3.60.
    """
    both = {"to": "US-PA", "order_id": "A", "item_amount": "100.00", "fulfiller_item_cost": "40.00"}
    clothing = {**both, "line_id": "1", "product_class": "clothing", "fulfiller_shipping_cost": "10.00"}
    mug = {**both, "line_id": "2", "product_class": "homeware", "fulfiller_shipping_cost": "0.00"}
    found = asked(seller(), clothing, mug)
    assert found["fulfiller_tax_low"].sum() == 270
    assert found["fulfiller_tax_high"].sum() == 400


def test_where_the_profile_does_not_know_whether_the_fulfiller_collects_the_tax_is_a_range() -> None:
    """From nothing to all, all of it expected; where it says no, nothing."""
    unknown = seller(fulfiller=[fulfiller(collects_in="unknown")])
    found = asked(unknown, dropped("A", "US-MA")).loc["A"]
    assert found[CHARGE].tolist() == [0, 625, 625]
    since = [{"place": "US-MA", "from": date(2026, 5, 5)}]
    dated = seller(fulfiller=[fulfiller(collects_in=since)])
    both = asked(dated, dropped("A", "US-MA"), dropped("B", "US-MA", ordered_on="2026-05-05"))
    assert both["fulfiller_tax"].tolist() == [0, 625]
