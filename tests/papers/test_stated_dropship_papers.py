"""Drop shipments into the United States: which paper with whose number, in whose chain, and what the invoice may say.

As in `test_stated_dropship.py`: `S` is the seller, `D` the fulfiller, `C` the customer; outcomes are the publisher's,
amounts are ours (40.00 for S, 100.00 for C).
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import asked, certificate, dropped, fulfiller, orders, registered, seller

from taxcalc import assess
from taxcalc.reports.terminal import review_text

CHARGE = ["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]
NONE = [0, 0, 0]


@pytest.mark.source("ca-cdtfa-pub-121")
def test_what_the_fulfiller_charges_is_no_tax_on_the_customers_bill() -> None:
    """California CDTFA, Publication 121, drop shippers and resale certificates: stated officially.

    S may raise its price by what D charged, but must not call it California sales tax.
    """
    record = assess(
        orders([dropped("A", "US-CA", fulfiller_tax_charged="7.25")]), seller(), period="2026-Q2"
    ).record()
    words = " ".join(review_text(record).split())
    assert "never show it to a customer as sales tax" in words
    assert record["totals"]["to_collect"]["high"] == "0.00"


@pytest.mark.source("ca-cdtfa-pub-121")
def test_of_a_chain_of_three_the_one_that_sells_to_the_unregistered_seller_owes() -> None:
    """California CDTFA, Publication 121, which retailer is liable: stated officially.

    S, not registered, buys from X, X from Y, and Y ships: X owes as the first Californian retailer after S. S has no
    invoice of Y, so Y is in no order line; that it collects in California brings no second tax.
    """
    chain = [
        fulfiller(id="X", collects_in=[{"place": "US-CA", "from": date(2018, 1, 1)}]),
        fulfiller(id="Y", collects_in=[{"place": "US-CA", "from": date(2018, 1, 1)}], ship_from=["US-CA"]),
    ]
    alone, both = (
        asked(seller(fulfiller=makers), dropped("A", "US-CA", fulfiller="X", sent_from="US-CA")).loc["A"]
        for makers in (chain[:1], chain)
    )
    assert alone.fulfiller_tax_low == 319
    assert both[CHARGE].tolist() == alone[CHARGE].tolist()


@pytest.mark.source("oh-st-1989-01", "sst-exemptions", "mtc-uniform-certificate")
@pytest.mark.parametrize("form", ["state", "multijurisdiction", "streamlined"])
@pytest.mark.parametrize("home", ["US-ID", "US-OR"])
def test_ohio_takes_any_certificate_that_states_resale(form: str, home: str) -> None:
    """Ohio Department of Taxation, ST 1989-01: stated; D has no duty to collect, and C owes use tax if S does not collect.

    An Ohio number is asked for only if there is any, so that a shop in Oregon, which gives none, is served too. C's use
    tax is no figure of the seller's: it is named as outside.
    """
    numbers = registered(home) if home != "US-OR" else []
    profile = seller(registration=numbers, certificate=[certificate("US-OH", form, home)])
    line = asked(profile, dropped("A", "US-OH")).loc["A"]
    assert line[CHARGE].tolist() == NONE
    assert (line.duty, line.to_collect_high) == ("below_threshold", 0)
    record = assess(orders([dropped("A", "US-OH")]), profile, period="2026-Q2").record()
    assert any("Use tax that customers themselves may owe" in words for words in record["outside"])


@pytest.mark.source("tx-34tac-3.285")
@pytest.mark.parametrize("home", ["US-ID", "US-OR"])
def test_texas_does_not_make_the_fulfiller_ask_whether_the_seller_should_hold_a_permit(home: str) -> None:
    """Texas 34 TAC 3.285: stated; D may accept the certificate and need not ask whether S should be registered there.

    So nothing is expected of D also where S is present in Texas; that S has to replace the certificate is said by the
    reason, and the high end is for a D that asks all the same (our rule).
    """
    numbers = registered(home) if home != "US-OR" else []
    paper: dict[str, Any] = {
        "registration": numbers,
        "certificate": [certificate("US-TX", "state", home)],
    }
    assert asked(seller(**paper), dropped("A", "US-TX")).loc["A", CHARGE].tolist() == NONE
    present = [{"place": "US-TX", "kind": "premises", "from": date(2018, 1, 1)}]
    line = asked(seller(presence=present, **paper), dropped("A", "US-TX")).loc["A"]
    assert (line.fulfiller_tax_low, line.fulfiller_tax) == (0, 0)
    assert line.fulfiller_reason == "us_fulfiller_replace_document"
    assert line.duty == "collect"


@pytest.mark.source("ny-tb-st-190")
def test_a_seller_registered_in_new_york_uses_its_own_number_and_taxes_its_customer() -> None:
    """New York, TB-ST-190: stated officially; form ST-120 with the New York number. Derived: 4 % of 100.00 at the least."""
    profile = seller(registration=registered("US-NY"), certificate=[certificate("US-NY", "state", "US-NY")])
    line = asked(profile, dropped("A", "US-NY")).loc["A"]
    assert line[CHARGE].tolist() == NONE
    assert line.duty == "collect"
    assert line.to_collect_low >= 400


@pytest.mark.source("ms-35-4-03-05-303")
def test_mississippi_frees_the_fulfiller_where_the_customer_is_a_licensed_reseller() -> None:
    """Mississippi, 35-4-03-05-303: stated officially; proof has to reach D, else the high end."""
    line = asked(seller(), dropped("A", "US-MS", fulfiller_item_cost="18.00", buyer_exempt="resale")).loc["A"]
    assert (line.fulfiller_tax_low, line.fulfiller_tax) == (0, 0)
    assert line.fulfiller_tax_high >= 126


@pytest.mark.source("mi-rab-1988-34", "mi-mcl-205.54k")
def test_michigan_frees_the_fulfiller_by_the_home_states_certificate_and_not_without_any() -> None:
    """Michigan RAB 1988-34 example 1 and MCL 205.54k: stated. Derived: 6 % of 40.00 without a certificate."""
    papers = [certificate("US-MI", "state", "US-CA", date(2026, 1, 1))]
    home = seller(registration=registered("US-CA"), certificate=papers)
    assert asked(home, dropped("A", "US-MI")).loc["A", CHARGE].tolist() == NONE
    assert asked(seller(), dropped("A", "US-MI")).loc["A", CHARGE].tolist() == [240, 240, 240]


@pytest.mark.source("mi-rab-1988-34", "mi-mcl-205.54k")
@pytest.mark.parametrize(
    ("number_of", "to", "said"),
    [
        pytest.param("US-CA", "US-MI", True, id="home number in Michigan"),
        pytest.param(None, "US-MI", False, id="no document"),
        pytest.param("US-MI", "US-MI", False, id="licensed in Michigan"),
        pytest.param("US-CA", "US-OH", False, id="home number in a state without the condition"),
    ],
)
def test_michigan_frees_a_fulfiller_that_reports_and_the_seller_is_told_to_ask(
    number_of: str | None, to: str, *, said: bool
) -> None:
    """Michigan RAB 1988-34 example 1, MCL 205.54k: stated; D is relieved if it reports names and addresses, yearly at most.

    Whether D does is in no file of the seller: no tax is counted, and the condition is flagged.
    """
    papers = [certificate(to, "state", number_of, date(2026, 1, 1))] if number_of else []
    profile = seller(registration=registered(number_of) if number_of else [], certificate=papers)
    found = assess(orders([dropped("A", to)]), profile, period="2026-Q2")
    flags = [f for f in found.record()["findings"] if f["kind"] == "fulfiller_has_to_report"]
    assert [(f["place"], f["amount"]) for f in flags] == [(to, None)] * said
    if said:
        assert found.lines["fulfiller_tax_high"].tolist() == [0]
        assert "names and addresses" in " ".join(review_text(found.record()).split())


@pytest.mark.source("ar-gr-5-gr-53")
def test_arkansas_taxes_the_second_sale_where_the_seller_has_to_collect() -> None:
    """Arkansas GR-5(D) example 1: stated; the first sale bears no tax with a document, the second does if S must collect.

    Derived: 6.5 % of 100.00 at the least.
    """
    papers = [certificate("US-AR", "state", "US-AR")]
    line = asked(seller(registration=registered("US-AR"), certificate=papers), dropped("A", "US-AR")).loc["A"]
    assert line[CHARGE].tolist() == NONE
    assert line.duty == "collect"
    assert line.to_collect_low == 650


@pytest.mark.source("ms-dor-holiday-2022")
def test_a_manufacturers_coupon_leaves_the_price_where_it_was_in_mississippi() -> None:
    """Mississippi, holiday of 2022 (read in the press): shoes of 105.00 with 10.00 paid by the maker are above 100, taxed.

    The line holds what was charged for the shoes, whoever pays it: 105.00. With 95.00, as after a shop's own coupon, they
    would be free. Derived for the holiday of 2025.
    """
    shoes = {"to": "US-MS", "product_class": "footwear", "ordered_on": "2025-07-11"}
    found = asked(
        seller(registration=registered("US-MS")),
        {**shoes, "order_id": "maker's coupon", "item_amount": "105.00"},
        {**shoes, "order_id": "own coupon", "item_amount": "95.00"},
    )
    assert found.loc["maker's coupon", "to_collect_low"] == 735
    assert found.loc["own coupon", "to_collect_low"] == 0
