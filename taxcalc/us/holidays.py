"""Sales-tax holidays: what a dated row of us/holidays frees of a sale, as the low, expected and high end.

By the words of the row (`counts_when`): an order that was placed and paid in the holiday counts although it is sent later
(Streamlined Sales and Use Tax Agreement, section 322, from memory; 34 Texas Administrative Code 3.365); whether one
sent later had been accepted for immediate shipment is not known here, so its high end is taxed. Where a sale must be paid
and delivered within the days, goods made to order are expected to arrive later. Nothing is expected to be free either
where the freed goods are only part of the class, or where the seller may decline.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import NO_DAY
from taxcalc.holiday_days import frees_class, in_days, kinds
from taxcalc.kernel import Freed
from taxcalc.tables.schema import NO_VALUE
from taxcalc.us.rates import flat_rows

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.regime import Cases
    from taxcalc.tables.load import Table, Tables

    Flags = npt.NDArray[np.bool_]
    Rows = npt.NDArray[np.int32]

PART_OF_CLASS = ("bags_and_wallets", "backpacks", "school_supplies")
"""Kinds of freed goods that are narrower than their class."""

COLUMNS = (
    "valid_from",
    "last_day",
    "item_price",
    "item_price_met_when",
    "frees",
    "local_part",
    "counts_when",
    "seller_may_decline",
)
"""Columns of us/holidays that an answer rests on."""


@dataclass(frozen=True)
class FreedGoods:
    """What is freed per case: `state` and `local` int8 Freed, `limit` int64 cents an item, `with_delivery` bool."""

    state: npt.NDArray[np.int8]
    local: npt.NDArray[np.int8]
    limit: Ints
    with_delivery: Flags

    def less(self, cases: Flags) -> FreedGoods:
        """Free nothing in some cases."""
        nothing = np.int8(Freed.NOTHING)
        state, local = np.where(cases, nothing, self.state), np.where(cases, nothing, self.local)
        return FreedGoods(
            state.astype(np.int8), local.astype(np.int8), self.limit, self.with_delivery & ~cases
        )


@dataclass(frozen=True)
class Holidays:
    """The three ends, and per case the row behind them (-1 none).

    `by_flat_rate` bool: open because a flat rate may know no holiday.
    """

    low: FreedGoods
    expected: FreedGoods
    high: FreedGoods
    table: Table
    rows: Rows
    by_flat_rate: Flags

    @property
    def sure(self) -> Flags:
        """Tell where a holiday surely counts, and with it nothing but the price decides."""
        same = (self.low.state == self.high.state) & (self.low.local == self.high.local)
        return np.asarray((self.rows >= 0) & same, np.bool_)


def no_holiday(size: int) -> FreedGoods:
    """Free nothing."""
    plain = np.zeros(size, np.int8)
    return FreedGoods(plain, plain, np.zeros(size, np.int64), np.zeros(size, np.bool_))


def holidays_of_fulfiller(cases: Cases, tables: Tables) -> Holidays:
    """Answer per case for the fulfiller's sale to the seller, where the fulfiller is the retailer that is taxed.

    A sale to a reseller without an accepted document is taxed like a sale to a consumer, so the exemption of the item may
    follow it. No paper on drop shipments says so, and some holidays are for personal use only: free at the low end alone.
    """
    of_seller = holidays(cases, tables)
    none = no_holiday(cases.size)
    return replace(of_seller, expected=none, high=none)


def holidays_of_seller(cases: Cases, facts: Facts) -> Holidays:
    """Answer per case for the seller's own sale, at the low end alone where a flat rate may know no holiday.

    `in_holiday` of us/flat_rates says where that is so.
    """
    freed, flat, rows = holidays(cases, facts.tables), facts.tables["us/flat_rates"], flat_rows(cases, facts)
    open_ = (rows >= 0) & (flat["in_holiday"][rows] == "not_settled")
    if not open_.any():
        return freed
    return replace(
        freed, expected=freed.expected.less(open_), high=freed.high.less(open_), by_flat_rate=open_
    )


def holidays(cases: Cases, tables: Tables) -> Holidays:
    """Answer per case for the seller's own sale."""
    table = tables["us/holidays"]
    rows = holiday_rows(table, cases)
    sent_in = in_days(table, rows, cases.day)
    ordered_in = (sent_in ^ cases.ordered_apart) & (rows >= 0)
    when = table["counts_when"][rows]
    surely = ordered_in & ((when == "ordered_and_paid") | (sent_in & (when != "paid_and_delivered")))
    by_order = ordered_in & np.isin(when, ("sold", "ordered_paid_and_accepted"))
    perhaps = (sent_in & (when == "sold")) | (ordered_in & sent_in & (when == "paid_and_delivered"))
    open_ = np.isin(table["goods"][rows], PART_OF_CLASS) | table["seller_may_decline"][rows]
    rows = np.where(surely | by_order | perhaps, rows, np.int32(-1))
    opted_in = table["local_part"][rows] == "where_opted_in"
    always = np.zeros(cases.size, np.bool_)
    return Holidays(
        _freed(table, rows, surely | by_order | perhaps, always),
        _freed(table, rows, (surely | by_order) & ~open_, opted_in),
        _freed(table, rows, surely & ~open_, opted_in),
        table,
        rows,
        always,
    )


def holiday_rows(table: Table, cases: Cases) -> Rows:
    """Find the row for the goods of each case: of a holiday on the day of the tax point, else of the latest one before."""
    best, best_begun = np.full(cases.size, -1, np.int32), np.full(cases.size, NO_DAY, np.int64)
    for goods in kinds(table):
        rows = table.lookup(cases.day, place=cases.destination, goods=goods)
        rows = np.where(frees_class(table, rows, cases.product_class), rows, np.int32(-1))
        open_now = in_days(table, rows, cases.day)
        begun = np.where(rows >= 0, table["valid_from"][rows].astype(np.int64), NO_DAY)
        begun = np.where(open_now, begun + 2**32, begun)
        better = (rows >= 0) & ((best < 0) | (begun > best_begun))
        best, best_begun = np.where(better, rows, best), np.where(better, begun, best_begun)
    return best.astype(np.int32)


def _freed(table: Table, rows: Rows, counts: Flags, local_left: Flags) -> FreedGoods:
    """Write what rows free as the kernel takes it; `local_left` keeps the local part taxed."""
    price = table["item_price"][rows].astype(np.int64)
    words = table["item_price_met_when"][rows]
    how = np.select(
        [price == NO_VALUE, table["frees"][rows] == "first_part", words == "below"],
        [Freed.AT_ANY_PRICE, Freed.FIRST_PART, Freed.BELOW],
        Freed.UP_TO,
    )
    state = np.where(counts & (rows >= 0), how, Freed.NOTHING).astype(np.int8)
    local = np.where(local_left, np.int8(Freed.NOTHING), state)
    limit = np.where((state > 0) & (price != NO_VALUE), price, 0)
    return FreedGoods(state, local, limit, table["delivery_in_item_price"][rows] & (state > 0))
