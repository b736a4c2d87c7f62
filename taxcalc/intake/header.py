"""The header of an order file: which of its columns is which of ours."""

from __future__ import annotations

import difflib
from collections import Counter
from typing import TYPE_CHECKING

from taxcalc.columns import BY_NAME, COLUMNS, REQUIRED
from taxcalc.intake.column_map import ColumnMap
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Sequence

WANTED: frozenset[str] = frozenset(column.name for column in COLUMNS) - {"description", "sku"}
"""Columns that are read; free text is never needed."""


def canonical(cell: str, columns: ColumnMap) -> str | None:
    """Give the canonical name of a header cell, or None for a column that is not ours."""
    own = cell.strip()
    if own in columns.rename:
        return columns.rename[own]
    name = "_".join(own.casefold().replace("_", " ").replace("-", " ").split())
    return name if name in BY_NAME else None


def names_of(cells: Sequence[str], columns: ColumnMap) -> tuple[str | None, ...]:
    """Give the canonical name of each header cell that is read, None for the others."""
    names = (canonical(cell, columns) for cell in cells)
    return tuple(name if name in WANTED else None for name in names)


def missing(names: Sequence[str | None], columns: ColumnMap) -> list[str]:
    """List the needed columns that neither the header nor the constants of the column map have."""
    return [name for name in REQUIRED if name not in names and name not in columns.constant]


def require_columns(file: str, cells: Sequence[str], names: Sequence[str | None], columns: ColumnMap) -> None:
    """Refuse a header with a needed column missing (E310) or a column of ours twice (E311)."""
    for name, count in Counter(name for name in names if name).items():
        if count > 1:
            doubled = [cell for cell, found in zip(cells, names, strict=True) if found == name]
            headers = ", ".join(f'"{cell}"' for cell in doubled)
            raise refuse("E311", file=file, column=name, headers=headers, how=_once(name, doubled, columns))
    for name in missing(names, columns):
        nearest = _renamed_away(name, cells, columns) or _nearest(name, cells, names)
        raise refuse("E310", file=file, column=name, seen=_listed(cells), nearest=nearest)


def unused_constants(file: str, names: Sequence[str | None], columns: ColumnMap) -> list[str]:
    """Say which constants of the column map do nothing, because the file has a column for them."""
    return [
        f'{file}: it has a column for {name}, so "{name}" under [constant] of the column map is not used for it, not even '
        "where a cell is blank."
        for name in columns.constant
        if name in names
    ]


def _once(name: str, cells: Sequence[str], columns: ColumnMap) -> str:
    """Say how to be left with one column: a line of the column map that makes a second one goes."""
    for cell in cells:
        if cell.strip() != name and columns.rename.get(cell.strip()) == name:
            return f'Take the line "{cell.strip()}" = "{name}" out of the column map, or delete the other column.'
    return "Delete or rename all but one of them."


def _renamed_away(name: str, cells: Sequence[str], columns: ColumnMap) -> str:
    """Say which line of the column map renames the very column that is missing; empty where none does."""
    for cell in cells:
        other = columns.rename.get(cell.strip(), name)
        if other != name and canonical(cell, ColumnMap()) == name:
            return (
                f'Take the line "{cell.strip()}" = "{other}" out of the column map, or name the right header.'
            )
    return ""


def _nearest(name: str, cells: Sequence[str], names: Sequence[str | None]) -> str:
    """Say which header looks like the missing column, with the line to add to the column map."""
    free = {
        cell.strip(): cell.strip().casefold()
        for cell, found in zip(cells, names, strict=True)
        if found is None
    }
    close = difflib.get_close_matches(name, free.values(), n=1, cutoff=0.5)
    likely = next((cell for cell, folded in free.items() if close and folded == close[0]), None)
    if likely is None:
        return f'Name the column in columns.toml, under [rename]: "your header" = "{name}".'
    return f'If it is "{likely}", write in columns.toml under [rename]: "{likely}" = "{name}".'


def _listed(cells: Sequence[str]) -> str:
    """List header cells for a message."""
    most = 40
    shown = ", ".join(f'"{cell.strip()}"' for cell in cells[:most])
    return shown + (f" and {len(cells) - most} more" if len(cells) > most else "")
