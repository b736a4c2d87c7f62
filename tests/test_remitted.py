"""What was paid over counts for the days it was paid for, and for no others."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shop import net_sale, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.remitted import Paid, matched

AS_OF = date(2026, 10, 5)
QUARTERS = {
    "2025-Q4": "2025-11-03",
    "2026-Q1": "2026-02-03",
    "2026-Q2": "2026-05-04",
    "2026-Q3": "2026-08-03",
}


def collected(**tax: str) -> list[dict[str, str]]:
    """Write one sale into Kentucky (6 %, no local tax) a quarter, with the tax that was collected on it."""
    return [
        {"to": "US-KY", "item_amount": "100.00", "tax_collected": amount, "ordered_on": QUARTERS[quarter]}
        for quarter, amount in tax.items()
    ]


def payment(first: str, last: str, amount: str, place: str = "US-KY") -> dict[str, Any]:
    """Write one [[remitted]]."""
    return {
        "place": place,
        "from": date.fromisoformat(first),
        "until": date.fromisoformat(last),
        "amount": amount,
    }


def record(
    rows: list[dict[str, str]], *paid: dict[str, Any], since: date = date(2024, 1, 1)
) -> dict[str, Any]:
    """Assess sales of a seller that is registered in Kentucky."""
    profile = seller(registration=registered("US-KY", since=since), remitted=list(paid))
    return assess(orders(rows), profile, as_of=AS_OF).record()


def said(of: dict[str, Any], kind: str, place: str = "US-KY") -> str | None:
    """Give the amount of a finding, None where it is not made."""
    return next((f["amount"] for f in of["findings"] if f["id"] == f"{kind}:{place}"), None)


BOTH = collected(**{"2026-Q1": "6.00", "2026-Q2": "6.00"})


@pytest.mark.parametrize(
    ("paid", "gap"),
    [
        pytest.param([], "12.00", id="nothing"),
        pytest.param(
            [payment("2025-01-01", "2025-12-31", "12.00")], "12.00", id="for a year before the files"
        ),
        pytest.param([payment("2026-01-01", "2026-03-31", "6.00")], "6.00", id="the first quarter"),
        pytest.param([payment("2026-01-01", "2026-03-31", "12.00")], "6.00", id="more than the quarter had"),
        pytest.param([payment("2026-01-01", "2026-06-30", "12.00")], None, id="both in one sum"),
        pytest.param(
            [payment("2026-01-01", "2026-01-31", "2.00"), payment("2026-02-01", "2026-03-31", "4.00")],
            "6.00",
            id="by the month",
        ),
        pytest.param(
            [payment("2026-01-01", "2026-06-30", "6.00"), payment("2026-01-01", "2026-03-31", "6.00")],
            None,
            id="a wide one leaves the quarter to the narrow one",
        ),
    ],
)
def test_a_payment_covers_what_was_collected_in_its_days(paid: list[dict[str, Any]], gap: str | None) -> None:
    """6.00 collected in each of two quarters; what is not shown as paid over is counted by hand."""
    assert said(record(BOTH, *paid), "remittance_not_evidenced") == gap


def test_tax_given_back_in_a_later_quarter_is_not_asked_for() -> None:
    """6.00 collected and paid over, given back in the next quarter, and 6.00 collected in the one after."""
    sale = {**collected(**{"2026-Q1": "6.00"})[0], "order_id": "x"}
    back = {**sale, "entry": "refund", "ordered_on": "2026-05-04"}
    new = collected(**{"2026-Q3": "6.00"})[0]
    paid = payment("2026-01-01", "2026-03-31", "6.00")
    assert said(record([sale, back, new], paid), "remittance_not_evidenced") is None
    assert said(record([sale, back, new]), "remittance_not_evidenced") == "6.00"


def test_a_payment_for_days_without_a_sale_is_said_with_its_amount() -> None:
    """It is held against nothing, so it is neither shown as paid over since the duty nor lost."""
    before = payment("2024-01-01", "2024-12-31", "50.00")
    found = record(BOTH, before, payment("2026-01-01", "2026-03-31", "6.00"))
    assert said(found, "payment_unmatched") == "50.00"
    assert found["places"][0]["since_duty"]["remitted"] == "6.00"
    assert found["totals"]["since_duty"]["remitted"] == "6.00"


def test_what_was_paid_for_an_earlier_stretch_of_duty_is_not_shown_for_the_last() -> None:
    """Registered in 2025 to September and again from 2026: since the duty began is since 2026."""
    rows = collected(**{"2025-Q4": "0.00", "2026-Q1": "6.00"})
    rows[0] |= {"ordered_on": "2025-05-05", "tax_collected": "6.00"}
    twice = [
        *registered("US-KY", since=date(2025, 1, 1), until=date(2025, 9, 30)),
        *registered("US-KY", since=date(2026, 1, 1)),
    ]
    paid = [payment("2025-04-01", "2025-06-30", "6.00"), payment("2026-01-01", "2026-03-31", "5.00")]
    found = assess(orders(rows), seller(registration=twice, remitted=paid), as_of=AS_OF).record()
    assert found["places"][0]["since_duty"]["remitted"] == "5.00"
    assert said(found, "remittance_not_evidenced") == "1.00"
    assert said(found, "payment_unmatched") is None


def test_one_stop_shop_payments_count_for_their_quarter_too() -> None:
    """20.00 collected in France in each of two quarters, 40.00 paid for the first: 20.00 are not shown as paid."""
    rows = [
        net_sale(day, "FR", "100.00", ordered_on=day, tax_collected="20.00")
        for day in ("2026-02-10", "2026-05-11")
    ]
    chosen = [{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]
    profile = union_seller(
        "DE", remitted=[payment("2026-01-01", "2026-03-31", "40.00", "EU")], election=chosen
    )
    found = assess(orders(rows, currency="EUR", tax_included="no"), profile, as_of=AS_OF).record()
    assert said(found, "remittance_not_evidenced", "EU") == "20.00"


SPANS = st.tuples(st.integers(0, 7), st.integers(0, 3), st.integers(0, 500)).map(
    lambda of: Paid(of[0], of[0] + of[1], of[2])
)


@given(st.dictionaries(st.integers(0, 7), st.integers(-300, 300)), st.lists(SPANS, max_size=6))
def test_no_payment_covers_more_than_itself_or_its_quarters(had: dict[int, int], paid: list[Paid]) -> None:
    """What is matched is at most what was paid, at most what was collected, and comes from the days of a payment."""
    by_quarter = matched(had, paid)
    assert sum(by_quarter.values()) <= sum(one.amount for one in paid)
    for quarter, amount in by_quarter.items():
        assert 0 <= amount <= max(had.get(quarter, 0), 0)
        reaching = sum(one.amount for one in paid if one.first <= quarter <= one.last)
        assert amount <= reaching
