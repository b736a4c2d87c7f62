"""What the fulfiller gave back of its own sale, and whether it gave back the tax that belongs to it.

A refund to the customer is no credit of the fulfiller: only what a refund line says of the fulfiller's price or tax is one.
A line that says neither leaves the fulfiller's own sale, and its tax, as they are, which is the usual case where goods are
not sent back (common practice, no source).

- Price given back: the part of the tax charged that belongs to it has to come back, shared out by price. Where goods and
  shipping came back in different parts, the smaller share counts, because either may have borne the tax.
- Tax given back beyond that: it settles what was charged too much on the same sale.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc.columns import Blank
from taxcalc.orders import scaled

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.money import Ints
    from taxcalc.orders import Refunds
    from taxcalc.spool import Lines

    Flags = npt.NDArray[np.bool_]

PRICES = Blank.FULFILLER_ITEM_COST | Blank.FULFILLER_SHIPPING_COST
TAX = Blank.FULFILLER_TAX_CHARGED


class PriceBack(NamedTuple):
    """The fulfiller's price of each group of refunds, and how much of it came back: int64, at most the price.

    Minor units of the sale's `fulfiller_currency`. A credit in another currency than its sale is not compared: nothing of it
    came back here.
    """

    goods: Ints
    goods_back: Ints
    price: Ints
    back: Ints
    one_currency: Flags

    def part(self, amounts: Ints, group: npt.NDArray[np.integer]) -> Ints:
        """Give the part of some amounts that goes back with the price of their groups, rounded half away from zero."""
        return scaled(amounts, self.back[group], self.price[group])


def price_back(lines: Lines, refunds: Refunds) -> PriceBack:
    """Add up the fulfiller's price of each group, sold and given back."""
    goods, shipping = np.abs(lines["fulfiller_item_cost"]), np.abs(lines["fulfiller_shipping_cost"])
    same = _one_currency(lines, refunds)

    def back(values: Ints) -> Ints:
        return np.where(same, np.minimum(refunds.given_back(values), refunds.sums(values)), 0)

    price = goods + shipping
    return PriceBack(refunds.sums(goods), back(goods), refunds.sums(price), back(price), same)


def _one_currency(lines: Lines, refunds: Refunds) -> Flags:
    """Tell which groups were billed and credited in one currency."""
    money = lines["fulfiller_currency"]
    said = np.full(refunds.groups, -1, money.dtype)
    said[refunds.sale_group] = money[refunds.sales]
    same = np.ones(refunds.groups, bool)
    same[refunds.sale_group[money[refunds.sales] != said[refunds.sale_group]]] = False
    billed = _says(lines, refunds.lines)
    same[refunds.group[billed & (money[refunds.lines] != said[refunds.group])]] = False
    return same


def _says(lines: Lines, at: npt.NDArray[np.integer]) -> Flags:
    """Tell which lines hold any amount of the fulfiller's."""
    names = ("fulfiller_item_cost", "fulfiller_shipping_cost", "fulfiller_tax_charged")
    return np.asarray(np.any([lines[name][at] != 0 for name in names], axis=0), dtype=np.bool_)


class TaxBack(NamedTuple):
    """One entry a group: the tax that was to come back at least, what came back, and how well that is known.

    `missing` minor units still to come back (0 where what was charged, or a price, is not known), `unsaid` the same where a
    credit is in the files without its tax, `over` what came back beyond `due`.
    """

    missing: Ints
    unsaid: Ints
    over: Ints


def tax_back(bucket: Bucket, price: PriceBack, documented: Flags) -> TaxBack:
    """Compare the tax that came back with the part of the tax charged that belongs to the price given back.

    `documented` marks lines on which nothing was to be charged: all their tax is asked back as such.
    """
    lines, refunds = bucket.lines, bucket.refunds
    charged = refunds.sums(np.where(documented, 0, lines["fulfiller_tax_charged"]))
    goods, whole = (
        scaled(charged, price.goods_back, price.goods),
        scaled(charged, price.back, price.price),
    )
    due = np.minimum(goods, whole)
    came = np.where(price.one_currency, refunds.given_back(-lines["fulfiller_tax_charged"]), 0)
    blanks = lines["blanks"]
    unknown = _any(refunds.groups, refunds.sale_group, ((blanks & (PRICES | TAX)) != 0)[refunds.sales])
    priced = (lines["fulfiller_item_cost"] != 0) | (lines["fulfiller_shipping_cost"] != 0)
    unsaid = _any(refunds.groups, refunds.group, (priced & ((blanks & TAX) != 0))[refunds.lines])
    lacks = np.where(price.one_currency & ~unknown, np.maximum(due - came, 0), 0)
    return TaxBack(np.where(unsaid, 0, lacks), np.where(unsaid, lacks, 0), np.maximum(came - due, 0))


def shared_out(amounts: Ints, group: npt.NDArray[np.integer], total: Ints) -> Ints:
    """Share the total of each group out over its amounts, in their order and at most each amount's group sum, exactly.

    `total` has one entry a group; the shares of a group add up to its total, or to its amounts where those are less.
    """
    rank = np.argsort(group, kind="stable")
    ordered = group[rank]
    starts = np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]]) if ordered.size else np.zeros(0, int)
    running = np.cumsum(amounts[rank])
    before = np.repeat(running[starts] - amounts[rank][starts], np.diff(np.r_[starts, ordered.size]))
    until, whole = running - before, np.zeros(total.size, np.int64)
    np.add.at(whole, group, amounts)
    given = np.minimum(total, whole)[ordered]
    share = scaled(given, until, whole[ordered]) - scaled(given, until - amounts[rank], whole[ordered])
    result = np.empty(amounts.size, np.int64)
    result[rank] = share
    return result


def _any(groups: int, group: npt.NDArray[np.integer], flags: Flags) -> Flags:
    """Tell which groups have a line with the flag."""
    found = np.zeros(groups, bool)
    found[group[flags]] = True
    return found
