"""The rows of one table as a person reads them: values as printed, from and until, source and basis; plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.tables.fields import SOURCED
from taxcalc.tables.spans import answers, spans

if TYPE_CHECKING:
    from taxcalc.tables.load import Table, Tables
    from taxcalc.tables.spans import Answer, Span


def shown(tables: Tables, name: str, place: str | None = None, on: int | None = None) -> dict[str, Any]:
    """Give the rows of a table, of one place (a code) if asked, as they hold on a day (since 1970) if asked.

    Every row has the columns of the table as printed and `row_id`, `place_name`, `from`, `until`, `own`, `hidden`,
    `source_title`, `source_link` and `caution`. With a day there is one row a key, with `why` it holds or does not
    and the day `since`; where nothing holds only its key columns are there and, where a row says so, `own` and where it
    comes from.
    """
    table = tables[name]
    if on is None or not table.schema.dated:
        rows = [_row(tables, table, span) for span in spans(table) if _is_of(table, span.row, place)]
    else:
        rows = [
            _answered(tables, table, each) for each in answers(table, on) if _is_key_of(table, each, place)
        ]
    return {
        "caution": CAUTION,
        "table": name,
        "title": table.schema.title,
        "version": tables.version,
        "place": place,
        "place_name": places.name(place) if place else None,
        "on": _iso(on),
        "everywhere": _everywhere(table, place),
        "rows": rows,
    }


def has_places(table: Table) -> bool:
    """Tell whether rows of the table are of places."""
    return any(field.name == "place" for field in table.schema.fields)


def _everywhere(table: Table, place: str | None) -> bool:
    """Tell whether rows for the whole United States may hold in the place too."""
    wide = place is not None and place.startswith("US-") and has_places(table)
    return wide and "US" in table.printed("place")


def _is_of(table: Table, row: int, place: str | None) -> bool:
    """Tell whether a row is of the place asked for."""
    return place is None or table.printed("place")[row] == place


def _is_key_of(table: Table, answer: Answer, place: str | None) -> bool:
    """Tell whether a key is of the place asked for."""
    names = [field.name for field in table.schema.fields if field.key]
    return place is None or ("place" in names and answer.key[names.index("place")] == place)


def _answered(tables: Tables, table: Table, answer: Answer) -> dict[str, Any]:
    """Write what holds of a key, or why nothing does."""
    said = {"why": answer.why, "since": _iso(answer.since)}
    if answer.span is not None:
        return {**_row(tables, table, answer.span), **said}
    names = [field.name for field in table.schema.fields if field.key]
    key = dict(zip(names, answer.key, strict=True))
    from_where = _origin(tables, table, answer.says) if answer.says >= 0 else {}
    return {**key, "place_name": _place_name(key), **said, **from_where, "caution": CAUTION}


def _origin(tables: Tables, table: Table, row: int) -> dict[str, Any]:
    """Write whose a row is and who says so."""
    columns = [field.name for field in SOURCED] if table.schema.sourced else []
    cells = {name: table.printed(name)[row] for name in columns}
    source = tables.source(cells["source"]) if cells.get("source") else {"title": "", "link": ""}
    return {
        **cells,
        "row_id": str(table.row_ids(np.array([row]))[0]),
        "own": table.is_own_row(row),
        "source_title": source["title"],
        "source_link": source["link"],
    }


def _row(tables: Tables, table: Table, span: Span) -> dict[str, Any]:
    """Write one row."""
    cells = {name: table.printed(name)[span.row] for name in table.names}
    return {
        **cells,
        **_origin(tables, table, span.row),
        "place_name": _place_name(cells),
        "from": _iso(span.first),
        "until": _iso(span.last),
        "hidden": span.hidden,
        "caution": CAUTION,
    }


def _place_name(cells: dict[str, str]) -> str | None:
    """Name the place of a row, where it has one."""
    code = cells.get("place")
    return places.name(code) if code in places.codes() else None


def _iso(day: int | None) -> str | None:
    """Write a day."""
    return None if day is None else to_day(day).isoformat()
