"""The table rows behind an explanation: what they say, from when until when, on whose word, checked when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

import numpy as np

from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.explain.words import percent
from taxcalc.tables.fields import SOURCED
from taxcalc.tables.schema import BASES
from taxcalc.tables.spans import Span, spans
from taxcalc.tables.table import Table

if TYPE_CHECKING:
    from taxcalc.local_rates.store import LocalRates
    from taxcalc.tables.load import Tables
    from taxcalc.tables.rows import Rows
    from taxcalc.terms import Terms

Used = tuple["Rows", int, tuple[str, ...]]
"""A table, a row of it, and the columns that an answer rests on."""

_FRAME = frozenset(field.name for field in SOURCED) | {"valid_from", "ended", "back_to_shipped"}


def rows_behind(terms: Terms, case: int) -> list[Used]:
    """List the rows that the answer for a case rests on, each with the columns used."""
    found: list[Used] = []
    for index, evidence in terms.proofs:
        for at in np.flatnonzero(index == case).tolist():
            found += [
                (table, int(rows[at]), columns) for table, rows, columns in evidence.used if rows[at] >= 0
            ]
    return found


class Ledger:
    """All rows that an explanation names, each described once; `rows` is by the id of the row, in order of first use."""

    def __init__(self, tables: Tables) -> None:
        """Begin with no row."""
        self.tables = tables
        self.rows: dict[str, dict[str, Any]] = {}
        self._columns: dict[str, dict[str, None]] = {}
        self._spans: dict[str, dict[int, Span]] = {}

    def cite(self, *used: Used) -> list[str]:
        """Note rows and the columns that matter in them; gives their ids, each once."""
        ids = []
        for table, row, columns in used:
            name = str(table.row_ids(np.array([row]))[0])
            known = self._columns.setdefault(name, {})
            known.update(dict.fromkeys(columns))
            self.rows[name] = self._described(table, row, name, list(known))
            ids.append(name)
        return list(dict.fromkeys(ids))

    def span(self, table: Table, row: int) -> Span:
        """Give the days on which a row answers."""
        if table.name not in self._spans:
            self._spans[table.name] = {span.row: span for span in spans(table)}
        return self._spans[table.name][row]

    def _described(self, table: Rows, row: int, name: str, columns: list[str]) -> dict[str, Any]:
        """Describe one row."""
        at = np.array([row])
        checked = int(table.checked_on(at)[0])
        common = {
            "row": name,
            "basis": BASES[int(table.basis(at, *columns)[0])],
            "checked_on": to_day(checked).isoformat() if checked > 0 else None,
            "own": bool(table.is_own(at)[0]),
            "caution": CAUTION,
        }
        if isinstance(table, Table):
            return {**common, **self._of_table(table, row, columns)}
        return {**common, **self._of_store(table, row, name)}

    def _of_table(self, table: Table, row: int, columns: list[str]) -> dict[str, Any]:
        """Describe what only a rate table has: its title, cells as printed, days and source."""
        span = self.span(table, row) if table.schema.dated else Span(row, None, None)
        cells = {
            column: table.printed(column)[row]
            for column in columns or [name for name in table.names if name not in _FRAME]
        }
        sourced = table.schema.sourced
        source = self.tables.source(table.printed("source")[row]) if sourced else None
        return {
            "table": table.name,
            "title": table.schema.title,
            "says": [f"{column}: {cell}" for column, cell in cells.items() if cell],
            "valid_from": _iso(span.first),
            "valid_until": _iso(span.last),
            "source": {"id": table.printed("source")[row], **source} if source else None,
            "note": table.printed("note")[row] if sourced else "",
        }

    def _of_store(self, table: Rows, row: int, name: str) -> dict[str, Any]:
        """Describe a row of the store of local rates, whose name holds its files and its first day."""
        store = cast("LocalRates", table)
        papers = sorted(table.sources(np.array([row])))
        source = {"id": papers[0], **self.tables.source(papers[0])} if papers else None
        return {
            "table": "us/local",
            "title": "Local rates of files of states that you added",
            "says": [
                f"{end} rate, state and local together: {percent(int(store.column(end, np.array([row]))[0]))}"
                for end in ("low", "high")
            ],
            "valid_from": name.rpartition(":")[2],
            "valid_until": None,
            "source": source,
            "note": "",
        }


def name_of(table: Rows) -> str:
    """Give the name of a table or of the store of local rates."""
    return str(getattr(table, "name", "us/local"))


def _iso(day: int | None) -> str | None:
    """Write a day."""
    return None if day is None else to_day(day).isoformat()
