"""The price at which a wanted margin is kept: found by running orders forward, and shown with the run that proves it."""

from __future__ import annotations

from collections.abc import Callable, Generator
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION
from taxcalc.destination.question import TypicalOrder, written
from taxcalc.destination.waterfall import Waterfall
from taxcalc.intake.sizes import most_in
from taxcalc.money import CURRENCY_CODE

if TYPE_CHECKING:
    from collections.abc import Iterable

PARTS: Final = 32
"""Into how many parts a span of prices is cut at a time; the prices between them are run together."""
TOGETHER: Final = 3
"""How many prices, each twice the one before, are tried together at first."""
WHOLE: Final = 1000
"""Tenths of a percent in a whole."""

Orders = list[TypicalOrder]
Known = dict[int, Waterfall]
"""Orders that were run, by the price of the item in minor units."""
Search = Generator[Orders, list[Waterfall], dict[str, Any]]
"""A search for a price: it asks for orders, is sent their waterfalls, and returns what it found."""


def prices_to_keep(
    orders: Orders, wanted_tenths: int, run: Callable[[dict[int, Orders]], dict[int, list[Waterfall]]]
) -> list[dict[str, Any]]:
    """Find for each order the lowest price of the item, to the minor unit, that keeps the margin, with the waterfall at it.

    `run` gives the waterfalls of orders at other prices, all that are asked for at a time, by the position of the order
    that they come from. The price is None where no order can keep the margin.
    """
    searches = [price_to_keep(order, wanted_tenths) for order in orders]
    found: dict[int, dict[str, Any]] = {}
    answers: dict[int, list[Waterfall]] = {}
    while len(found) < len(searches):
        asked = {}
        for at, search in enumerate(searches):
            if at in found:
                continue
            try:
                asked[at] = search.send(answers[at]) if at in answers else next(search)
            except StopIteration as done:
                found[at] = done.value
        answers = run(asked) if asked else {}
    return [found[at] for at in range(len(orders))]


def price_to_keep(order: TypicalOrder, wanted_tenths: int) -> Search:
    """Search for the lowest price of the item that keeps the margin.

    Where tax jumps at a price per item, a price below the jump may keep a margin that dearer ones do not; it is found,
    because what is left grows by no more than the price does.
    """
    shared = {"wanted_percent": f"{wanted_tenths // 10}.{wanted_tenths % 10}", "caution": CAUTION}
    known: Known = {}
    high = yield from _some_price(order, wanted_tenths, known)
    if high is None:
        return {**shared, "price": None}
    price = (
        0 if spare(known[0], wanted_tenths) >= 0 else (yield from _lowest(order, high, wanted_tenths, known))
    )
    proof = known[price].shown()
    return {**shared, "price": written(price, order.currency), "currency": order.currency, "proof": proof}


def spare(waterfall: Waterfall, wanted_tenths: int) -> int:
    """Give by how much what is left as expected is above the wanted share of what is charged (minor units × 1000)."""
    return waterfall.left["expected"] * WHOLE - wanted_tenths * waterfall.line.order.charged


def _learn(
    order: TypicalOrder, prices: Iterable[int], known: Known
) -> Generator[Orders, list[Waterfall], None]:
    """Ask for the order at prices that are not known yet."""
    new = sorted(set(prices) - known.keys())
    found = yield [order.priced(price) for price in new]
    known.update(zip(new, found, strict=True))


def _some_price(
    order: TypicalOrder, wanted_tenths: int, known: Known
) -> Generator[Orders, list[Waterfall], int | None]:
    """Find a price that keeps the margin, None where none does that an order line may carry; 0 is known after it."""
    first, most = max(order.item_amount, 1), most_in(CURRENCY_CODE[order.currency])
    doubled = [first << times for times in range(most.bit_length()) if first << times <= most]
    for at in range(0, len(doubled), TOGETHER):
        some = doubled[at : at + TOGETHER]
        yield from _learn(order, [0, *some] if at == 0 else some, known)
        for price in some:
            if spare(known[price], wanted_tenths) >= 0:
                return price
    return None


def _lowest(
    order: TypicalOrder, high: int, wanted_tenths: int, known: Known
) -> Generator[Orders, list[Waterfall], int]:
    """Give the lowest price above nothing (which keeps nothing) up to `high` (which does) that keeps the margin."""
    spans = [(0, high)]
    while True:
        first, last = spans[0]
        if last - first <= 1:
            if spare(known[last], wanted_tenths) >= 0:
                return last
            spans.pop(0)
            continue
        cuts = [first + (last - first) * part // PARTS for part in range(PARTS + 1)]
        yield from _learn(order, cuts, known)
        spares = {cut: spare(known[cut], wanted_tenths) for cut in cuts}
        cells = [(one, other) for one, other in pairwise(cuts) if one < other]
        spans[:1] = [cell for cell in cells if _may_hold(*cell, spares, wanted_tenths)]


def _may_hold(low: int, high: int, spares: dict[int, int], wanted_tenths: int) -> bool:
    """Tell whether some price above `low` up to `high` may keep the margin: each unit more leaves at most itself.

    One minor unit is allowed for rounding.
    """
    return spares[high] >= 0 or spares[low] + (high - low) * (WHOLE - wanted_tenths) + WHOLE >= 0
