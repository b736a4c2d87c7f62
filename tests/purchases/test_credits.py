"""What the fulfiller gives back of its own sale: a refund of the customer alone is no credit, and tax has to come with price.

Texas taxes the fulfiller's own price of 40.00, Massachusetts the customer's (6.25 %, no local tax: 6.25 on 100.00); the
published sources of both stand in `papers/`. That tax follows the price given back is common practice, no source.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import certificate, dropped, orders, registered, seller

from taxcalc import assess
from taxcalc.purchases.credits import shared_out
from taxcalc.reports.terminal import review_text

if TYPE_CHECKING:
    from taxcalc import Assessment

AS_OF, DAY, LATER = date(2026, 7, 20), "2026-05-04", "2026-06-01"
HOME = {
    "registration": registered("US-ID"),
    "certificate": [certificate("US-TX", "state", "US-ID", date(2025, 1, 1))],
}


def sale(to: str, tax: str, **more: str) -> dict[str, str]:
    """Write one order of 100.00, bought for 40.00, on which the fulfiller charged some tax."""
    return dropped("A", to, **{"fulfiller_shipping_cost": "0.00", "fulfiller_tax_charged": tax, **more})


def refund(to: str, tax: str, price: str = "40.00", **more: str) -> dict[str, str]:
    """Write a refund of the whole order, on which the fulfiller gave back a price and a tax."""
    back = {"entry": "refund", "ordered_on": LATER, "fulfiller_item_cost": price, **more}
    return sale(to, tax, **back)


def reviewed(*rows: dict[str, str], **profile: Any) -> Assessment:  # noqa: ANN401 - values of a profile
    """Assess some orders of one seller, seen from one day."""
    return assess(orders(rows, ordered_on=DAY), seller(**profile), as_of=AS_OF)


def found(*rows: dict[str, str], **profile: Any) -> dict[str, tuple[str, int]]:  # noqa: ANN401 - as above
    """Give amount and lines by kind of the one place there is."""
    listed = reviewed(*rows, **profile).record()["charged_against_expected"]
    return {row["kind"]: (row["amount"], row["lines"]) for row in listed}


def test_a_refund_of_the_customer_alone_is_no_credit_of_the_fulfiller() -> None:
    """The goods were not sent back, the fulfiller keeps price and tax: nothing is wrong, whatever the column of tax says."""
    for tax in ("", "0.00"):
        assert found(sale("US-MA", "6.25"), refund("US-MA", tax, price="")) == {}
        assert found(sale("US-MA", "6.25"), refund("US-MA", tax, price="0.00")) == {}


def test_a_credit_with_all_of_the_tax_leaves_nothing() -> None:
    """Neither sign of the credit's tax matters."""
    assert found(sale("US-MA", "6.25"), refund("US-MA", "-6.25")) == {}
    assert found(sale("US-MA", "6.25"), refund("US-MA", "6.25")) == {}


def test_a_credit_without_all_of_the_tax_is_to_be_asked_for() -> None:
    """By state, quarter and line, with the sum; half of the price brings half of the tax."""
    record = reviewed(sale("US-MA", "6.25"), refund("US-MA", "0.00")).record()
    (row,) = record["charged_against_expected"]
    assert (row["place"], row["kind"], row["amount"], row["lines"]) == ("US-MA", "credit_short", "6.25", 1)
    assert [(q["quarter"], q["amount"], q["too_late"]) for q in row["quarters"]] == [
        ("2026-Q2", "6.25", False)
    ]
    (finding,) = (f for f in record["findings"] if f["kind"] == "credit_short")
    assert (finding["place"], finding["amount"]) == ("US-MA", "6.25")
    assert "a price back, without all of the tax that it had charged" in " ".join(review_text(record).split())
    assert found(sale("US-MA", "6.25"), refund("US-MA", "1.00", price="20.00")) == {
        "credit_short": ("2.13", 1)
    }
    assert found(sale("US-MA", "6.25"), refund("US-MA", "3.12", price="20.00")) == {}


def test_credits_in_parts_are_judged_together() -> None:
    """The second credit note brings the tax of both."""
    parts = [
        refund("US-MA", tax, price="20.00", line_id=name, ordered_on=day)
        for name, tax, day in (("1", "0.00", LATER), ("1", "6.25", "2026-07-02"))
    ]
    assert found(sale("US-MA", "6.25", line_id="1"), *parts) == {}
    assert found(sale("US-MA", "6.25", line_id="1"), parts[0]) == {"credit_short": ("3.13", 1)}


def test_a_credit_takes_its_part_off_the_sales_difference_in_the_sales_quarter() -> None:
    """What was charged too much, too little or not at all is settled as far as the sale is undone, also after the period."""
    after = {"ordered_on": "2026-07-02"}
    assert found(sale("US-MA", "9.00")) == {"more": ("2.75", 1)}
    assert found(sale("US-MA", "9.00"), refund("US-MA", "9.00", **after)) == {}
    assert found(sale("US-MA", "9.00"), refund("US-MA", "4.50", price="20.00", **after)) == {
        "more": ("1.37", 1)
    }
    assert found(sale("US-MA", "0.00"), refund("US-MA", "0.00")) == {}
    assert found(sale("US-MA", "5.00"), refund("US-MA", "5.00")) == {}


def test_a_credit_of_the_right_tax_leaves_what_was_charged_too_much() -> None:
    """9.00 charged, 6.25 given back with the whole price: 2.75 is still to come, once."""
    assert found(sale("US-MA", "9.00"), refund("US-MA", "6.25")) == {"credit_short": ("2.75", 1)}


def test_tax_given_back_alone_settles_what_was_charged_too_much() -> None:
    """A fulfiller that mends its invoice keeps its price."""
    assert found(sale("US-MA", "9.00"), refund("US-MA", "2.75", price="")) == {}
    assert found(sale("US-MA", "9.00"), refund("US-MA", "1.00", price="")) == {"more": ("1.75", 1)}


@pytest.mark.source("tx-34tac-3.285")
def test_with_a_document_on_file_all_tax_is_asked_back_once() -> None:
    """Texas takes the home-state number (34 TAC 3.285): the price given back changes nothing, the tax given back does."""
    assert found(sale("US-TX", "2.50"), refund("US-TX", "0.00"), **HOME) == {"document_on_file": ("2.50", 1)}
    assert found(sale("US-TX", "2.50"), refund("US-TX", "2.50"), **HOME) == {}
    assert found(sale("US-TX", "2.50"), refund("US-TX", "1.00", price=""), **HOME) == {
        "document_on_file": ("1.50", 1)
    }


def test_a_credit_of_a_sale_outside_the_files_takes_nothing_off_other_sales() -> None:
    """What was charged on it is not known."""
    other = {**refund("US-TX", "2.50"), "order_id": "before the files"}
    assert found(sale("US-TX", "2.50"), other, **HOME) == {"document_on_file": ("2.50", 1)}


def test_a_credit_whose_tax_the_files_do_not_say_is_named_apart() -> None:
    """A blank is not zero: at least the part of the price is to be looked for, and nothing is asked for yet."""
    record = reviewed(sale("US-MA", "6.25"), refund("US-MA", "")).record()
    (row,) = record["charged_against_expected"]
    assert (row["kind"], row["amount"]) == ("credit_unsaid", "6.25")
    kinds = {f["kind"]: f["urgency"] for f in record["findings"]}
    assert kinds["credit_unsaid"] == 3
    assert "credit_short" not in kinds


def test_what_was_charged_has_to_be_known() -> None:
    """Without the tax, the price or the shipping of the sale no credit is called short."""
    for blank in ("fulfiller_tax_charged", "fulfiller_item_cost", "fulfiller_shipping_cost"):
        assert "credit_short" not in found(sale("US-MA", "6.25", **{blank: ""}), refund("US-MA", "0.00"))


def test_shipping_that_is_given_back_alone_may_have_borne_no_tax() -> None:
    """And goods alone bring at least their share of the price."""
    shipped = {"fulfiller_shipping_cost": "10.00"}
    only_shipping = refund("US-MA", "0.00", price="0.00", **shipped)
    assert found(sale("US-MA", "6.25", **shipped), only_shipping) == {}
    assert found(sale("US-MA", "6.25", **shipped), refund("US-MA", "0.00")) == {"credit_short": ("5.00", 1)}


def test_a_credit_in_another_currency_is_not_compared() -> None:
    """Its part of the price cannot be told without choosing a rate."""
    back = refund("US-MA", "0.00", fulfiller_currency="EUR")
    assert found(sale("US-MA", "6.25", fulfiller_currency="USD"), back) == {}


CENTS = st.integers(0, 2_000)


@settings(max_examples=40, deadline=None)
@given(CENTS, st.integers(1, 4_000), st.integers(0, 5_000), CENTS)
def test_no_more_is_asked_for_than_was_charged_and_not_given_back(
    charged: int, price: int, price_back: int, tax_back: int
) -> None:
    """For any invoice and credit note of one sale: what is asked for is at most the tax that the fulfiller still holds."""
    rows = (
        sale("US-MA", f"{charged / 100:.2f}", fulfiller_item_cost=f"{price / 100:.2f}"),
        refund("US-MA", f"{tax_back / 100:.2f}", price=f"{price_back / 100:.2f}"),
    )
    kinds = found(*rows)
    cents = {kind: round(float(amount) * 100) for kind, (amount, _) in kinds.items()}
    asked = cents.get("more", 0) + cents.get("credit_short", 0)
    assert 0 <= asked <= max(charged - tax_back, 0)
    part = min(price_back, price)
    if tax_back == 0 and part == price and charged > 1:
        assert asked == charged


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 10**6)), max_size=30), st.integers(0, 2 * 10**6))
def test_shares_add_up_to_the_total_and_none_is_above_its_amount(
    rows: list[tuple[int, int]], total: int
) -> None:
    """Or to the amounts of the group, where those are less."""
    group = np.array([at for at, _ in rows], np.int64)
    amounts = np.array([amount for _, amount in rows], np.int64)
    shares = shared_out(amounts, group, np.full(5, total, np.int64))
    assert ((shares >= 0) & (shares <= amounts)).all()
    for at in range(5):
        assert shares[group == at].sum() == min(total, amounts[group == at].sum())
