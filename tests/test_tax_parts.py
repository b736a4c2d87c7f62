"""What of each line is taxed, and which part of its tax is the state's: for papers that ask for more than the tax."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import orders, registered, seller, union_seller
from us_matrix import STATES

from taxcalc import assess
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.figures import line_figures
from taxcalc.money import PPM
from taxcalc.tax_parts import TaxParts, tax_parts


def parts(rows: list[dict[str, str]], profile: dict[str, Any]) -> TaxParts:
    """Split the tax of some lines (one bucket)."""
    run = assess(orders(rows), profile).run
    (number,) = run.buckets
    bucket = run.bucket(number)
    figures = line_figures(bucket, run.terms, by_order=run.seller.rounding == "order")
    return tax_parts(bucket, run.terms, figures)


PRICES = st.lists(st.integers(1, 30_000), min_size=2, max_size=6)


@settings(max_examples=25, deadline=None)
@given(prices=PRICES, rounding=st.sampled_from(["line", "order"]))
def test_where_there_are_no_local_rates_all_of_the_tax_is_the_states(
    prices: list[int], rounding: str
) -> None:
    """In the Union, and in Massachusetts: also where the tax of an order is rounded once and shared out to its lines."""
    for place, currency, profile in (
        ("DE", "EUR", union_seller("DE", registration=registered("DE"), rounding=rounding)),
        ("US-MA", "USD", seller(registration=registered("US-MA"), rounding=rounding)),
    ):
        rows = [
            {"order_id": "1", "line_id": str(at), "to": place, "currency": currency, "item_amount": f"{price / 100:.2f}"}
            for at, price in enumerate(prices)
        ]  # fmt: skip
        found = parts(rows, profile)
        assert np.any(found.state) or max(prices) < 100
        assert not np.any(found.local)


@settings(max_examples=25, deadline=None)
@given(price=st.integers(100, 30_000), place=st.sampled_from(["US-WA", "US-NY", "US-TX"]))
def test_a_full_refund_takes_every_part_back(price: int, place: str) -> None:
    """Taxed amount, state's part and local part of a sale and its refund add up to nothing."""
    row = {"order_id": "1", "line_id": "1", "to": place, "item_amount": f"{price / 100:.2f}"}
    found = parts(
        [row, {**row, "entry": "refund", "ordered_on": "2026-06-04"}], seller(registration=registered(place))
    )
    for part in (found.taxable, found.state, found.local):
        assert part.sum() == 0
        assert np.any(part)


EVERYWHERE = [(state, kind) for state in STATES for kind in PRODUCT_CLASSES]
NEAR_LIMITS = [limit + step for limit in (11_000, 17_500, 25_000, 100_000) for step in (-1, 0, 1)]


@settings(max_examples=4, deadline=None)
@given(
    price=st.one_of(st.integers(1, 200_000), st.sampled_from(NEAR_LIMITS)),
    shipping=st.integers(0, 2_500),
    rounding=st.sampled_from(["line", "order"]),
)
def test_the_parts_of_every_state_are_the_tax_and_each_keeps_to_its_rate(
    price: int, shipping: int, rounding: str
) -> None:
    """For every state and kind of goods: no part below nothing, none above its own rate of the amount, the sum the tax.

    Where state and localities treat the goods alike both have one base, so that the parts stand as the rates do: half a cent
    of rounding in the state's part, and a cent in the rest that is left for the localities.
    """
    rows = [
        {"order_id": f"{state} {kind}", "to": state, "product_class": kind, "item_amount": f"{price / 100:.2f}",
         "shipping_amount": f"{shipping / 100:.2f}"}
        for state, kind in EVERYWHERE
    ]  # fmt: skip
    found = assess(orders(rows), seller(registration=registered(*STATES), rounding=rounding))
    run, cases = found.run, found.cases
    for number in run.buckets:
        bucket = run.bucket(number)
        figures = line_figures(bucket, run.terms, by_order=rounding == "order")
        split, here = tax_parts(bucket, run.terms, figures), cases.loc[bucket.case]
        rates = [here[name].to_numpy(np.int64) for name in ("state_ppm", "local_ppm")]
        assert np.array_equal(split.state + split.local, figures.to_collect["expected"])
        for part, rate in zip((split.state, split.local), rates, strict=True):
            assert np.all(part >= 0)
            assert np.all(part * PPM <= (price + shipping) * rate + PPM)
        alike = (here["item_rule"] == here["local_item_rule"]).to_numpy() & (rates[1] > 0)
        apart = np.abs(split.state * rates[1] - split.local * rates[0])
        assert np.all(2 * apart[alike] <= (rates[1] + 2 * rates[0])[alike])
