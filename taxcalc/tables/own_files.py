"""What a folder of tables holds that would not be used, or no longer: files of other names, and rows taken out of a set."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Final

from taxcalc.messages import complain
from taxcalc.tables.schema import BY_NAME

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from taxcalc.errors import Complaint
    from taxcalc.tables.read import Cells

_SPREADSHEETS: Final = frozenset({".xlsx", ".xls", ".ods", ".numbers", ".tsv", ".txt", ".csv"})
"""Endings, in small letters, under which a spreadsheet may have saved a table; of these only `.csv` is read."""


def strangers(where: Path | None) -> list[Complaint]:
    """Complain about a folder that is not there, and about files in it that would be passed over in silence.

    Those are CSV files that no table has the name of, and tables saved as something else than CSV.
    """
    if where is None:
        return []
    if not where.is_dir():
        return [complain("E520", file=str(where))]
    found = []
    for path in sorted(where.rglob("*")):
        if path.suffix.lower() not in _SPREADSHEETS or not path.is_file():
            continue
        name = path.relative_to(where).with_suffix("").as_posix()
        if path.suffix == ".csv":
            found += [] if name in BY_NAME else [_unknown(path, name)]
        elif name.lower() in BY_NAME and not path.with_suffix(".csv").is_file():
            found.append(complain("E560", file=str(path), name=name.lower()))
    return found


def _unknown(path: Path, name: str) -> Complaint:
    """Complain about a file that no table has the name of."""
    near = difflib.get_close_matches(name, list(BY_NAME), n=1)
    hint = f" The nearest table is {near[0]}.csv." if near else ""
    return complain("E533", file=str(path), hint=hint)


def rows_gone(parts: Mapping[str, Sequence[Cells]]) -> list[Complaint]:
    """Complain about shipped rows that a full set given as own rows lacks: own rows take nothing away."""
    found = []
    for name, some in parts.items():
        shipped, mine = ([cells for cells in some if cells.own == own] for own in (False, True))
        unread = any(cells.complaints and not cells.rows for cells in mine)
        if name == "sources" or unread or not mine:
            continue
        there = {row for cells in mine for row in _names(cells)}
        gone = (row for cells in shipped for row in _names(cells) if row not in there)
        found += [complain("E561", file=mine[0].label, value=row) for row in gone]
    return found


def _names(cells: Cells) -> Iterable[str]:
    """Name rows by key and first day."""
    names = [field.name for field in cells.schema.fields if field.key]
    names += ["valid_from"] if cells.schema.dated else []
    return (" ".join(filter(None, row)) for row in zip(*(cells.text[name] for name in names), strict=True))
