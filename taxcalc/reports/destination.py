"""A check of a new destination as text: one place in full, or several in one table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports import destination_order, destination_place
from taxcalc.reports.destination_compared import compared
from taxcalc.reports.layout import Title, bullets, heading, labelled, paragraph
from taxcalc.reports.review_at_the_door import at_the_door
from taxcalc.reports.words import day, money, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Pieces

Answer = dict[str, Any]
TITLE: Final = "a new destination"
_AMOUNTS: Final = ("item_amount", "shipping_amount", "fulfiller_item_cost", "fulfiller_shipping_cost")


def pieces(answer: Answer, *, whole: bool = False) -> Pieces:
    """Give the answer in its reading order; of a comparison at most so many places unless all are asked for."""
    found = _title(answer)
    one = answer.get("place")
    if one is None:
        return [*found, *compared(answer, whole=whole), *_last(answer)]
    return [
        *found,
        *_already(one),
        *destination_order.one_order(answer),
        *(compared(answer, whole=True) if len(answer["compared"]) > 1 else _of_one(answer)),
        *destination_place.register(one),
        *destination_place.effect(one),
        *destination_place.documents(answer, one),
        *at_the_door(one),
        *destination_place.notes(one),
        *destination_place.classes(answer, one),
        *destination_place.weak(one),
        *destination_place.section("What lies outside this check", answer["outside"]),
        *destination_place.section("To take to a professional", one["checklist"]),
        *_last(answer),
    ]


def _of_one(answer: Answer) -> Pieces:
    """Draw what might be different, and the price that keeps the margin."""
    return [*destination_order.what_if(answer), *destination_order.keep_margin(answer)]


def _title(answer: Answer) -> Pieces:
    """Say what this is, of which place, on which day, for which order."""
    words = f"{answer['title']}: {TITLE}"
    one, order = answer.get("place"), answer["order"]
    currency = order["currency"]
    goods, shipping, theirs, transport = (money(order[name], currency) for name in _AMOUNTS)
    seller = answer["seller"]
    facts = [
        ("Place", place(one) if one else several(len({row["place"] for row in answer["compared"]}), "place")),
        ("On", day(answer["on"], "long")),
        ("Seller", f"{printable(seller['name'])}, {printable(seller['region'] or seller['country'])}"),
        ("One order", f"{order['name']}: {goods} and {shipping} for shipping"),
        ("Your fulfiller asks", f"{theirs} and {transport} for shipping"),
        ("Your history", ", ".join(map(printable, answer["history"])) or "none given"),
        ("Rates and limits", f"version {answer['tables']['version']}"),
    ]
    assumed = [paragraph(words) for words in order["assumed"]]
    return [Title(words), *labelled(facts), *assumed]


def _already(one: Answer) -> Pieces:
    """Put first what may be owed there already."""
    if not one["already"]:
        return []
    words = [f"{printable(each['text'])}" for each in one["already"]]
    return [
        *heading("First: what your history shows there already"),
        *bullets(words),
        paragraph(one["caution"]),
    ]


def _last(answer: Answer) -> Pieces:
    """End with the caution."""
    return ["", paragraph(answer["caution"], "bold")]
