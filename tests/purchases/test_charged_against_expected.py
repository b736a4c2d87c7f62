"""What the fulfiller charged is held against what it may charge; a blank charge says nothing."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import certificate, dropped, fulfiller, orders, registered, seller

from taxcalc import assess
from taxcalc.caution import CAUTION
from taxcalc.reports.terminal import review_text

if TYPE_CHECKING:
    from taxcalc import Assessment

AS_OF, DAY = date(2026, 7, 20), "2026-05-04"
HOME = registered("US-ID")
PAPERS = [certificate("US-TX", "state", "US-ID", number="1", since=date(2025, 1, 1))]


def billed(name: str, to: str, tax: str, **more: str) -> dict[str, str]:
    """Write one drop-shipped order whose invoice shows its shipping and a tax."""
    return dropped(name, to, **{"fulfiller_shipping_cost": "0.00", "fulfiller_tax_charged": tax, **more})


def reviewed(*rows: dict[str, str], **profile: Any) -> Assessment:  # noqa: ANN401 - values of a profile
    """Assess some orders of one seller, seen from one day."""
    return assess(orders(rows, ordered_on=DAY), seller(**profile), as_of=AS_OF)


def found(*rows: dict[str, str], **profile: Any) -> dict[tuple[str, str], tuple[str, int]]:  # noqa: ANN401 - as above
    """Give amount and lines by place and kind."""
    listed = reviewed(*rows, **profile).record()["charged_against_expected"]
    return {(row["place"], row["kind"]): (row["amount"], row["lines"]) for row in listed}


@pytest.mark.source("tx-34tac-3.285")
def test_tax_charged_with_a_document_on_file_is_to_be_asked_back_by_quarter() -> None:
    """Texas takes the home-state number (34 TAC 3.285), so nothing was to be charged; refunds reach back four years."""
    rows = (
        billed("A", "US-TX", "2.50"),
        billed("B", "US-TX", "2.50"),
        billed("C", "US-TX", "1.10", ordered_on="2025-08-01"),
        billed("before the document", "US-TX", "2.50", ordered_on="2024-12-31"),
    )
    record = reviewed(*rows, registration=HOME, certificate=PAPERS).record()
    (row,) = record["charged_against_expected"]
    assert (row["place"], row["kind"], row["amount"], row["lines"], row["caution"]) == (
        "US-TX",
        "document_on_file",
        "6.10",
        3,
        CAUTION,
    )
    assert [(q["quarter"], q["amount"], q["lines"], q["ask_by"]) for q in row["quarters"]] == [
        ("2025-Q3", "1.10", 1, "2029-06-30"),
        ("2026-Q2", "5.00", 2, "2030-03-31"),
    ]
    (finding,) = (f for f in record["findings"] if f["kind"] == "charged_with_document")
    assert (finding["amount"], finding["place"]) == ("6.10", "US-TX")
    assert "ask by Mar 31, 2030" in review_text(record)


def test_a_refund_takes_back_what_was_charged_with_a_document_on_file() -> None:
    """Nothing is left to ask for, whatever the quarters."""
    back = {
        "entry": "refund",
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "ordered_on": "2026-07-02",
    }
    rows = (billed("A", "US-TX", "2.50"), billed("A", "US-TX", "2.50", **back))
    assert found(*rows, registration=HOME, certificate=PAPERS) == {}


def test_one_cent_of_rounding_is_forgiven_and_two_are_not() -> None:
    """Massachusetts taxes the customer's price: 6.25 % of 100.00 is 6.25 at every end (Directive 86-21)."""
    for tax in ("6.24", "6.25", "6.26"):
        assert found(billed("A", "US-MA", tax)) == {}
    assert found(billed("A", "US-MA", "6.27")) == {("US-MA", "more"): ("0.02", 1)}
    assert found(billed("A", "US-MA", "6.23")) == {("US-MA", "less"): ("0.02", 1)}


def test_nothing_charged_where_tax_was_expected_and_a_blank_that_says_nothing() -> None:
    """The low end is what was to be expected at least."""
    rows = (billed("A", "US-MA", "0.00"), billed("B", "US-MA", "0.00"), billed("blank", "US-MA", ""))
    assert found(*rows) == {("US-MA", "not_charged"): ("12.50", 2)}
    assert found(billed("blank", "US-MA", "")) == {}


def test_whatever_a_range_explains_is_no_difference() -> None:
    """A fulfiller that collects nobody knows where may charge nothing or all; an old document may still shield."""
    unknown = [fulfiller(collects_in="unknown")]
    for tax in ("0.00", "3.00", "6.25"):
        assert found(billed("A", "US-MA", tax), fulfiller=unknown) == {}
    assert found(billed("A", "US-MA", "7.00"), fulfiller=unknown) == {("US-MA", "more"): ("0.75", 1)}


def test_prices_that_are_not_known_explain_no_difference() -> None:
    """Without the fulfiller's price nothing is compared; without its shipping no charge is called too much."""
    assert found(billed("A", "US-TX", "9.00", fulfiller_item_cost="")) == {}
    assert found(billed("A", "US-TX", "9.00", fulfiller_shipping_cost="")) == {}
    assert ("US-TX", "less") in found(billed("A", "US-TX", "0.10", fulfiller_shipping_cost=""))
    assert ("US-TX", "more") in found(billed("A", "US-TX", "9.00"))


def test_only_the_period_counts_for_what_cannot_be_asked_back() -> None:
    """A charge of an earlier quarter that is too small is not news."""
    assert found(billed("A", "US-MA", "5.00", ordered_on="2026-03-31")) == {}
    assert found(billed("A", "US-MA", "5.00", ordered_on="2026-04-01")) == {("US-MA", "less"): ("1.25", 1)}


def test_places_without_rules_are_not_compared() -> None:
    """No rule, no expectation: Oregon has no tax, so a charge is more than explained; Canada is not held."""
    assert found(billed("A", "CA", "5.00")) == {}
    assert found(billed("A", "US-OR", "5.00")) == {("US-OR", "more"): ("5.00", 1)}


STATES = ("US-TX", "US-MA", "US-WA", "US-OR", "US-CA")


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(STATES), st.integers(-1, 900), st.sampled_from(("sale", "sample"))),
        min_size=1,
        max_size=12,
    )
)
def test_differences_are_those_of_the_lines(sales: list[tuple[str, int, str]]) -> None:
    """By the frame of lines alone: outside the range by more than a cent, added up by kind."""
    rows = [
        billed(f"{at:02}", to, f"{tax // 100}.{tax % 100:02}" if tax >= 0 else "", entry=entry)
        for at, (to, tax, entry) in enumerate(sales)
    ]
    assessment = reviewed(*rows, registration=HOME, certificate=PAPERS)
    wanted: dict[tuple[str, str], int] = {}
    terms = assessment.cases["fulfiller_reason"]
    lines = assessment.lines.sort_values("order_id")
    for (to, tax, entry), line in zip(sales, lines.itertuples(), strict=True):
        low, high = int(line.fulfiller_tax_low), int(line.fulfiller_tax_high)
        if tax < 0 or low - 1 <= tax <= high + 1:
            continue
        kind, amount = ("more", tax - high) if tax > high else ("less" if tax else "not_charged", low - tax)
        if terms[line.case_id] == "us_fulfiller_document":
            kind, amount = "document_on_file", tax
        if (kind, entry) == ("not_charged", "sample"):
            continue
        wanted[to, kind] = wanted.get((to, kind), 0) + amount
    listed = assessment.record()["charged_against_expected"]
    assert {(r["place"], r["kind"]): int(r["amount"].replace(".", "")) for r in listed} == wanted
