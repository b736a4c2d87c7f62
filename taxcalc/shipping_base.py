"""The taxed part of a shipping charge, line by line, by what else is in its parcel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc.money import round_half_away
from taxcalc.treatments import ShippingTreatment

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.kernel import Charges, Rules
    from taxcalc.money import Ints

    Flags = npt.NDArray[np.bool_]

BY_ALL_GOODS = (
    ShippingTreatment.SHARE_OF_TAXED_GOODS,
    ShippingTreatment.WHOLE_IF_ANY_TAXED,
    ShippingTreatment.WHOLE_IF_ONE_CHARGE,
    ShippingTreatment.OVER_ACTUAL_COST,
)
"""Treatments that look at all goods of the parcel."""


def shipping_base(charges: Charges, rules: Rules, goods_base: Ints) -> Ints:
    """Give the taxed part of the shipping charge; a share is rounded to the minor unit as it would be invoiced.

    `goods_base` int64 is the taxed part of the goods of each line. A parcel without any charge for goods counts as one of
    taxed goods.
    """
    how, shipping = rules.shipping, charges.shipping
    base = np.where(how == ShippingTreatment.TAXED, shipping, 0)
    by_all = np.isin(how, BY_ALL_GOODS)
    if by_all.any():
        base = np.where(by_all, _by_all_goods(charges, how, goods_base, by_all), base)
    like_line = how == ShippingTreatment.LIKE_ITS_LINE
    if like_line.any():
        base = np.where(like_line, _share(shipping, goods_base, charges.goods), base)
    unless_alone = how == ShippingTreatment.EXEMPT_UNLESS_ALONE
    if unless_alone.any():
        base = np.where(unless_alone & (_in_order(charges, charges.goods) == 0), shipping, base)
    return base


def _by_all_goods(charges: Charges, how: npt.NDArray[np.int8], goods_base: Ints, asked: Flags) -> Ints:
    """Give the taxed part where all goods of the parcel decide."""
    shipping = charges.shipping
    taxed, goods = _order_sums(charges, goods_base, asked)
    whole = np.where((taxed > 0) | (goods == 0), shipping, 0)
    base = np.where(how == ShippingTreatment.SHARE_OF_TAXED_GOODS, _share(shipping, taxed, goods), whole)
    over_cost = how == ShippingTreatment.OVER_ACTUAL_COST
    base = np.where(over_cost, np.maximum(whole - charges.cost, 0), base)
    if_one = how == ShippingTreatment.WHOLE_IF_ONE_CHARGE
    if if_one.any():
        split = if_one & (_in_order(charges, (shipping > 0).astype(np.int64)) > 1) & (charges.goods > 0)
        base = np.where(split, _share(shipping, goods_base, charges.goods), base)
    return base


def _share(shipping: Ints, taxed: Ints, goods: Ints) -> Ints:
    """Give shipping × taxed ÷ goods, rounded; nothing charged for goods counts as taxed goods."""
    whole = (taxed >= goods) | (shipping == 0)
    if whole.all():
        return shipping
    return np.where(whole, shipping, round_half_away(shipping * taxed, np.maximum(goods, 1)))


def _order_sums(charges: Charges, goods_base: Ints, asked: Flags) -> tuple[Ints, Ints]:
    """Add up taxed goods and all goods of each order.

    No sum is needed where all goods are wholly taxed, unless shipping stands on a line without goods.
    """
    alone = asked & (charges.goods == 0)
    if not (alone.any() or (goods_base < charges.goods).any()):
        return charges.goods, charges.goods
    return _in_order(charges, goods_base), _in_order(charges, charges.goods)


def _in_order(charges: Charges, values: Ints) -> Ints:
    """Add values up by order, and give each line the sum of its order."""
    total = np.zeros(int(charges.order.max()) + 1, np.int64)
    np.add.at(total, charges.order, values)
    return total[charges.order]
