"""The rows of one rate table as text: values as the law prints them, from when until when, and who says so."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, figures, heading, paragraph, stacked
from taxcalc.reports.words import printable, several
from taxcalc.tables.schema import BY_NAME

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
WHY: Final = {
    "holds": "holds on {on}",
    "carried_on": "holds on {on}, carried on: last checked on {since}, a later change is possible",
    "not_yet_known": "nothing known on {on}: the first row begins on {since}",
    "ended": "nothing holds on {on}: ended on {since}",
    "over": "nothing is known to hold on {on}: the last row before it holds until {since}",
    "nothing_shipped": "nothing holds on {on}: your own row ended on {since}, and no shipped row follows",
}


def pieces(data: dict[str, Any]) -> Pieces:
    """Draw the rows, each with its source."""
    schema = BY_NAME[data["table"]]
    where = f" in {printable(data['place_name'])} ({data['place']})" if data["place"] else ""
    title = f"{data['table']}: {schema.title}{where}"
    begin = [*heading(title), paragraph(f"Version {data['version']}. Values as the law prints them.")]
    notes = _below(data)
    if not data["rows"]:
        none = f"The table has no row{where}: nothing is known, which is not the same as no tax or no limit."
        return [*begin, paragraph(none), paragraph(notes), paragraph(data["caution"])]
    keys = [field.name for field in schema.fields if field.key and field.name != "place"]
    values = [field.name for field in schema.fields if not field.key]
    columns = [Column("Which, and when"), Column("What it says, and who says so")]
    rows = [[_head(row, keys, data["on"]), _body(row, values)] for row in data["rows"]]
    return [*begin, *figures(columns, rows, data["caution"], notes, gaps=True)]


def _below(data: dict[str, Any]) -> str:
    """Say how many rows there are, and which others may hold."""
    notes = [f"{several(len(data['rows']), 'row')}."] if data["rows"] else []
    if data["everywhere"]:
        notes.append(
            "Where no row here fits, those for all states hold: "
            f"`taxcalc tables show {data['table']} US` shows them."
        )
    return " ".join(notes)


def _head(row: Row, keys: list[str], on: str | None) -> Cell:
    """Name the row and its days."""
    name = f"{printable(row['place_name'])} ({row['place']})" if row["place_name"] else ""
    key = [printable(row[each]) for each in keys if row[each]]
    first, *more = [*([name] if name else []), *key]
    mine = "your own row" if row.get("own") else ""
    return stacked(first, *more, _days(row), _why(row, on), mine)


def _days(row: Row) -> str:
    """Write from and until."""
    if row.get("hidden"):
        return "on no day: a row of your own holds instead"
    if not row.get("from"):
        return ""
    until = f" until {row['until']}" if row["until"] else " on"
    return f"from {row['from']}{until}"


def _why(row: Row, on: str | None) -> str:
    """Say what holds on the day asked for, or why nothing does."""
    return WHY[row["why"]].format(on=on, since=row["since"]) if row.get("why") else ""


def _body(row: Row, values: list[str]) -> Cell:
    """Write the values, then where they come from."""
    said = [f"{name}: {printable(row[name])}" for name in values if row.get(name)]
    if row.get("ended") == "yes":
        said.append("ended: from this day nothing holds")
    if row.get("source"):
        said += [*([""] if said else []), *_origin(row)]
    return "\n".join(said)


def _origin(row: Row) -> list[str]:
    """Say how sure the row is, who says so, and what a reader should know."""
    doubts = f", but from memory: {row['unconfirmed_columns']}" if row["unconfirmed_columns"] else ""
    lines = [f"{row['basis']}{doubts}; checked on {row['checked_on']}"]
    link = f" <{printable(row['source_link'])}>" if row["source_link"] else ""
    lines.append(f"source {printable(row['source'])}: {printable(row['source_title'])}{link}")
    return [*lines, f"note: {printable(row['note'])}"] if row["note"] else lines
