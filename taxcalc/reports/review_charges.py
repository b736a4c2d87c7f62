"""What the fulfiller charged against what it may charge, and what may be owed on goods ordered for oneself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import count, day, money, place

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]

KIND = {
    "document_on_file": "charged with a document on file",
    "more": "more than explained",
    "less": "less than expected",
    "not_charged": "nothing, though expected",
}
VAT_KIND = {"document_on_file": "VAT charged on an exempt sale"}
QUARTERS = 4
"""Quarters that are named; the record holds all."""


def charges(record: dict[str, Any]) -> Pieces:
    """Show the differences by kind and state; nothing where every charge fits or none is known."""
    rows = record.get("charged_against_expected") or []
    if not rows:
        return []
    currency = record["currency"]
    words = (
        "Lines for which your files say what was charged, one minor unit a line forgiven for rounding. Charges with a "
        "document on file, and VAT on sales that are exempt (by your VAT number or as exports), are those of the whole "
        "history, by your profile: ask your fulfiller for a credit or a corrected invoice. The others are of the period, and by "
        "how much they leave the range."
    )
    columns = [Column("Charged against expected"), Column("How"), Column("Lines", number=True)]
    columns.append(Column("Amount", number=True))
    cells: list[list[Cell]] = [
        [
            stacked(place(row), *_quarters(row, currency)),
            VAT_KIND.get(row["kind"], KIND[row["kind"]]) if row["regime"] == "eu" else KIND[row["kind"]],
            count(row["lines"]),
            money(row["amount"], currency),
        ]
        for row in rows
    ]
    return [
        *heading("Your fulfiller's charges compared"),
        paragraph(words),
        *figures(columns, cells, rows[0]["caution"]),
    ]


def _quarters(row: Row, currency: str) -> list[str]:
    """Name the quarters of what can be asked back, the newest first."""
    if row["kind"] != "document_on_file":
        return []
    newest = row["quarters"][::-1]
    named = [
        f"{part['quarter']} {money(part['amount'], currency)}"
        + (f", ask by {day(part['ask_by'])}" if part["ask_by"] else "")
        for part in newest[:QUARTERS]
    ]
    return [*named, *(["and earlier ones"] if len(newest) > QUARTERS else [])]


def samples(record: dict[str, Any]) -> Pieces:
    """Show the use tax that may be owed on samples; nothing where there is none."""
    rows = record.get("use_tax_on_samples") or []
    if not rows:
        return []
    currency = record["currency"]
    words = (
        "On goods that you ordered for yourself your fulfiller's tax is properly due. Where it charged none you may owe the "
        "same as use tax. This figure stands alone: it is in no sum of what you should collect. Where your files do not say "
        "what was charged, only the high end has it."
    )
    columns = [
        Column("Goods for yourself"),
        Column("Lines", number=True),
        Column("Use tax, period", number=True),
    ]
    columns.append(Column("Whole history", number=True))
    cells: list[list[Cell]] = [
        [
            stacked(place(row)),
            count(row["lines"]),
            spread(row["use_tax"], currency),
            spread(row["use_tax_of_history"], currency),
        ]
        for row in rows
    ]
    return [
        *heading("Use tax on your own orders"),
        paragraph(words),
        *figures(columns, cells, rows[0]["caution"]),
    ]
