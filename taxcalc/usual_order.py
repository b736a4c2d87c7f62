"""A usual order of the period: one that was really sold, in the middle of those that are most like the shop's business.

Among own sales of the period with one line, a known price of the fulfiller and both in the reporting currency: those to the
place with the most of them, and of these the one in the middle by what was charged. Its figures are those of the review.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.arrow import coded, numbers, picked
from taxcalc.caution import CAUTION
from taxcalc.columns import PRODUCT_CLASSES, PRODUCT_WORDS, Blank, Channel, Entry
from taxcalc.days import number
from taxcalc.explain.found import find_order
from taxcalc.money import CURRENCY_CODE, write_amount

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.assessment import Assessment
    from taxcalc.money import Ints
    from taxcalc.spool import Lines


def usual_order(assessment: Assessment) -> dict[str, Any] | None:
    """Give the order as JSON-able data, amounts as decimal text with the caution; None where no order is fit for it.

    `charged` is what the customer was charged for goods and shipping, `on_top` the tax collected on top of it, `tax` what
    should be collected or, if that is more, was; it has to be paid over or given back. `left` is what remains after it, the
    fulfiller's price and its expected tax.
    """
    chosen = _chosen(assessment)
    found = find_order(assessment, chosen) if chosen is not None else None
    if found is None:
        return None
    lines, figures = found.bucket.lines, found.figures
    goods, shipping, theirs, transport = (
        int(lines[name][0])
        for name in ("item_amount", "shipping_amount", "fulfiller_item_cost", "fulfiller_shipping_cost")
    )
    collected, due = int(figures.collected[0]), int(figures.to_collect["expected"][0])
    on_top = 0 if found.bucket.settled.included[0] else collected
    tax, fulfiller_tax = max(due, collected), int(figures.fulfiller_tax["expected"][0])
    amounts = {
        "charged": goods + shipping,
        "on_top": on_top,
        "customer_paid": goods + shipping + on_top,
        "tax": tax,
        "fulfiller_goods": theirs,
        "fulfiller_shipping": transport,
        "fulfiller_tax": fulfiller_tax,
        "left": goods + shipping + on_top - tax - theirs - transport - fulfiller_tax,
    }
    code = places.code(int(lines["destination"][0]))
    return {
        "order_id": chosen,
        "place": code,
        "name": places.name(code),
        "product": PRODUCT_WORDS[PRODUCT_CLASSES[int(lines["product_class"][0])]],
        "currency": assessment.currency,
        **{name: write_amount(amount, assessment.currency) for name, amount in amounts.items()},
        "caution": CAUTION,
    }


def _chosen(assessment: Assessment) -> str | None:
    """Find the number of the order; the same one whatever the order of the files."""
    run = assessment.run
    period = number(run.period[0]), number(run.period[1])
    currency = CURRENCY_CODE[assessment.currency]

    def fit() -> Iterator[tuple[Lines, Ints]]:
        for bucket in run.buckets:
            lines = run.intake.spool.read(bucket)
            yield lines, _fit(lines, *period, currency)

    parts = [(lines["destination"][at], _charged(lines, at)) for lines, at in fit()]
    if not sum(place.size for place, _ in parts):
        return None
    place, charged = (np.concatenate(part) for part in zip(*parts, strict=True))
    most = np.bincount(place).argmax()
    here = charged[place == most]
    middle = np.partition(here, here.size // 2)[here.size // 2]
    return min(
        one
        for lines, at in fit()
        for one in picked(
            lines.order_id, at[(lines["destination"][at] == most) & (_charged(lines, at) == middle)]
        )
    )


def _charged(lines: Lines, at: Ints) -> Ints:
    """Give what customers were charged for goods and shipping."""
    charged: Ints = lines["item_amount"][at] + lines["shipping_amount"][at]
    return charged


def _fit(lines: Lines, first: int, last: int, currency: int) -> Ints:
    """Find the sales of the period that say all that is drawn and are the only line of their order, refunds included."""
    order = numbers(coded(lines.order_id).indices)
    fit = (
        (lines["entry"] == Entry.SALE)
        & (lines["channel"] == Channel.OWN)
        & (lines["tax_day"] >= first)
        & (lines["tax_day"] <= last)
        & (lines["currency"] == currency)
        & (lines["fulfiller_currency"] == currency)
        & ((lines["blanks"] & int(Blank.FULFILLER_ITEM_COST)) == 0)
        & (lines["item_amount"] > 0)
        & (np.bincount(order)[order] == 1)
    )
    return np.flatnonzero(fit)
