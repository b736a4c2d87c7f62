"""Goods the seller ordered for itself: the fulfiller's tax is due, and where it charged none, use tax may be owed.

That the price paid is the base is the general rule of the states' use taxes (common practice, no source); the rates are
those of the tables, whose published sources the tests in `papers/` name.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from hypothesis import given, settings
from hypothesis import strategies as st
from shop import certificate, fulfiller, orders, seller

from taxcalc import assess
from taxcalc.caution import CAUTION
from taxcalc.reports.terminal import review_text

if TYPE_CHECKING:
    from taxcalc import Assessment

AS_OF, DAY = date(2026, 7, 20), "2026-05-04"
NONE = {"low": "0.00", "expected": "0.00", "high": "0.00"}
NOWHERE = [fulfiller(collects_in=[{"place": "US-IN", "from": date(2018, 1, 1)}])]


def sample(name: str, to: str, **more: str) -> dict[str, str]:
    """Write one order of the seller's own for which the fulfiller asked 40.00."""
    plain = {"order_id": name, "to": to, "item_amount": "0.00", "fulfiller_item_cost": "40.00"}
    return {**plain, "entry": "sample", **more}


def reviewed(*rows: dict[str, str], **profile: Any) -> Assessment:  # noqa: ANN401 - values of a profile
    """Assess some orders of one seller, seen from one day."""
    return assess(orders(rows, ordered_on=DAY), seller(**profile), as_of=AS_OF)


def use_tax(*rows: dict[str, str], **profile: Any) -> dict[str, dict[str, str]]:  # noqa: ANN401 - as above
    """Give the use tax of the period by place."""
    listed = reviewed(*rows, **profile).record()["use_tax_on_samples"]
    return {row["place"]: row["use_tax"] for row in listed}


def test_where_the_fulfiller_charged_nothing_use_tax_is_on_the_price_paid() -> None:
    """Massachusetts, 6.25 % without local tax: 2.50 on 40.00, though its fulfillers are taxed on the customer's price."""
    found = use_tax(sample("A", "US-MA", fulfiller_tax_charged="0.00"))
    assert found == {"US-MA": {"low": "2.50", "expected": "2.50", "high": "2.50"}}


def test_a_charge_of_the_fulfillers_leaves_no_use_tax() -> None:
    """Whatever it charged; where that is too little the comparison of charges says so."""
    assert use_tax(sample("A", "US-MA", fulfiller_tax_charged="2.50")) == {}
    assert use_tax(sample("A", "US-MA", fulfiller_tax_charged="1.00")) == {}


def test_a_blank_charge_says_nothing() -> None:
    """The fulfiller that collects is expected to have charged; only the high end has the tax."""
    assert use_tax(sample("A", "US-MA")) == {"US-MA": {**NONE, "high": "2.50"}}
    unknown = [fulfiller(collects_in="unknown")]
    assert use_tax(sample("A", "US-MA"), fulfiller=unknown) == {"US-MA": {**NONE, "high": "2.50"}}


def test_a_fulfiller_that_does_not_collect_there_leaves_the_use_tax_to_the_seller() -> None:
    """By the profile nothing was charged, whether the file says so or not."""
    full = {"low": "2.50", "expected": "2.50", "high": "2.50"}
    assert use_tax(sample("A", "US-MA"), fulfiller=NOWHERE) == {"US-MA": full}
    assert use_tax(sample("A", "US-OR"), fulfiller=NOWHERE) == {}


def test_a_document_for_resale_does_not_cover_goods_for_oneself() -> None:
    """The tax stays due on them, and with it the use tax where none was charged."""
    papers = [certificate("US-KY", "state", "US-ID", number="1", since=date(2026, 1, 1))]
    assessment = reviewed(sample("A", "US-KY", fulfiller_tax_charged="0.00"), certificate=papers)
    assert assessment.lines["fulfiller_tax"].tolist() == [240]
    assert assessment.record()["use_tax_on_samples"][0]["use_tax"]["expected"] == "2.40"


def test_use_tax_is_a_figure_of_its_own() -> None:
    """In no sum of what should be collected, not even for a seller that is present there."""
    present = [{"place": "US-MA", "kind": "premises", "from": date(2026, 1, 1)}]
    rows = (sample("A", "US-MA", fulfiller_tax_charged="0.00"), sample("B", "US-MA", ordered_on="2026-01-05"))
    record = reviewed(*rows, presence=present).record()
    assert record["totals"]["to_collect"] == NONE
    assert record["totals"]["shortfall"] == NONE
    (row,) = record["use_tax_on_samples"]
    assert (row["lines"], row["caution"]) == (1, CAUTION)
    assert row["use_tax_of_history"] == {"low": "2.50", "expected": "2.50", "high": "5.00"}
    assert [q["quarter"] for q in row["quarters"]] == ["2026-Q1", "2026-Q2"]
    (finding,) = (f for f in record["findings"] if f["kind"] == "use_tax_on_samples")
    assert finding["amount"] == "2.50"
    assert "Use tax on your own orders" in review_text(record)


def test_a_sample_without_a_charge_is_named_once() -> None:
    """As use tax, and not again as a charge that is missing."""
    assert (
        reviewed(sample("A", "US-MA", fulfiller_tax_charged="0.00")).record()["charged_against_expected"]
        == []
    )


def given_back(name: str, to: str, price: str, **more: str) -> dict[str, str]:
    """Write what the fulfiller gave back of a sample."""
    return sample(name, to, entry="refund", fulfiller_item_cost=price, ordered_on="2026-07-02", **more)


def test_a_sample_that_was_given_back_lowers_the_use_tax_of_its_own_quarter() -> None:
    """As the fulfiller gave back its price; goods that went back were not used (common practice, no source)."""
    bought = sample("A", "US-MA", fulfiller_tax_charged="0.00")
    kept = sample("B", "US-MA", fulfiller_tax_charged="0.00")
    assert use_tax(bought, given_back("A", "US-MA", "40.00")) == {}
    half = use_tax(bought, given_back("A", "US-MA", "20.00"))
    assert half == {"US-MA": {"low": "1.25", "expected": "1.25", "high": "1.25"}}
    record = reviewed(bought, kept, given_back("A", "US-MA", "40.00")).record()
    (row,) = record["use_tax_on_samples"]
    assert (row["lines"], row["use_tax"]["expected"], row["use_tax_of_history"]["expected"]) == (
        1,
        "2.50",
        "2.50",
    )
    assert [q["quarter"] for q in row["quarters"]] == ["2026-Q2"]


def test_a_refund_that_names_no_price_of_the_fulfiller_takes_nothing_off() -> None:
    """The seller's books may hold it, the fulfiller gave nothing back."""
    bought = sample("A", "US-MA", fulfiller_tax_charged="0.00")
    full = {"US-MA": {"low": "2.50", "expected": "2.50", "high": "2.50"}}
    assert use_tax(bought, given_back("A", "US-MA", "")) == full
    assert use_tax(bought, given_back("other", "US-MA", "40.00")) == full


def test_tax_that_the_fulfiller_gave_back_while_it_kept_its_price_leaves_use_tax() -> None:
    """As where a late document took the tax off samples too."""
    bought = sample("A", "US-MA", fulfiller_tax_charged="2.50")
    mended = given_back("A", "US-MA", "0.00", fulfiller_tax_charged="-2.50")
    assert use_tax(bought) == {}
    assert use_tax(bought, mended)["US-MA"]["expected"] == "2.50"


def test_a_refund_of_a_sample_is_no_refund_of_a_sale() -> None:
    """It takes the fulfiller's tax of the sample back, is no sale given back, and belongs to its own order."""
    assessment = reviewed(
        sample("A", "US-MA", item_amount="90.00", fulfiller_tax_charged="2.50"),
        given_back("A", "US-MA", "40.00", item_amount="90.00", fulfiller_tax_charged="-2.50"),
    )
    assert assessment.lines["fulfiller_tax"].tolist() == [250, -250]
    assert assessment.lines["duty"].tolist() == ["own_use", "own_use"]
    record = assessment.record()
    assert sum(assessment.places["sales"]) == 0
    assert "refunds_without_sale" not in {f["kind"] for f in record["findings"]}
    assert record["charged_against_expected"] == []


def test_a_refund_without_a_line_goes_to_the_sales_of_an_order_that_has_samples_too() -> None:
    """A named line is that line's, sale or sample."""
    sold = {**sample("A", "US-MA", line_id="1"), "entry": "sale", "item_amount": "100.00"}
    own = sample("A", "US-MA", line_id="2", fulfiller_tax_charged="0.00")
    whole = given_back("A", "US-MA", "40.00", item_amount="100.00")
    assert use_tax(sold, own, whole)["US-MA"]["expected"] == "2.50"
    assert use_tax(sold, own, {**whole, "line_id": "2", "item_amount": "0.00"}) == {}


def test_a_sample_without_the_fulfillers_price_is_counted_as_such() -> None:
    """No use tax can be told of it, and that is said."""
    record = reviewed(sample("A", "US-MA", fulfiller_item_cost="", fulfiller_tax_charged="0.00")).record()
    assert record["use_tax_on_samples"] == []
    (finding,) = (f for f in record["findings"] if f["kind"] == "fulfiller_price_unknown")
    assert "orders of your own" in finding["text"]


def test_sales_have_no_use_tax() -> None:
    """It is the customer's matter there."""
    sale = {**sample("A", "US-MA", fulfiller_tax_charged="0.00"), "entry": "sale", "item_amount": "90.00"}
    assert use_tax(sale) == {}


@settings(max_examples=20, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(("US-MA", "US-TX", "US-NY", "US-RI", "US-OR")),
            st.integers(0, 60_000),
            st.sampled_from(("clothing", "books", "other")),
        ),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from(("line", "order")),
)
def test_use_tax_is_the_tax_the_fulfiller_should_have_charged(
    samples: list[tuple[str, int, str]], rounding: str
) -> None:
    """At each end, where nothing was charged and the fulfiller collects everywhere; and the same where it does not."""
    rows = [
        sample(
            str(at),
            to,
            fulfiller_item_cost=f"{cost // 100}.{cost % 100:02}",
            product_class=kind,
            fulfiller_tax_charged="0.00",
        )
        for at, (to, cost, kind) in enumerate(samples)
    ]
    assessment = reviewed(*rows, rounding=rounding)
    listed = assessment.record()["use_tax_on_samples"]
    for end, column in (
        ("low", "fulfiller_tax_low"),
        ("expected", "fulfiller_tax"),
        ("high", "fulfiller_tax_high"),
    ):
        shown = sum(int(row["use_tax"][end].replace(".", "")) for row in listed)
        assert shown == int(assessment.lines[column].sum())
    elsewhere = [fulfiller(collects_in=[{"place": "US-AK", "from": date(2018, 1, 1)}])]
    assert reviewed(*rows, rounding=rounding, fulfiller=elsewhere).record()["use_tax_on_samples"] == listed
