"""States that tax the fulfiller on the retail price: what is covered by that tax, and what may be set off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread
from taxcalc.reports.words import marked, money

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

WORDS: Final = (
    "Some states tax the fulfiller on the price that your customer pays. Without a duty of yours such a sale is covered where "
    "the fulfiller charged that tax. With a duty, what you should collect stays whole: what the fulfiller charged stands beside "
    "it as a possible offset, which a professional has to look at, and is taken off no figure. Either way it is a cost of yours: "
    "you may price it in, but never show it to a customer as sales tax."
)


def retail_base(record: dict[str, Any]) -> Pieces:
    """Show both kinds of sales of the period, nothing where there are none."""
    rows, currency = record.get("retail_base") or [], record["currency"]
    if not rows:
        return []
    pieces = [*heading("Fulfiller taxed on the retail price"), paragraph(WORDS)]
    covered, bound = ([row for row in rows if row[kind]] for kind in ("covered", "with_duty"))
    names = ("No duty of yours: place", "Sales covered if charged", "Fulfiller may charge", "Charged")
    pieces += _table(names, covered, "covered", ("sales", "fulfiller_tax_charged"), currency)
    names = ("Your duty: place", "You should collect", "Fulfiller may charge", "Possible offset")
    return [*pieces, *_table(names, bound, "with_duty", ("to_collect", "possible_offset"), currency)]


def _table(
    names: tuple[str, ...], rows: list[dict[str, Any]], kind: str, amounts: tuple[str, str], currency: str
) -> Pieces:
    """Draw the places of one kind: an amount, what the fulfiller may charge, and another amount."""
    if not rows:
        return []
    columns = [Column(names[0]), *(Column(name, number=True) for name in names[1:])]
    lines: list[list[Cell]] = []
    for row in rows:
        first, last = (money(row[kind][name], currency) for name in amounts)
        lines.append([marked(row), first, spread(row[kind]["fulfiller_tax"], currency), last])
    return figures(columns, lines, rows[0]["caution"])
