"""Prices per item where more than the goods of a line decides: what a holiday frees, and delivery that belongs to items."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.treatments import Freed, ShippingTreatment

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.kernel import Charges, Rules
    from taxcalc.money import Ints

    Flags = npt.NDArray[np.bool_]


def delivery_with_goods(charges: Charges, rules: Rules) -> Charges:
    """Give delivery that stands on a line without goods to the goods of its parcel, where each item bears its own.

    Shared by price and rounded down; what is left goes to the dearest line. Only where delivery enters the item price or
    goes with its line (280-RICR-20-70-6.6); a parcel without goods stays as it is.
    """
    with_its_item = np.isin(
        rules.shipping, (ShippingTreatment.IN_ITEM_PRICE, ShippingTreatment.LIKE_ITS_LINE)
    )
    alone = with_its_item & (charges.goods == 0) & (charges.shipping > 0)
    if not alone.any():
        return charges
    size = int(charges.order.max()) + 1
    goods, moved, given = (np.zeros(size, np.int64) for _ in range(3))
    np.add.at(goods, charges.order, charges.goods)
    alone &= goods[charges.order] > 0
    np.add.at(moved, charges.order[alone], charges.shipping[alone])
    more: Ints = moved[charges.order] * charges.goods // np.maximum(goods[charges.order], 1)
    np.add.at(given, charges.order, more)
    dearest = np.full(size, -1, np.int64)
    rising = np.argsort(charges.goods, kind="stable")
    dearest[charges.order[rising]] = rising
    left = moved > given
    more[dearest[left]] += (moved - given)[left]
    return replace(charges, shipping=np.where(alone, 0, charges.shipping) + more)


def less_freed(charges: Charges, rules: Rules, freed: npt.NDArray[np.int8], base: Ints) -> Ints:
    """Take what a holiday frees out of the base of the goods."""
    if not freed.any():
        return base
    limit = rules.freed_limit * charges.quantity
    price = charges.goods
    if rules.freed_with_delivery.any():
        price = price + np.where(rules.freed_with_delivery, _delivery_in_price(charges, rules, freed), 0)
    within = (freed == Freed.AT_ANY_PRICE) | _within(price, limit, freed)
    left = np.where(freed == Freed.FIRST_PART, np.minimum(base, np.maximum(price - limit, 0)), base)
    return np.where(within, 0, left)


def _within(price: Ints, limit: Ints, freed: npt.NDArray[np.int8]) -> Flags:
    """Tell where the price of the items of a line is within what is freed."""
    up_to, below = (freed == Freed.UP_TO) & (price <= limit), (freed == Freed.BELOW) & (price < limit)
    return np.asarray(up_to | below, np.bool_)


def _delivery_in_price(charges: Charges, rules: Rules, freed: npt.NDArray[np.int8]) -> Ints:
    """Give the delivery that counts with the items of each line; a flat charge may stand on any one item of the parcel.

    It counts with none of the freed ones where another item bears it: one that is taxed anyway, or one that stays within
    the limit with the whole charge (34 Texas Administrative Code 3.365). Else it counts where it stands.
    """
    whole = np.zeros(int(charges.order.max()) + 1, np.int64)
    np.add.at(whole, charges.order, charges.shipping)
    limit, with_all = (
        rules.freed_limit * charges.quantity,
        charges.goods + whole[charges.order] * charges.quantity,
    )
    bears_it = (charges.goods > 0) & (~_within(charges.goods, limit, freed) | _within(with_all, limit, freed))
    borne = np.zeros(whole.size, np.bool_)
    borne[charges.order[bears_it]] = True
    return np.where(borne[charges.order], 0, charges.shipping)
