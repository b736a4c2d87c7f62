"""Which kinds of goods a place treats otherwise than the one asked about, at the same price."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from taxcalc.caution import CAUTION
from taxcalc.columns import PRODUCT_CLASSES, PRODUCT_WORDS
from taxcalc.destination.made_up import numbered
from taxcalc.destination.question import written

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.destination.runs import Shop
    from taxcalc.destination.waterfall import Waterfall


def treated_otherwise(shop: Shop, now: Waterfall, bound: Waterfall | None, on: date) -> list[dict[str, Any]]:
    """List the classes whose tax, once the seller has to collect, differs from that of the class asked about."""
    line = now.line
    others = [name for name in PRODUCT_CLASSES if name != line.order.product_class]
    lines = [replace(line, number=numbered(at), product_class=name) for at, name in enumerate(others)]
    found = shop.as_it_is(lines, on)
    if bound is not None:
        found = [later or before for before, later in zip(found, shop.once_bound(found, on), strict=True)]
    mine = (bound or now).tax
    currency = line.order.currency
    return [
        {
            "product_class": one.line.product_class,
            "name": PRODUCT_WORDS[one.line.product_class],
            "duty": one.duty,
            "tax": {end: written(one.tax[end], currency) for end in one.tax},
            "currency": currency,
            "caution": CAUTION,
        }
        for one in found
        if one.tax != mine
    ]
