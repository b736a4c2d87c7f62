"""The whole answer for one or several places, as plain data: what every report of it is made from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.at_the_door_record import at_the_door
from taxcalc.caution import CAUTION, TITLE
from taxcalc.columns import PRODUCT_WORDS
from taxcalc.destination.classes import treated_otherwise
from taxcalc.destination.documents_there import documents
from taxcalc.destination.duty_there import ANSWERS, answer, forecast, kind, triggers
from taxcalc.destination.effect import effect
from taxcalc.destination.find import has_rules
from taxcalc.destination.made_up import Line, numbered
from taxcalc.destination.question import written
from taxcalc.destination.supposed import keep_margin, what_if
from taxcalc.destination.told import OUTSIDE, checklist, notes
from taxcalc.destination.weak import weak_rows

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.destination.question import Question
    from taxcalc.destination.runs import Shop
    from taxcalc.destination.waterfall import Waterfall

PAST = ("past_duty", "duty_before_registration", "not_collected_earlier", "collected_without_duty")
"""Kinds of findings that come before anything else: what may be owed there already."""


@dataclass(frozen=True)
class Checked:
    """The answer: `data` is JSON-able; every object in it that holds amounts holds the caution."""

    data: dict[str, Any]


def check(question: Question, codes: list[str], shop: Shop) -> Checked:
    """Answer for places (codes); one place gets the whole answer, several a line each in one table."""
    lines = [
        Line(numbered(at), code, site, question.order, question.on)
        for at, (code, site) in enumerate((code, site) for code in codes for site in question.ship_from)
    ]
    now = shop.as_it_is(lines, question.on)
    bound = shop.once_bound(now, question.on)
    standing = shop.assess([], question.on) if shop.history else None
    data = _head(question, shop)
    supposed, priced = what_if(question, shop, now), keep_margin(question, shop, now)
    data["compared"] = [
        {**_compared(one, later), "what_if": other, "keep_margin": price, "caution": CAUTION}
        for one, later, other, price in zip(now, bound, supposed, priced, strict=True)
    ]
    if len(codes) == 1:
        data["place"] = _place(question, shop, codes[0], now, bound, standing)
    return Checked({**data, "outside": list(OUTSIDE), "caution": CAUTION})


def _head(question: Question, shop: Shop) -> dict[str, Any]:
    """Say what was asked, of whom, and by which tables."""
    order = question.order
    return {
        "title": TITLE,
        "on": question.on.isoformat(),
        "seller": {"name": shop.seller.name, "country": shop.seller.country, "region": shop.seller.region},
        "history": [path.name for path in shop.history],
        "tables": {"version": shop.tables.version, "oldest_checked_on": str(shop.tables.oldest_checked_on)},
        "order": {
            "product_class": order.product_class,
            "name": PRODUCT_WORDS[order.product_class],
            "currency": order.currency,
            **{name: written(getattr(order, name), order.currency) for name in _AMOUNTS},
            "assumed": list(order.assumed),
            "caution": CAUTION,
        },
        "assumptions": list(shop.seller.assumptions),
    }


_AMOUNTS = ("item_amount", "shipping_amount", "fulfiller_item_cost", "fulfiller_shipping_cost")


def _compared(now: Waterfall, bound: Waterfall | None) -> dict[str, Any]:
    """Write one place and site as a line of a table."""
    found = answer(now)
    return {
        "place": now.line.place,
        "name": places.name(now.line.place),
        "ship_from": places.code(int(now.assessment.run.terms.cases.ship_from[now.case])),
        "rules_held": has_rules(now.line.place),
        "register": found,
        "registration": kind(now),
        "effort": EFFORT[found],
        "now": now.shown(),
        "once_bound": bound.shown() if bound else None,
    }


EFFORT = {"not_needed": 0, "registered": 0, "border": 1, "later": 1, "choice": 1, "now": 2, "unknown": 3}
"""How much has to be done first, for the order of a comparison: nothing, nothing yet, a registration, unknown."""


def _place(
    question: Question,
    shop: Shop,
    code: str,
    now: list[Waterfall],
    bound: list[Waterfall | None],
    standing: Assessment | None,
) -> dict[str, Any]:
    """Write the whole answer for one place; what depends on the site speaks of the first one."""
    first, later = now[0], bound[0]
    found = answer(first)
    data: dict[str, Any] = {
        "place": code,
        "name": places.name(code),
        "rules_held": has_rules(code),
        "already": _already(standing, code),
        "register": {
            "answer": found,
            "words": ANSWERS[found],
            "registration": kind(first),
            "triggers": triggers(first, question.on, standing),
            "forecast": forecast(shop, first, question.on, question.monthly_orders)
            if question.monthly_orders and found == "later"
            else None,
        },
        "documents": documents(first, question.on),
        "at_the_door": at_the_door(replace(shop, history=()).assess([first.line], question.on)),
        "notes": notes(first, question.on),
        "treated_otherwise": treated_otherwise(shop, first, later, question.on) if has_rules(code) else [],
        "weak_rows": weak_rows(first, later, question.on),
        "checklist": checklist(first),
        "effect": effect(shop, first, question.on, question.monthly_orders)
        if question.monthly_orders and shop.history
        else None,
        "caution": CAUTION,
    }
    return data


def _already(standing: Assessment | None, code: str) -> list[dict[str, Any]]:
    """Give what the review of the history says of the place that comes before anything else."""
    if standing is None:
        return []
    return [each for each in standing.record()["findings"] if each["place"] == code and each["kind"] in PAST]
