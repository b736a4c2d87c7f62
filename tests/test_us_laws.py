"""Laws that hold in every state for every kind of goods, whatever the prices: bounds, steps, refunds, split lines.

Each example is one order (or a few) of drawn amounts in each of the 561 cells of state by kind of goods, assessed
together by the public call. Exceptions are listed by name; each one listed is shown to occur. Days with a sales-tax holiday
have their laws in `test_us_holiday_laws.py`.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from us_cells import (
    BY_ORDER,
    CELLS,
    ENDS,
    FEW,
    SHOP,
    amounts,
    delivery_in_item_price,
    highest_rates,
    in_every_cell,
    line,
    quantities,
    small,
)
from us_matrix import CHARGED, COLLECT, SOLD, STATES

from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.days import number
from taxcalc.money import PPM
from taxcalc.tables.load import load_tables

FALLS_IN_MIXED_PARCELS = {"US-FL", "US-MN", "US-ND", "US-NJ", "US-PA", "US-SC", "US-VT", "US-WV"}
"""States in which the tax on a mixed parcel falls when its free goods become dearer: less of the shipping is taxed."""

FALLS_AT_ONE_END = {"US-IL", "US-NV"}
"""The same at one end only: the low end in Illinois (a share that the bill identifies), the high end in Nevada (handling)."""

DELIVERY_IN_ITEM_PRICE = delivery_in_item_price()


@FEW
@given(goods=amounts, shipping=small, cost=amounts, postage=small, quantity=quantities)
def test_tax_is_a_range_and_never_exceeds_rate_times_amount(
    goods: int, shipping: int, cost: int, postage: int, quantity: int
) -> None:
    """State and highest local rate on goods and shipping, and half a cent of rounding; never less than nothing.

    The fulfiller's tax is on its own price, marked up by a tenth at most, or on the customer's. On both sides low is not
    above expected, and expected not above high.
    """
    found = in_every_cell(SHOP, one=[line(goods, shipping, cost, postage, quantity)])
    most = dict.fromkeys(COLLECT, goods + shipping)
    most |= dict.fromkeys(CHARGED, max(goods + shipping, cost + cost // 10 + 1 + postage))
    for end, rate in highest_rates().items():
        tax = found[end, "one"]
        assert (tax >= 0).all(), end
        over = tax[2 * PPM * tax > 2 * most[end] * rate + PPM]
        assert over.empty, f"{end}: {over}"
    for low, expected, high in (COLLECT, CHARGED):
        wrong = found[(found[low] > found[expected]).one | (found[expected] > found[high]).one]
        assert wrong.empty, wrong


@FEW
@given(
    goods=amounts,
    shipping=small,
    cost=amounts,
    postage=small,
    quantity=quantities,
    more=st.integers(1, 60_000),
)
def test_tax_never_falls_when_a_price_rises(
    goods: int, shipping: int, cost: int, postage: int, quantity: int, more: int
) -> None:
    """Dearer goods, dearer shipping and one item more at the same price: no state takes less.

    One exception, by a row of us/product_rules: where delivery belongs to the price of the items, one item more takes a
    smaller part of it, and the excess over an item price falls by less than the delivery.
    """
    found = in_every_cell(
        SHOP,
        base=[line(goods * quantity, shipping, cost, postage, quantity)],
        dearer=[line(goods * quantity + more, shipping, cost, postage, quantity)],
        sent=[line(goods * quantity, shipping + more, cost, postage, quantity)],
        another=[line(goods * (quantity + 1), shipping, cost, postage, quantity + 1)],
        costlier=[line(goods * quantity, shipping, cost + more, postage, quantity)],
    )
    for end in ENDS:
        for name in ("dearer", "sent", "another", "costlier"):
            if (end in CHARGED) == (name == "costlier") or name == "dearer":
                fell = found[end][found[end, name] < found[end, "base"]]
                if name == "another":
                    fell = fell[~fell.index.isin(DELIVERY_IN_ITEM_PRICE)]
                assert fell.empty, f"{end} {name}: {fell}"


def test_one_item_more_can_lower_an_excess_that_holds_the_delivery() -> None:
    """Rhode Island, four and five items at 249.99 with 0.40 of delivery: 0.36 and 0.35 lie above 250 an item, 7 % of them."""
    assert DELIVERY_IN_ITEM_PRICE == [
        ("US-RI", "clothing"),
        ("US-RI", "clothing_children"),
        ("US-RI", "headwear"),
        ("US-RI", "footwear"),
    ]
    found = in_every_cell(
        SHOP, four=[line(4 * 24999, 40, quantity=4)], five=[line(5 * 24999, 40, quantity=5)]
    )
    for cell in DELIVERY_IN_ITEM_PRICE:
        assert found["to_collect"].loc[cell].to_dict() == {"four": 3, "five": 2}


WHOLE_OR_BY_ITEM = ("all", "all_if_one_charge", "exempt_share_if_identified", "by_item")


def shipping_is_shared_with_free_goods() -> set[str]:
    """Find, in the rows of the tables, the states that tax a share of shipping and free some kind of goods."""
    tables, day = load_tables(), number(SOLD)
    goods, shipping = tables["us/product_rules"], tables["us/shipping_rules"]
    kinds = np.arange(len(PRODUCT_CLASSES), dtype=np.int8)
    found = set()
    for state in STATES:
        rule = shipping.lookup(day, place=state)
        rows = np.concatenate(
            [goods.lookup(day, place=state, product_class=kinds, part=part) for part in ("both", "state")]
        )
        free = np.isin(goods["treatment"][rows], ("exempt", "exempt_below_item_price"))
        taxed = str(shipping["treatment"][rule]) in ("taxable", "follows_goods", "exempt_if_avoidable")
        whole = str(shipping["mixed_shipment"][rule]) in WHOLE_OR_BY_ITEM
        if free.any() and taxed and not whole:
            found.add(state)
    return found


def test_states_where_dearer_free_goods_take_tax_off_the_shipping_are_listed() -> None:
    """Rows of us/shipping_rules and us/product_rules; in each listed state the tax does fall for some kind of goods."""
    assert shipping_is_shared_with_free_goods() == FALLS_IN_MIXED_PARCELS
    mug = line(2_000, 900, product_class="homeware")
    found = in_every_cell(SHOP, base=[mug, line(1_000)], dearer=[mug, line(5_000)])["to_collect"]
    fell = found[found.dearer < found.base]
    assert {state for state, _ in fell.index} == FALLS_IN_MIXED_PARCELS


def test_states_where_only_one_end_falls_are_listed() -> None:
    """Illinois, low: the share that a bill identifies; Nevada, high: handling. No other end there falls, nor any elsewhere."""
    mug = line(2_000, 900, product_class="homeware")
    found = in_every_cell(SHOP, base=[mug, line(1_000)], dearer=[mug, line(5_000)])
    fell = {
        end: {state for state, _ in found.index[found[end].dearer < found[end].base]} - FALLS_IN_MIXED_PARCELS
        for end in COLLECT
    }
    assert fell == {"to_collect_low": {"US-IL"}, "to_collect": set(), "to_collect_high": {"US-NV"}}
    assert set().union(*fell.values()) == FALLS_AT_ONE_END


@FEW
@given(mug=amounts, other=amounts, shipping=small, more=st.integers(1, 60_000))
def test_tax_on_a_mixed_parcel_falls_only_where_shipping_is_shared(
    mug: int, other: int, shipping: int, more: int
) -> None:
    """A dearer second line lowers the tax of the order in the listed states at most (others: a cent of rounding).

    Where it falls at one end only, the expected figure does not fall.
    """
    first = line(mug, shipping, product_class="homeware")
    found = in_every_cell(SHOP, base=[first, line(other)], dearer=[first, line(other + more)])
    elsewhere = [cell for cell in CELLS if cell[0] not in FALLS_IN_MIXED_PARCELS]
    for end in COLLECT:
        counted = [cell for cell in elsewhere if end == "to_collect" or cell[0] not in FALLS_AT_ONE_END]
        tax = found[end].loc[counted]
        fell = tax[tax.dearer < tax.base - 1]
        assert fell.empty, f"{end}: {fell}"


@FEW
@given(
    goods=amounts, shipping=small, cost=amounts, postage=small, quantity=quantities, part=st.integers(0, 100)
)
def test_a_refund_cancels_its_sale(
    goods: int, shipping: int, cost: int, postage: int, quantity: int, part: int
) -> None:
    """Everything given back, in two parts on later days, leaves no tax on either side at any end."""
    later = [(SOLD + timedelta(days=days)).isoformat() for days in (1, 4)]
    first = tuple(amount * part // 100 for amount in (goods, shipping, cost, postage))
    rest = tuple(whole - some for whole, some in zip((goods, shipping, cost, postage), first, strict=True))
    found = in_every_cell(
        SHOP,
        one=[
            line(goods, shipping, cost, postage, quantity, line_id="1"),
            line(*first, quantity, line_id="1", entry="refund", ordered_on=later[0]),
            line(*rest, quantity, line_id="1", entry="refund", ordered_on=later[1]),
        ],
    )
    left = found[(found != 0).any(axis=1)]
    assert left.empty, left


@pytest.mark.parametrize("profile", [SHOP, BY_ORDER], ids=["rounded by line", "rounded by order"])
@FEW
@given(goods=amounts, shipping=small, cost=amounts, postage=small, one=quantities, other=quantities)
def test_splitting_a_line_changes_the_tax_by_a_cent_at_most(
    profile: dict[str, Any], goods: int, shipping: int, cost: int, postage: int, one: int, other: int
) -> None:
    """Equal items on one line or on two: three roundings of half a cent each, so a cent at most."""
    each = (goods, shipping, cost, postage)

    def several(count: int) -> dict[str, str]:
        return line(*(amount * count for amount in each), count)

    found = in_every_cell(profile, whole=[several(one + other)], split=[several(one), several(other)])
    for end in ENDS:
        apart = found[end][(found[end, "whole"] - found[end, "split"]).abs() > 1]
        assert apart.empty, f"{end}: {apart}"
