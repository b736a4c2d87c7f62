"""Typical orders again with what might be different, and at the price that keeps a margin: place by place, each for itself."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.destination import made_up
from taxcalc.destination.duty_there import answer
from taxcalc.destination.made_up import Line, numbered
from taxcalc.destination.margin import prices_to_keep
from taxcalc.eu.place import in_vat_territory, member_state, rules_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.destination.margin import Orders
    from taxcalc.destination.question import Question
    from taxcalc.destination.runs import Shop
    from taxcalc.destination.waterfall import Waterfall


def what_if(question: Question, shop: Shop, now: list[Waterfall]) -> list[dict[str, Any] | None]:
    """Give each order before and after what might be different, None for each where nothing was asked."""
    change = question.what_if
    found: list[dict[str, Any] | None] = [None] * len(now)
    if not change:
        return found
    for other, at in _shops(question, shop, now):
        lines = [_changed(question, now[one].line) for one in at]
        for one, after in zip(at, other.as_it_is(lines, question.on), strict=True):
            found[one] = {
                "registered": change.registered,
                "certificate": change.certificate,
                "free_shipping": change.free_shipping,
                "price_changed": change.item_amount is not None,
                "tax_included": change.tax_included,
                "before": now[one].shown(),
                "after": after.shown(),
                "register_after": answer(after),
                "caution": CAUTION,
            }
    return found


def keep_margin(question: Question, shop: Shop, now: list[Waterfall]) -> list[dict[str, Any] | None]:
    """Find for each order the price that keeps the wanted margin, with all that might be different taken into account."""
    found: list[dict[str, Any] | None] = [None] * len(now)
    if question.keep_margin is None:
        return found
    for other, at in _shops(question, shop, now):
        lines = [_changed(question, now[one].line) for one in at]

        def run(
            asked: dict[int, Orders], other: Shop = other, lines: list[Line] = lines
        ) -> dict[int, list[Waterfall]]:
            """Run all orders that are asked for in one assessment."""
            wanted = [(which, order) for which, orders in asked.items() for order in orders]
            made = [
                replace(lines[which], number=numbered(number), order=order)
                for number, (which, order) in enumerate(wanted)
            ]
            answers: dict[int, list[Waterfall]] = {which: [] for which in asked}
            for (which, _), each in zip(wanted, other.as_it_is(made, question.on), strict=True):
                answers[which].append(each)
            return answers

        prices = prices_to_keep([line.order for line in lines], question.keep_margin, run)
        for one, price in zip(at, prices, strict=True):
            found[one] = price
    return found


def _changed(question: Question, line: Line) -> Line:
    """Change an order as it might be."""
    return replace(line, order=question.what_if.order(line.order))


def _shops(question: Question, shop: Shop, now: list[Waterfall]) -> Iterator[tuple[Shop, list[int]]]:
    """Give the shop as it might be with the positions that it answers: one a place where its profile would be another there."""
    change = question.what_if
    if not (change.registered or change.certificate):
        yield shop, list(range(len(now)))
        return
    by_place: dict[str, list[int]] = {}
    for at, one in enumerate(now):
        by_place.setdefault(one.line.place, []).append(at)
    for place, there in by_place.items():
        seller = shop.seller
        for register in _registers(place, now[there[0]]) if change.registered else ():
            seller = made_up.registered(seller, register, question.on)
        if change.certificate:
            seller = made_up.with_document(seller, place, change.certificate, question.on)
        yield replace(shop, seller=seller), there


def _registers(place: str, now: Waterfall) -> list[str]:
    """Name the registers that a seller of a place is in: a territory of the Union has none of its own."""
    facts, code = now.assessment.run.facts, np.array([places.index(place)], np.int16)
    if places.regimes()[code[0]] != places.EU or not in_vat_territory(code, facts)[0]:
        return [place]
    ruled = rules_of(code, facts)
    return list(dict.fromkeys((place, places.code(int(member_state(ruled, facts)[0])))))
