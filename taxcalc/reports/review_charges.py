"""What the fulfiller charged against what it may charge, and what may be owed on goods ordered for oneself."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import count, day, money, place

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]

KIND = {
    "document_on_file": "charged with a document on file",
    "credit_short": "price given back, tax kept",
    "more": "more than explained",
    "less": "less than expected",
    "not_charged": "nothing, though expected",
    "credit_unsaid": "price given back, tax not in your files",
}
OF_ALL_TIMES = ("document_on_file", "credit_short")
ASK = (
    "Charges with a document on file, VAT on sales that are exempt by your VAT number or as exports, and tax kept when a price "
    "was given back, are those of the whole history: ask your fulfiller for a credit or a corrected invoice. As a rule you "
    "have to ask it, and it files the claim with the state. The day shown is on the safe side, counted from the first day of "
    "the quarter; the state's own may be later (* from memory, unconfirmed)."
)
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
        "Lines for which your files say what was charged, one minor unit a line forgiven for rounding. What you refund to a "
        "customer is no credit of your fulfiller: its own sale and tax stay, unless the line names the price or tax it gave "
        "back."
    )
    kinds = {row["kind"] in OF_ALL_TIMES for row in rows}
    asked = [ASK] if True in kinds else []
    below = "The other kinds are of the period." if len(kinds) > 1 else ""
    columns = [Column("Charged against expected"), Column("How"), Column("Lines", number=True)]
    columns.append(Column("Amount", number=True))
    cells: list[list[Cell]] = [
        [
            stacked(place(row), *_quarters(row, currency, record["as_of"])),
            VAT_KIND.get(row["kind"], KIND[row["kind"]]) if row["regime"] == "eu" else KIND[row["kind"]],
            count(row["lines"]),
            money(row["amount"], currency),
        ]
        for row in rows
    ]
    return [
        *heading("Your fulfiller's charges compared"),
        paragraph(" ".join([words, *asked])),
        *figures(columns, cells, rows[0]["caution"], below),
    ]


def _quarters(row: Row, currency: str, as_of: str) -> list[str]:
    """Name the quarters of what can be asked back, those that run out first above, and what it is too late for."""
    if row["kind"] not in OF_ALL_TIMES:
        return []
    open_yet = [part for part in row["quarters"] if not part["too_late"]]
    named = [
        f"{part['quarter']} {money(part['amount'], currency)}, {ask_by(part, as_of)}"
        for part in open_yet[:QUARTERS]
    ]
    more = ["and later ones"] if len(open_yet) > QUARTERS else []
    gone = (
        [f"too late for {money(row['too_late'], currency)}: final cost"] if Decimal(row["too_late"]) else []
    )
    return [*named, *more, *gone]


def ask_by(part: Row, as_of: str) -> str:
    """Say until when something can be asked back; a star where that is from memory."""
    if not part["ask_by"]:
        return "last day to ask not held here"
    star = " *" if part["ask_by_basis"] == "unconfirmed" else ""
    words = "ask by" if part["ask_by"] >= as_of else "ask at once, the day may be past since"
    return f"{words} {day(part['ask_by'])}{star}"


def samples(record: dict[str, Any]) -> Pieces:
    """Show the use tax that may be owed on samples; nothing where there is none."""
    rows = record.get("use_tax_on_samples") or []
    if not rows:
        return []
    currency = record["currency"]
    words = (
        "On goods that you ordered for yourself your fulfiller's tax is properly due. Where it charged none you may owe the "
        "same as use tax. This figure stands alone: it is in no sum of what you should collect. Where your files do not say "
        "what was charged, only the high end has it. What your fulfiller gave back of its price takes its part off, in the "
        "quarter of the order."
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
