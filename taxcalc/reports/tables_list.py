"""The overview of the rate tables, as text and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.reports.layout import Column, figures, heading, paragraph, stacked
from taxcalc.reports.words import count, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces
    from taxcalc.tables.overview import Overview

Row = dict[str, Any]


def as_data(overviews: list[Overview], version: str) -> dict[str, Any]:
    """Give the overview as plain data; shares are counts of rows."""
    return {"caution": CAUTION, "version": version, "tables": [_row(each) for each in overviews]}


def _row(each: Overview) -> Row:
    """Write one table."""
    days = {
        "first_valid_from": each.first_day,
        "last_valid_from": each.last_day,
        "oldest_checked_on": each.oldest_check,
    }
    return {
        "table": each.name,
        "title": each.title,
        "rows": each.rows,
        "own_rows": each.own_rows,
        "places": each.places,
        **{name: None if day is None else to_day(day).isoformat() for name, day in days.items()},
        "rows_by_basis": each.by_basis if any(each.by_basis.values()) else None,
        "rows_partly_unconfirmed": each.partly_unconfirmed,
        "caution": CAUTION,
    }


def pieces(data: dict[str, Any]) -> Pieces:
    """Draw the overview."""
    columns = [
        Column("Table"),
        Column("Rows", number=True),
        Column("Places", number=True),
        Column("Holds from"),
        Column("Oldest check"),
        Column("How sure"),
    ]
    words = (
        f"Version {data['version']}. Holds from: the first day of the first row, and of the newest one. How sure: "
        "official / secondary / unconfirmed rows in percent; (+n) more rows rest on memory in some of their columns."
    )
    rows = [_cells(row) for row in data["tables"]]
    below = "`taxcalc tables show TABLE PLACE` shows rows with their sources."
    return [
        *heading("Rate tables"),
        paragraph(words),
        *figures(columns, rows, data["caution"], below, gaps=True),
    ]


def _cells(row: Row) -> list[Cell]:
    """Write the line of one table."""
    own = f"{several(row['own_rows'], 'own row')} included" if row["own_rows"] else ""
    span = [day for day in (row["first_valid_from"], row["last_valid_from"]) if day]
    places = count(row["places"]) if row["places"] else ""
    return [
        stacked(row["table"], row["title"], own),
        count(row["rows"]),
        places,
        "\n".join(span) or "no days",
        row["oldest_checked_on"] or "no source column",
        _sure(row),
    ]


def _sure(row: Row) -> str:
    """Write the shares; they are rounded and need not add up to 100."""
    if not row["rows_by_basis"]:
        return ""
    whole = sum(row["rows_by_basis"].values())
    shares = " / ".join(str((200 * part + whole) // (2 * whole)) for part in row["rows_by_basis"].values())
    more = f" (+{row['rows_partly_unconfirmed']})" if row["rows_partly_unconfirmed"] else ""
    return f"{shares} %{more}"
