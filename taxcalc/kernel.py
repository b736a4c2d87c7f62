"""Exact arithmetic per line, the same for every regime and for both sides of the chain.

A regime says per case how goods and shipping are taxed (`Treatment`, `ShippingTreatment`); the kernel turns that into
tax per line. Everything is int64: amounts in minor units, rates in parts per million. State and local parts keep their
own bases and are added before the one rounding (`taxcalc.money.round_half_away`). Inside a price that contains the
tax, tax = gross × rate ÷ (1 + rate). The caller gives absolute amounts and puts the sign of refunds back.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.item_prices import delivery_with_goods, less_freed
from taxcalc.money import PPM, round_half_away
from taxcalc.shipping_base import shipping_base
from taxcalc.treatments import Freed, ShippingTreatment, Treatment

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.money import Ints

    Flags = npt.NDArray[np.bool_]
    Codes = npt.NDArray[np.int32]

__all__ = ["Charges", "Freed", "Quick", "Rules", "ShippingTreatment", "Treatment", "tax", "whole_parcels"]


@dataclass(frozen=True)
class Rules:
    """How each case (or, after `take`, each line) is taxed: arrays of one length.

    `*_rule` int8 Treatment, `*_limit` int64 minor units per item in the line's currency, `*_ppm` int64 rate,
    `state_over_ppm` int64 rate of the state part above the limit (HIGHER_RATE_OVER), `shipping` int8
    ShippingTreatment, `charged` bool: False makes the tax 0. `*_freed` int8 Freed, by `freed_limit` int64 minor units per
    item; `freed_with_delivery` bool: a flat charge for the parcel belongs to the price of one of its items.
    """

    state_rule: npt.NDArray[np.int8]
    state_limit: Ints
    state_ppm: Ints
    state_over_ppm: Ints
    local_rule: npt.NDArray[np.int8]
    local_limit: Ints
    local_ppm: Ints
    shipping: npt.NDArray[np.int8]
    charged: Flags
    state_freed: npt.NDArray[np.int8]
    local_freed: npt.NDArray[np.int8]
    freed_limit: Ints
    freed_with_delivery: Flags

    def take(self, index: npt.NDArray[np.integer]) -> Rules:
        """Give the rules of the cases at `index`, one a line."""
        return Rules(**{field.name: getattr(self, field.name).take(index) for field in fields(self)})


@dataclass(frozen=True)
class Charges:
    """What was charged on each line, absolute amounts in minor units: arrays of one length.

    `order` numbers the order a line belongs to (0, 1, 2 …, lines of one parcel and one place), `cost` is the actual
    cost of transport, for rules that exempt no more than that.
    """

    goods: Ints
    shipping: Ints
    quantity: Ints
    included: Flags
    order: Codes
    cost: Ints

    def take(self, index: npt.NDArray[np.intp]) -> Charges:
        """Give the charges of the lines at `index`."""
        return Charges(**{field.name: getattr(self, field.name).take(index) for field in fields(self)})


@dataclass(frozen=True)
class Quick:
    """What is needed of the rules of cases where nothing but taxed goods without tax in their price is in a parcel.

    `taxed` bool: the goods are taxed from the first unit on; `ppm` int64 state and local rate together; `shipping` bool:
    the charge is taxed once all goods of its parcel are; `over_cost` bool: only what it is above the actual cost.
    """

    taxed: Flags
    ppm: Ints
    shipping: Flags
    over_cost: Flags

    @classmethod
    def of(cls, rules: Rules) -> Quick:
        """Read it off the rules."""
        free = (
            ShippingTreatment.EXEMPT,
            ShippingTreatment.IN_ITEM_PRICE,
            ShippingTreatment.EXEMPT_UNLESS_ALONE,
        )
        in_full = (rules.state_freed == Freed.NOTHING) & (rules.local_freed == Freed.NOTHING)
        return cls(
            in_full & (rules.state_rule == Treatment.TAXED) & (rules.local_rule == Treatment.TAXED),
            rules.state_ppm + rules.local_ppm,
            ~np.isin(rules.shipping, free),
            rules.shipping == ShippingTreatment.OVER_ACTUAL_COST,
        )

    def hard(self, charges: Charges, case: Codes) -> Flags:
        """Tell which lines need the whole rules: those of parcels with other goods or none, and prices with tax inside."""
        other = ~(self.taxed.take(case) & (charges.goods > 0))
        return whole_parcels(charges.order, other) | charges.included

    def tax(self, charges: Charges, case: Codes) -> Ints:
        """Compute the tax of lines as if none of them were hard; equal to `tax` for those that are not."""
        base: Ints = charges.goods + np.where(self.shipping.take(case), charges.shipping, 0)
        if self.over_cost.any():
            over_cost = np.flatnonzero(self.over_cost.take(case))
            spared = np.minimum(charges.cost[over_cost], charges.shipping[over_cost])
            base[over_cost] -= spared
        return round_half_away(base * self.ppm.take(case), PPM)


def whole_parcels(parcel: Codes, chosen: Flags) -> Flags:
    """Widen a choice of lines to all lines of their parcels, because shipping and rounding look at whole parcels."""
    if chosen.all() or not chosen.any():
        return chosen
    concerned = np.zeros(int(parcel.max()) + 1, bool)
    concerned[parcel.take(np.flatnonzero(chosen))] = True
    return concerned.take(parcel)


def tax(charges: Charges, rules: Rules, *, by_order: bool = False) -> Ints:
    """Compute the tax of each line in minor units, rounded once per line or once per order.

    With `by_order` the tax is rounded once for all lines of an order that share a denominator (prices with the same
    tax inside, or without), and given back to the lines by largest remainder, so that they add up to it.
    """
    result = np.zeros(charges.goods.size, np.int64)
    lines = np.flatnonzero(rules.charged)
    if lines.size == 0:
        return result
    chosen, how = (charges, rules) if lines.size == result.size else (charges.take(lines), rules.take(lines))
    fractions = _fractions(chosen, how)
    result[lines] = _round_by_order(fractions, chosen.order) if by_order else fractions.rounded()
    return result


@dataclass(frozen=True)
class Fractions:
    """Tax before rounding: goods ÷ goods_under + shipping ÷ shipping_under, all int64."""

    goods: Ints
    goods_under: Ints
    shipping: Ints
    shipping_under: Ints

    def rounded(self) -> Ints:
        """Add both fractions exactly and round once."""
        if np.array_equal(self.goods_under, self.shipping_under):
            return round_half_away(self.goods + self.shipping, self.goods_under)
        whole_goods, whole_shipping = self.goods // self.goods_under, self.shipping // self.shipping_under
        left_goods, left_shipping = self.goods % self.goods_under, self.shipping % self.shipping_under
        left = left_goods * self.shipping_under + left_shipping * self.goods_under
        return whole_goods + whole_shipping + round_half_away(left, self.goods_under * self.shipping_under)


@dataclass(frozen=True)
class Bases:
    """What of goods and shipping is taxed by the state and by the localities, minor units, and their rates (ppm).

    Inside a price that contains the tax the bases contain it too.
    """

    state: Ints
    local: Ints
    state_shipping: Ints
    local_shipping: Ints
    state_ppm: Ints
    local_ppm: Ints


def bases(charges: Charges, rules: Rules) -> Bases:
    """Give the taxed part of each line."""
    charges = delivery_with_goods(charges, rules)
    state, state_ppm = _goods_base(charges, rules, "state")
    local, local_ppm = _goods_base(charges, rules, "local")
    if not charges.shipping.any():
        none = np.zeros_like(state)
        return Bases(state, local, none, none, state_ppm, local_ppm)
    of_state, of_local = (shipping_base(charges, rules, goods) for goods in (state, local))
    return Bases(state, local, of_state, of_local, state_ppm, local_ppm)


def _fractions(charges: Charges, rules: Rules) -> Fractions:
    """Give goods and shipping parts of the tax as exact fractions."""
    of = bases(charges, rules)
    goods = of.state * of.state_ppm + of.local * of.local_ppm
    goods_under = _denominator(charges.included, (of.state, of.state_ppm), (of.local, of.local_ppm))
    if not charges.shipping.any():
        return Fractions(goods, goods_under, np.zeros_like(goods), goods_under)
    shipping = of.state_shipping * of.state_ppm + of.local_shipping * of.local_ppm
    shipping_under = _denominator(
        charges.included, (of.state_shipping, of.state_ppm), (of.local_shipping, of.local_ppm)
    )
    alone = goods == 0
    return Fractions(
        goods,
        np.where(alone, shipping_under, goods_under),
        shipping,
        np.where((shipping == 0) & ~alone, goods_under, shipping_under),
    )


def _denominator(included: Flags, *parts: tuple[Ints, Ints]) -> Ints:
    """Give 1 000 000, or where the price contains the tax 1 000 000 plus the rates of the parts that are taxed."""
    under = np.full(included.shape, PPM, np.int64)
    for base, ppm in parts:
        under += np.where(included & (base > 0), ppm, 0)
    return under


def _goods_base(charges: Charges, rules: Rules, part: str) -> tuple[Ints, Ints]:
    """Give the taxed part of the goods and the rate on it, for the state or the local part."""
    rule, limit, ppm = (
        getattr(rules, f"{part}_rule"),
        getattr(rules, f"{part}_limit"),
        getattr(rules, f"{part}_ppm"),
    )
    freed = getattr(rules, f"{part}_freed")
    if not rule.any():
        return less_freed(charges, rules, freed, charges.goods), ppm
    price = charges.goods + np.where(rules.shipping == ShippingTreatment.IN_ITEM_PRICE, charges.shipping, 0)
    limit_of_line = limit * charges.quantity
    below_item_price = (rule == Treatment.EXEMPT_BELOW) & (price < limit_of_line)
    over_item_price = (rule == Treatment.HIGHER_RATE_OVER) & (price > limit_of_line)
    base = np.where((rule == Treatment.EXEMPT) | below_item_price, 0, charges.goods)
    base = np.where(rule == Treatment.EXCESS_OVER, np.maximum(price - limit_of_line, 0), base)
    base = less_freed(charges, rules, freed, base)
    return base, (np.where(over_item_price, rules.state_over_ppm, ppm) if part == "state" else ppm)


def _round_by_order(fractions: Fractions, order: Codes) -> Ints:
    """Round once per order and denominator, and give the sum back to the lines by largest remainder."""
    same = fractions.goods_under == fractions.shipping_under
    lone = fractions.rounded()
    numerator, under = fractions.goods + fractions.shipping, fractions.goods_under
    key, group = np.unique(order.astype(np.int64) * (8 * PPM) + under, return_inverse=True)
    total = np.zeros(key.size, np.int64)
    np.add.at(total, group[same], numerator[same])
    whole, left = np.divmod(numerator, under)
    given = np.zeros(key.size, np.int64)
    np.add.at(given, group[same], whole[same])
    missing = round_half_away(total, key % (8 * PPM)) - given
    rank = _rank_in_group(group, np.where(same, -left, 1), fractions.goods)
    return np.where(same, whole + (rank < missing[group]), lone)


def _rank_in_group(group: npt.NDArray[np.intp], first: Ints, then: Ints) -> Ints:
    """Rank the lines of each group by `first`, then by larger `then`, from 0."""
    order = np.lexsort((-then, first, group))
    sorted_group = group[order]
    starts = np.flatnonzero(np.r_[True, sorted_group[1:] != sorted_group[:-1]])
    rank = np.empty(group.size, np.int64)
    rank[order] = np.arange(group.size) - np.repeat(starts, np.diff(np.r_[starts, group.size]))
    return rank
