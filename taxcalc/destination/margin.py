"""The price at which a wanted margin is kept: found by running orders forward, and shown with the run that proves it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION
from taxcalc.destination.question import written
from taxcalc.intake.sizes import most_in
from taxcalc.money import CURRENCY_CODE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from taxcalc.destination.question import TypicalOrder
    from taxcalc.destination.waterfall import Waterfall

PARTS: Final = 8
"""Into how many parts a span of prices is cut at a time; the prices between them are run together."""
WHOLE: Final = 1000
"""Tenths of a percent in a whole."""


def spare(waterfall: Waterfall, wanted_tenths: int) -> int:
    """Give by how much what is left as expected is above the wanted share of what is charged (minor units × 1000)."""
    return waterfall.left["expected"] * WHOLE - wanted_tenths * waterfall.line.order.charged


def price_to_keep(
    order: TypicalOrder, wanted_tenths: int, run: Callable[[list[TypicalOrder]], list[Waterfall]]
) -> dict[str, Any]:
    """Find the lowest price of the item, to the minor unit, that keeps the margin, with the waterfall at it.

    Where tax jumps at a price per item, a price below the jump may keep a margin that dearer ones do not; it is found,
    because what is left grows by no more than the price does. `run` gives the waterfalls of orders at other prices.
    """
    shared = {"wanted_percent": f"{wanted_tenths // 10}.{wanted_tenths % 10}", "caution": CAUTION}

    def spares(prices: Iterable[int]) -> dict[int, int]:
        """Run orders at some prices."""
        at = sorted(set(prices))
        found = run([order.priced(price) for price in at])
        return {price: spare(one, wanted_tenths) for price, one in zip(at, found, strict=True)}

    high = _some_price(order, spares)
    if high is None:
        return {**shared, "price": None}
    known = spares([0, high])
    price = 0 if known[0] >= 0 else _lowest(0, high, known, wanted_tenths, spares)
    proof = run([order.priced(price)])[0].shown()
    return {**shared, "price": written(price, order.currency), "currency": order.currency, "proof": proof}


def _some_price(order: TypicalOrder, spares: Callable[[Iterable[int]], dict[int, int]]) -> int | None:
    """Find a price that keeps the margin, None where none does that an order line may carry."""
    high, most = max(order.item_amount, 1), most_in(CURRENCY_CODE[order.currency])
    while high <= most:
        if spares([high])[high] >= 0:
            return high
        high *= 2
    return None


def _lowest(
    low: int,
    high: int,
    known: dict[int, int],
    wanted_tenths: int,
    spares: Callable[[Iterable[int]], dict[int, int]],
) -> int:
    """Give the lowest price above `low` (which keeps nothing) up to `high` (which does) that keeps the margin."""
    spans = [(low, high)]
    while True:
        first, last = spans[0]
        if last - first <= 1:
            if known[last] >= 0:
                return last
            spans.pop(0)
            continue
        cuts = [first + (last - first) * part // PARTS for part in range(PARTS + 1)]
        known.update(spares(set(cuts) - known.keys()))
        cells = [(one, other) for one, other in pairwise(cuts) if one < other]
        spans[:1] = [cell for cell in cells if _may_hold(*cell, known, wanted_tenths)]


def _may_hold(low: int, high: int, known: dict[int, int], wanted_tenths: int) -> bool:
    """Tell whether some price above `low` up to `high` may keep the margin: each unit more leaves at most itself.

    One minor unit is allowed for rounding.
    """
    return known[high] >= 0 or known[low] + (high - low) * (WHOLE - wanted_tenths) + WHOLE >= 0
