"""Every table in one line: how many rows, for how many places, how old and how sure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import NO_DAY
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.tables.load import Table, Tables

UNCONFIRMED = BASES[-1]


@dataclass(frozen=True)
class Overview:
    """One table: days are numbers since 1970-01-01, None where it has none; `by_basis` counts rows by basis.

    `partly_unconfirmed` counts rows that are official or secondary and have a column that rests on memory.
    """

    name: str
    title: str
    rows: int
    own_rows: int
    places: int
    first_day: int | None
    last_day: int | None
    oldest_check: int | None
    by_basis: dict[str, int]
    partly_unconfirmed: int


def overview(tables: Tables) -> list[Overview]:
    """Give every table in the order of the schemas."""
    return [_of(table) for table in tables]


def _of(table: Table) -> Overview:
    """Look over one table."""
    every = np.arange(table.size)
    is_place = any(field.name == "place" and field.kind == "place" for field in table.schema.fields)
    days = table["valid_from"][every] if table.schema.dated else np.array([], np.int32)
    checks = table.checked_on(every)
    words = [text for text in table.printed("basis") if text]
    pairs = zip(table.printed("basis"), table.printed("unconfirmed_columns"), strict=True)
    partly = sum(bool(doubts) and basis != UNCONFIRMED for basis, doubts in pairs)
    return Overview(
        table.name,
        table.schema.title,
        table.size,
        int(table.is_own(every).sum()),
        len(set(table["place"][every].tolist())) if is_place else 0,
        _least(days),
        _most(days),
        _least(checks),
        {word: words.count(word) for word in BASES},
        partly,
    )


def _least(days: npt.NDArray[np.int32]) -> int | None:
    """Give the first day there is."""
    known = days[days != NO_DAY]
    return int(known.min()) if known.size else None


def _most(days: npt.NDArray[np.int32]) -> int | None:
    """Give the last day there is."""
    known = days[days != NO_DAY]
    return int(known.max()) if known.size else None
