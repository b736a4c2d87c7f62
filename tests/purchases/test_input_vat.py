"""What becomes of VAT that the fulfiller charges: ways, last days to ask, and what no one gives back.

The procedures and their days are from memory (rows of eu/refund_procedures say so): Directive 2008/9/EC art. 3, 4(b) and
15(1), Directive 86/560/EEC. Expected amounts are ours: 40.00 for the seller at 19 % (Germany), 23 % (Poland), 21 % (Spain).
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import certificate, fulfiller, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.caution import CAUTION
from taxcalc.routes import COMES_BACK, ROUTES

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc import Assessment

SINCE = date(2024, 1, 1)
AS_OF = date(2026, 7, 20)
DAY = "2026-05-04"


def sale(to: str, leaves: str = "PL", day: str = DAY, **more: str) -> dict[str, str]:
    """Write one order of 100.00 that costs the seller 40.00, both net."""
    prices = {
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "currency": "EUR",
        "tax_included": "no",
    }
    return {"to": to, "sent_from": leaves, "ordered_on": day, **prices, **more}


def split(profile: dict[str, Any], *rows: dict[str, str], as_of: date = AS_OF) -> list[dict[str, Any]]:
    """Give the split of the last four completed quarters."""
    parts: list[dict[str, Any]] = assess(orders(rows), profile, as_of=as_of).record()["fulfiller_tax_split"]
    return parts


def ways(profile: dict[str, Any], *rows: dict[str, str], as_of: date = AS_OF) -> dict[tuple[str, str], str]:
    """Give the expected amount by place and way."""
    parts = split(profile, *rows, as_of=as_of)
    return {(part["place"], way["route"]): way["expected"] for part in parts for way in part["ways"]}


def german(supply: str = "second", **more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build a German seller, registered at home, whose goods are made in Poland."""
    site = [fulfiller(ship_from=["PL"], transport_supply=supply)]
    return union_seller("DE", **{"registration": registered("DE", since=SINCE), "fulfiller": site, **more})


OUTSIDE = [fulfiller(ship_from=["PL"], transport_supply="second")]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_business_of_another_state_asks_for_a_refund_where_it_sells_nothing_taxed() -> None:
    """Commission notes, scenarios 18 and 19: local VAT is no part of the one-stop shop; register there or ask for a refund."""
    abroad = ways(german(), sale("FR"), sale("DE"))
    assert abroad == {("PL", "refund_between_states"): "18.40"}
    with_local_sale = ways(german(), sale("FR"), sale("PL"))
    assert with_local_sale == {("PL", "after_registering"): "18.40"}
    registered_there = german(registration=registered("DE", "PL", since=SINCE))
    assert ways(registered_there, sale("FR"), sale("PL")) == {("PL", "local_return"): "18.40"}


@pytest.mark.parametrize(
    ("as_of", "route", "part"),
    [
        pytest.param(date(2026, 9, 30), "refund_between_states", "recoverable", id="the last day"),
        pytest.param(date(2026, 10, 1), "too_late", "final", id="the day after"),
    ],
)
def test_vat_of_a_year_can_be_asked_for_until_30_september_of_the_next(
    as_of: date, route: str, part: str
) -> None:
    """Directive 2008/9/EC art. 15(1), from memory; the two calendar years in the four quarters have their own days."""
    rows = (sale("FR", day="2025-12-31"), sale("FR", day="2026-01-01"))
    (poland,) = split(german(), *rows, as_of=as_of)
    by_year = {way["year"]: (way["route"], way["expected"], way["ask_by"]) for way in poland["ways"]}
    assert by_year == {
        2025: (route, "9.20", "2026-09-30"),
        2026: ("refund_between_states", "9.20", "2027-09-30"),
    }
    assert poland[part] == ("18.40" if part == "recoverable" else "9.20")
    assert {way["least"] for way in poland["ways"]} == {"50.00 EUR"}
    assert {way["basis"] for way in poland["ways"]} == {"unconfirmed"}


def test_a_seller_from_outside_asks_by_30_june_and_only_where_it_need_not_register() -> None:
    """Directive 86/560/EEC, from memory: the one-stop shop takes one registration in one state of dispatch."""
    shop = [
        *registered("ES", since=SINCE),
        *registered("EU", since=SINCE, scheme="union_oss", identified_in="ES"),
    ]
    outside = {"reporting_currency": "EUR", "fulfiller": OUTSIDE}
    there = seller(registration=shop, **outside)
    (poland,) = split(there, sale("FR"))
    (way,) = poland["ways"]
    assert (way["route"], way["ask_by"], way["comes_back"]) == ("refund_from_outside", "2027-06-30", True)
    assert ways(seller(**outside), sale("FR")) == {("PL", "after_registering"): "9.20"}
    assert ways(there, sale("FR"), sale("PL")) == {("PL", "after_registering"): "18.40"}


def test_a_row_of_ones_own_for_a_state_goes_before_that_of_the_union(tmp_path: Path) -> None:
    """Poland might grant refunds until 30 September; the row is invented, and marked as the user's own."""
    (tmp_path / "eu").mkdir()
    (tmp_path / "eu" / "refund_procedures.csv").write_text(
        "place,route,last_month,last_day,reciprocity,valid_from,source,basis,checked_on\n"
        "PL,refund_from_outside,9,30,yes,2020-01-01,memory,unconfirmed,2026-07-01\n",
        encoding="utf-8",
    )
    shop = [
        *registered("ES", since=SINCE),
        *registered("EU", since=SINCE, scheme="union_oss", identified_in="ES"),
    ]
    there = seller(registration=shop, reporting_currency="EUR", fulfiller=OUTSIDE)
    record = assess(orders([sale("FR")]), there, as_of=AS_OF, tables=tmp_path).record()
    ((way,),) = (part["ways"] for part in record["fulfiller_tax_split"])
    assert (way["ask_by"], way["own_rows"] != [], way["least"]) == ("2027-09-30", True, None)


@pytest.mark.parametrize(
    ("profile", "kind"),
    [
        pytest.param(
            {"registration": [{"place": "DE", "scheme": "small_business", "from": SINCE}]},
            "vat_of_small_business",
            id="an exempt small business",
        ),
        pytest.param({"registration": []}, "vat_after_registering", id="registered nowhere"),
        pytest.param(
            {
                "registration": registered("PL", since=date(2026, 7, 1)),
                "fulfiller": [fulfiller(ship_from=["PL"], transport_supply="first")],
            },
            "vat_not_refunded",
            id="a number would have made it exempt",
        ),
        pytest.param({}, None, id="it comes back by a refund"),
    ],
)
def test_vat_that_does_not_come_back_is_a_finding(profile: dict[str, Any], kind: str | None) -> None:
    """Each with the sum of the four quarters; those that come back are none."""
    kinds = ("vat_of_small_business", "vat_after_registering", "vat_not_refunded", "vat_too_late")
    record = assess(orders([sale("FR")]), german(**profile), as_of=AS_OF).record()
    found = [(f["kind"], f["place"], f["amount"]) for f in record["findings"] if f["kind"] in kinds]
    assert found == ([(kind, "PL", "9.20")] if kind else [])


def test_vat_that_a_number_could_have_stopped_is_not_refunded() -> None:
    """Directive 2008/9/EC art. 4(b), from memory: no refund of VAT on a supply that may be exempt under art. 138."""
    unregistered = german("first", registration=registered("PL", since=date(2026, 7, 1)))
    assert ways(unregistered, sale("FR")) == {("PL", "may_be_exempt"): "9.20"}
    (poland,) = split(german("first"), sale("FR"))
    assert (poland["avoidable"], poland["ways"]) == ("9.20", [])


def test_an_exempt_small_business_recovers_nothing_and_samples_are_not_counted() -> None:
    """Directive 2006/112/EC art. 289 (Irish Revenue, SME scheme); samples: cautious, our rule."""
    small = german(registration=[{"place": "DE", "scheme": "small_business", "from": SINCE}])
    assert ways(small, sale("FR")) == {("PL", "small_business"): "9.20"}
    sample = sale("DE", item_amount="0", entry="sample")
    assert ways(german(), sample) == {("PL", "own_use"): "9.20"}


def test_vat_charged_on_an_exempt_sale_is_corrected_and_not_deducted() -> None:
    """Art. 203, from memory: owed by who invoices it, deductible by nobody; it stands beside the expected tax."""
    free = german("first", certificate=[certificate("EU", "vat_number", "DE", SINCE)])
    rows = (sale("FR", fulfiller_tax_charged="9.20"), sale("NO", fulfiller_tax_charged="9.20"))
    assessment = assess(orders(rows), free, as_of=AS_OF)
    record = assessment.record()
    (poland,) = record["fulfiller_tax_split"]
    assert (poland["place"], poland["charged_with_document"], poland["ways"]) == ("PL", "18.40", [])
    (charged,) = record["charged_against_expected"]
    assert (charged["place"], charged["kind"], charged["amount"]) == ("PL", "document_on_file", "18.40")
    assert [f["amount"] for f in record["findings"] if f["kind"] == "vat_charged_on_exempt_sale"] == ["18.40"]


@pytest.mark.parametrize(
    ("charged", "kind", "amount"),
    [
        pytest.param("9.20", None, None, id="the VAT of dispatch"),
        pytest.param("9.21", None, None, id="one cent of rounding"),
        pytest.param("9.22", "more", "0.02", id="more"),
        pytest.param("9.18", "less", "0.02", id="less"),
        pytest.param("0.00", "not_charged", "9.20", id="nothing"),
        pytest.param("", None, None, id="not said"),
    ],
)
def test_charges_are_compared_with_the_vat_that_is_due(
    charged: str, kind: str | None, amount: str | None
) -> None:
    """At the member state whose VAT it is, not at that of arrival."""
    rows = [sale("FR", fulfiller_tax_charged=charged, fulfiller_shipping_cost="0.00")]
    found = assess(orders(rows), german(), as_of=AS_OF, period="2026-Q2").record()["charged_against_expected"]
    assert [(row["place"], row["kind"], row["amount"]) for row in found] == (
        [("PL", kind, amount)] if kind else []
    )


@pytest.mark.parametrize("charged", ["0.00", "5.00", "9.20"])
def test_whatever_an_open_transport_explains_is_no_difference(charged: str) -> None:
    """Both outcomes are possible."""
    number = [certificate("EU", "vat_number", "DE", SINCE)]
    rows = [sale("FR", fulfiller_tax_charged=charged, fulfiller_shipping_cost="0.00")]
    assessment = assess(orders(rows), german("unset", certificate=number), as_of=AS_OF, period="2026-Q2")
    assert assessment.record()["charged_against_expected"] == []


def test_goods_for_oneself_owe_no_use_tax_in_the_union() -> None:
    """Use tax is a tax of the states of the United States."""
    sample = sale("DE", item_amount="0", entry="sample", fulfiller_tax_charged="0.00")
    assert assess(orders([sample]), german(), as_of=AS_OF).record()["use_tax_on_samples"] == []


SALES = st.lists(
    st.tuples(
        st.sampled_from(["DE", "FR", "PL", "NO", "US-TX"]),
        st.sampled_from(["PL", "ES"]),
        st.sampled_from(["2025-08-01", "2025-12-31", "2026-01-01", "2026-06-30"]),
        st.sampled_from(["", "0.00", "9.20"]),
        st.booleans(),
    ),
    min_size=1,
    max_size=8,
)


def lines_of(assessment: Assessment) -> int:
    """Add up the expected tax of the lines without a number on file or an export, in cents."""
    lines = assessment.lines
    return int(lines["fulfiller_tax"].sum())


@settings(max_examples=25, deadline=None)
@given(sales=SALES, supply=st.sampled_from(["unset", "first", "second"]), number=st.booleans())
def test_the_parts_add_up_to_the_lines(
    sales: list[tuple[str, str, str, str, bool]],
    supply: str,
    number: bool,  # noqa: FBT001 - drawn
) -> None:
    """Expected = avoidable + what its ways hold, in every place; all places = all lines; every way has words and a caution."""
    rows = [
        sale(
            to,
            leaves,
            day,
            fulfiller_tax_charged=charged,
            entry="sample" if sample else "sale",
            **({"item_amount": "0"} if sample else {}),
        )
        for to, leaves, day, charged, sample in sales
    ]
    papers = [certificate("EU", "vat_number", "DE", SINCE)] if number else []
    site = [fulfiller(ship_from=["PL", "ES"], transport_supply=supply, collects_in=[])]
    assessment = assess(orders(rows), german(certificate=papers, fulfiller=site), as_of=AS_OF)
    parts = assessment.record()["fulfiller_tax_split"]
    total = 0
    for part in parts:
        cents = {name: _cents(part[name]) for name in ("expected", "avoidable", "recoverable", "final")}
        assert cents["expected"] == cents["avoidable"] + cents["recoverable"] + cents["final"]
        back = {way["route"]: 0 for way in part["ways"]}
        for way in part["ways"]:
            back[way["route"]] += _cents(way["expected"])
            assert way["caution"] == CAUTION
            assert way["words"] == ROUTES[way["route"]]
            assert way["comes_back"] == (way["route"] in COMES_BACK)
        assert sum(v for route, v in back.items() if route in COMES_BACK) == cents["recoverable"]
        assert sum(v for route, v in back.items() if route not in COMES_BACK) == cents["final"]
        total += cents["expected"]
    assert total == lines_of(assessment)


def _cents(amount: str) -> int:
    """Read a decimal text as cents."""
    return int(amount.replace(".", ""))
