"""What becomes of the fulfiller's tax that no document avoids: on which way it may come back, until when, or why not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, stacked
from taxcalc.reports.words import day, money, place

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]


def ways(rows: list[Row], currency: str) -> Pieces:
    """Say on which way what is not avoidable may come back and until when, or why it does not."""
    found: dict[tuple[str, str, str, bool], list[str]] = {}
    for row, way in ((one, way) for one in rows for way in one["ways"]):
        key = way["words"], _until(way), way["law"] or "", way["comes_back"]
        amount = money(way["expected"], currency)
        mark = "*" if way["basis"] == "unconfirmed" else ""
        found.setdefault(key, []).append(f"{place(row)} {amount}{mark}")
    if not found:
        return []
    columns = [Column("What becomes of the rest"), Column("Until when"), Column("Where", number=True)]
    cells: list[list[Cell]] = [
        [stacked(f"{'May come back' if back else 'Final'}: {words}", law), until, stacked(*places)]
        for (words, until, law, back), places in found.items()
    ]
    below = "* the procedure and its last day are from memory: check them with the state's tax office before you rely on them."
    doubtful = any(text.endswith("*") for places in found.values() for text in places)
    return figures(columns, cells, rows[0]["caution"], below if doubtful else "", gaps=True)


def _until(way: Row) -> str:
    """Say for which year the last day to ask is, and the least sum that is paid."""
    if not way["ask_by"]:
        return ""
    least = f", at least {way['least']} a year" if way["least"] else ""
    return f"tax of {way['year']}: ask by {day(way['ask_by'])}{least}"
