"""Several places or sites beside each other: today, with what might be different, and at the price that keeps a margin."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from rich.text import Text

from taxcalc.reports import destination_order
from taxcalc.reports.destination_order import KEEP_MARGIN, REGISTER, WHAT_IF
from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import money, percent, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Answer = dict[str, Any]
SHOWN: Final = 12
_WHERE: Final = (Column("Place"), Column("Sent from"))
_ORDER: Final = (
    Column("Tax", number=True),
    Column("Fulfiller's tax", number=True),
    Column("Left", number=True),
    Column("of the price", number=True),
)
_INSIDE: Final = "Tax is what you would have to collect; on top of the price or inside it (i)."


def compared(answer: Answer, *, whole: bool) -> Pieces:
    """Compare places and sites in the order in which they come; of many only both ends, unless all are asked for."""
    rows = answer["compared"]
    shown = rows if whole or len(rows) <= 2 * SHOWN else [*rows[:SHOWN], *rows[-SHOWN:]]
    left = len(rows) - len(shown)
    below = f"{several(left, 'place')} between them are not shown; --all shows every one." if left else ""
    return [*_today(shown, below), *_what_if(shown, below), *_keep_margin(shown, below)]


def _today(rows: list[Answer], below: str) -> Pieces:
    """Show each order as the profile is."""
    columns = [*_WHERE, Column("Register"), *_ORDER]
    cells = [[*_where(row), REGISTER[row["register"]], *_order(row["now"])] for row in rows]
    words = f"Today, as your profile is. {_INSIDE}"
    return [*heading("Compared"), paragraph(words), *figures(columns, cells, rows[0]["caution"], below)]


def _what_if(rows: list[Answer], below: str) -> Pieces:
    """Show each order with what might be different, beside what is left today."""
    if rows[0]["what_if"] is None:
        return []
    columns = [*_WHERE, Column("Register"), *_ORDER, Column("Left today", number=True)]
    cells = [
        [
            *_where(row),
            REGISTER[row["what_if"]["register_after"]],
            *_order(row["what_if"]["after"]),
            _left(row["now"]),
        ]
        for row in rows
    ]
    words = f"{destination_order.supposed(rows[0]['what_if'])} {_INSIDE}"
    return [*heading(WHAT_IF), paragraph(words), *figures(columns, cells, rows[0]["caution"], below)]


def _keep_margin(rows: list[Answer], below: str) -> Pieces:
    """Show the price of the goods that keeps the margin in each place, and the order at it."""
    first = rows[0]["keep_margin"]
    if first is None:
        return []
    columns = [*_WHERE, Column("Price", number=True), *_ORDER]
    cells = [[*_where(row), *_priced(row["keep_margin"])] for row in rows]
    when = "with what is supposed above" if rows[0]["what_if"] else "today"
    words = (
        f"The lowest price of the goods that leaves {percent(first['wanted_percent'])} of the price, {when}. "
        + _INSIDE
    )
    return [*heading(KEEP_MARGIN), paragraph(words), *figures(columns, cells, rows[0]["caution"], below)]


def _priced(found: Answer) -> list[Cell]:
    """Write the price that keeps the margin with the order at it, or that there is none."""
    if found["price"] is None:
        return ["none", "", "", "", ""]
    return [money(found["price"], found["currency"]), *_order(found["proof"])]


def _where(row: Answer) -> list[Cell]:
    """Write where a row's order goes, and from where."""
    return [stacked(place(row)), printable(row["ship_from"])]


def _order(one: Answer) -> list[Cell]:
    """Write taxes and what is left of an order."""
    tax = Text.assemble(destination_order.tax(one))
    if one["tax_included"] and one["tax_known"] and Decimal(one["tax"]["high"]):
        tax.append(" i")
    expected = one["left_percent"]["expected"]
    return [
        tax,
        destination_order.fulfiller_tax(one),
        _left(one),
        "" if expected is None else percent(expected),
    ]


def _left(one: Answer) -> Text:
    """Write what is left of an order, and where that is before a tax that is not known."""
    left = spread(one["left"], one["currency"])
    return left if one["tax_known"] else Text.assemble(left, "\nbefore tax there")
