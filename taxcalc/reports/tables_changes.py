"""What differs between two sets of tables, and what that changes in the figures, as text."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.figure_changes import NAMES
from taxcalc.reports.layout import Column, figures, heading, paragraph, stacked
from taxcalc.reports.words import LIMIT_OF, money, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
KIND: Final = {
    "added": "added",
    "removed": "removed",
    "changed": "changed",
    "back": "from here the shipped row holds again",
    "hidden": "shipped row that holds no more: yours hides it",
}
FIGURE: Final = {
    "to_collect": "should collect",
    "fulfiller_tax": "fulfiller may charge",
    "fulfiller_tax_charged": "fulfiller charged",
    "fulfiller_tax_avoidable": "fulfiller's tax avoidable",
    "shortfall": "not collected",
    "since_duty": "since duty",
    "limit": "limit",
    "value": "counted so far",
}
UNITLESS: Final = frozenset({"orders", "lines", "share", "status", "cause"}) | NAMES


def pieces(data: dict[str, Any]) -> Pieces:
    """Draw the difference, then the figures where orders were given."""
    what = "a full set" if data["full_set"] else "own rows"
    first = f"Shipped: version {data['shipped_version']}. Compared: {printable(data['directory'])}, {what}."
    begin = [*heading("Rate tables compared"), paragraph(first)]
    drawn = [piece for table in data["tables"] for piece in _table(table, data["caution"])]
    if not drawn:
        drawn = [paragraph("No row differs."), paragraph(data["caution"])]
    return [*begin, *drawn, *(_figures(data["figures"], full=data["full_set"]) if data["figures"] else [])]


def _table(table: Row, caution: str) -> Pieces:
    """Draw the rows of one table."""
    counts = Counter(row["change"] for row in table["rows"])
    words = ", ".join(f"{number} {kind}" for kind, number in counts.items())
    columns = [Column("Row"), Column("Column"), Column("Shipped"), Column("Yours")]
    rows: list[list[Cell]] = []
    for row in table["rows"]:
        lines = [
            [each["column"], *(printable(each[side] or "") for side in ("before", "after"))]
            for each in row["columns"]
        ]
        first, *more = lines or [["", "", ""]]
        rows += [[_name(row), *first], *(["", *cells] for cells in more)]
    return [*heading(f"{table['table']}: {words}"), *figures(columns, rows, caution)]


def _name(row: Row) -> Cell:
    """Name a row by its key and day."""
    shared = {"change", "place", "place_name", "valid_from", "columns", "caution"}
    key = [printable(text) for name, text in row.items() if name not in shared and text]
    where = [place({"place": row["place"], "name": row["place_name"]})] if row.get("place") else []
    first, *more = [*where, *key]
    return stacked(
        first, *more, f"from {row['valid_from']}" if row["valid_from"] else "", KIND[row["change"]]
    )


def _figures(changes: Row, *, full: bool) -> Pieces:
    """Draw every figure that changes, places first, the totals last."""
    period = changes["period"]
    columns = [
        Column("Where"),
        Column("Figure"),
        *(Column(words, number=True) for words in ("Without", "With", "Change")),
    ]
    rows = [row for part in ("places", "thresholds", "totals") for row in changes[part]]
    title = heading("What changes in the figures")
    other = "the folder in their place" if full else "the folder as well"
    words = f"Period {period['from']} to {period['to']}. Without: the shipped tables only. With: {other}."
    if changes["rows_set_aside"]:
        aside = several(changes["rows_set_aside"], "row of the orders was", "rows of the orders were")
        words += f" {aside} set aside and stand in no figure; `taxcalc intake` lists them."
    if not rows:
        return [*title, paragraph(words), paragraph("No figure changes."), paragraph(changes["caution"])]
    below = f"{several(len(rows), 'figure changes', 'figures change')}."
    return [
        *title,
        paragraph(words),
        *figures(columns, [_line(row) for row in rows], changes["caution"], below),
    ]


def _line(row: Row) -> list[Cell]:
    """Write one figure on both sides."""
    where = place(row) if row.get("place") else "Everything together"
    measure = f", {LIMIT_OF.get(row.get('kind', ''), row['measure'])}" if row.get("measure") else ""
    return [
        f"{where}{measure}",
        _words(row["figure"]),
        *(_value(row, each) for each in ("before", "after", "difference")),
    ]


def _words(figure: str) -> str:
    """Say a figure in words: to_collect.low is `should collect, low`."""
    return ", ".join(FIGURE.get(part, part.replace("_", " ")) for part in figure.split("."))


def _value(row: Row, side: str) -> str:
    """Write one value: money, a count or a day."""
    value, last = row[side], row["figure"].rpartition(".")[2]
    if value is None:
        return ""
    counted = last in UNITLESS or row.get("measure") == "transactions" or not isinstance(value, str)
    if counted or not row["currency"] or not value.lstrip("-")[:1].isdigit() or value.count("-") > 1:
        return printable(value)
    return (
        _signed(money(value, row["currency"]), value)
        if side == "difference"
        else money(value, row["currency"])
    )


def _signed(written: str, value: str) -> str:
    """Put a plus before what grows."""
    return f"+{written}" if Decimal(value) > 0 else written
