"""A check of a new destination as text: one place in full, or several in one table."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from rich.text import Text

from taxcalc.reports import destination_order, destination_place
from taxcalc.reports.destination_order import REGISTER
from taxcalc.reports.layout import (
    Column,
    Title,
    bullets,
    figures,
    heading,
    labelled,
    paragraph,
    spread,
    stacked,
)
from taxcalc.reports.review_at_the_door import at_the_door
from taxcalc.reports.words import day, money, percent, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Answer = dict[str, Any]
TITLE: Final = "a new destination"
SHOWN: Final = 12
_AMOUNTS: Final = ("item_amount", "shipping_amount", "fulfiller_item_cost", "fulfiller_shipping_cost")


def pieces(answer: Answer, *, whole: bool = False) -> Pieces:
    """Give the answer in its reading order; of a comparison at most so many places unless all are asked for."""
    found = _title(answer)
    one = answer.get("place")
    if one is None:
        return [*found, *_table(answer, whole=whole), *_last(answer)]
    return [
        *found,
        *_already(one),
        *destination_order.one_order(answer),
        *(_table(answer, whole=True) if len(answer["compared"]) > 1 else []),
        *destination_order.what_if(one),
        *destination_order.keep_margin(one),
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


def _table(answer: Answer, *, whole: bool) -> Pieces:
    """Compare places and sites, in the order in which they come."""
    rows = answer["compared"]
    shown = rows if whole or len(rows) <= 2 * SHOWN else [*rows[:SHOWN], *rows[-SHOWN:]]
    columns = [
        Column("Place"), Column("Sent from"), Column("Register"), Column("Tax", number=True),
        Column("Fulfiller's tax", number=True), Column("Left", number=True), Column("of the price", number=True),
    ]  # fmt: skip
    cells = [_line(row) for row in shown]
    left = len(rows) - len(shown)
    below = f"{several(left, 'place')} between them are not shown; --all shows every one." if left else ""
    words = "Today, as your profile is. Tax is what you would have to collect; on top of the price or inside it (i)."
    return [*heading("Compared"), paragraph(words), *figures(columns, cells, rows[0]["caution"], below)]


def _line(row: Answer) -> list[Cell]:
    """Write one place and site."""
    now = row["now"]
    currency = now["currency"]
    tax = Text.assemble(destination_order.tax(now))
    if now["tax_included"] and Decimal(now["tax"]["high"]):
        tax.append(" i")
    left = spread(now["left"], currency)
    if not now["tax_known"]:
        left.append("\nbefore tax there")
    return [
        stacked(place(row)),
        printable(row["ship_from"]),
        REGISTER[row["register"]],
        tax,
        destination_order.fulfiller_tax(now),
        left,
        "" if now["left_percent"]["expected"] is None else percent(now["left_percent"]["expected"]),
    ]


def _last(answer: Answer) -> Pieces:
    """End with the caution."""
    return ["", paragraph(answer["caution"], "bold")]
