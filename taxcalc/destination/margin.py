"""The price at which a wanted margin is kept: found by running orders forward, and shown with the run that proves it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION
from taxcalc.destination.question import written

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.destination.question import TypicalOrder
    from taxcalc.destination.waterfall import Waterfall

MOST: Final = 2**34
"""Minor units beyond which no price is looked for."""


def keeps(waterfall: Waterfall, wanted_tenths: int) -> bool:
    """Tell whether what is left as expected is at least the wanted share (tenths of a percent) of what is charged."""
    return waterfall.left["expected"] * 1000 >= wanted_tenths * waterfall.line.order.charged


def price_to_keep(
    order: TypicalOrder, wanted_tenths: int, run: Callable[[TypicalOrder], Waterfall]
) -> dict[str, Any]:
    """Find the lowest price of the item, to the minor unit, that keeps the margin, with the waterfall at it.

    What is left grows with the price by at least a fixed part of it except where tax jumps at a price per item; the price
    found keeps the margin and the one a minor unit below does not.
    """
    high = max(order.item_amount, 1)
    while not keeps(run(order.priced(high)), wanted_tenths):
        high *= 2
        if high > MOST:
            return {"wanted_percent": _percent(wanted_tenths), "price": None, "caution": CAUTION}
    low = -1
    while high - low > 1:
        middle = (low + high) // 2
        if keeps(run(order.priced(middle)), wanted_tenths):
            high = middle
        else:
            low = middle
    proof = run(order.priced(high))
    return {
        "wanted_percent": _percent(wanted_tenths),
        "price": written(high, order.currency),
        "currency": order.currency,
        "proof": proof.shown(),
        "caution": CAUTION,
    }


def _percent(tenths: int) -> str:
    """Write tenths of a percent."""
    return f"{tenths // 10}.{tenths % 10}"
