"""What the files of one state say, in one form for all layouts: rates of codes, and spans of ZIP codes with their codes.

A span names its codes by one text: `00/045 01/36000 45/20`, the jurisdictions whose rates are added, or `=65000`, a
whole rate in parts per million that the file itself gives.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from taxcalc.local_rates.cells import SHOWN, refused
from taxcalc.local_rates.pieces import numbered
from taxcalc.messages import complain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

RATES_OF: Final = ("start", "stop", "ppm", "file", "row")
"""Columns of rates of codes: first and last day, parts per million, number of the file, row in it."""

SPANS_OF: Final = ("level", "first", "last", "key", "start", "stop", "file", "row")
"""Columns of spans: level, first and last ZIP+4 as nine digits, key of an address, days, file, row."""

ADDRESS, ZIP4, ZIP = 0, 4, 5
"""Levels of spans. An address range is known to the ZIP code only: it widens what is known of it."""

PLUS4: Final = 10_000
"""ZIP+4 codes in one ZIP code."""

WHOLE: Final = "="
"""Begins the name of a whole rate."""


@dataclass(frozen=True)
class Rows:
    """Rows of one kind: distinct `names`, which of them each row has (`name`), and further columns."""

    names: list[str]
    name: Ints
    columns: dict[str, Ints]

    @property
    def size(self) -> int:
        """Number of rows."""
        return int(self.name.size)

    def __getitem__(self, column: str) -> Ints:
        """Give a column by name."""
        return self.columns[column]

    def take(self, index: NDArray[Any]) -> Rows:
        """Give some rows."""
        return Rows(self.names, self.name[index], {key: value[index] for key, value in self.columns.items()})

    def with_file(self, file: int) -> Rows:
        """Say which file the rows come from."""
        return Rows(self.names, self.name, {**self.columns, "file": np.full(self.size, file, np.int64)})


def nothing(columns: Sequence[str]) -> Rows:
    """Give no rows at all."""
    return Rows([], np.zeros(0, np.int64), {column: np.zeros(0, np.int64) for column in columns})


def rows_of(texts: Sequence[str], codes: Ints, **columns: Ints) -> Rows:
    """Make rows whose names are `texts[codes]`; texts may repeat and need not all occur."""
    used = np.flatnonzero(np.bincount(codes, minlength=len(texts)))
    coded = pa.array(texts, pa.string()).take(pa.array(used)).dictionary_encode()
    order = pc.sort_indices(coded.dictionary).to_numpy()
    rank = np.empty(order.size, np.int64)
    rank[order] = np.arange(order.size)
    new = np.zeros(len(texts), np.int64)
    new[used] = rank[coded.indices.to_numpy()]
    return Rows(coded.dictionary.take(pa.array(order)).to_pylist(), new[codes], dict(columns))


def joined(parts: Sequence[Rows], columns: Sequence[str]) -> Rows:
    """Put rows together, with one list of names."""
    if not parts:
        return nothing(columns)
    texts = [name for part in parts for name in part.names]
    offset = np.cumsum([0, *(len(part.names) for part in parts[:-1])])
    codes = np.concatenate([part.name + shift for part, shift in zip(parts, offset.tolist(), strict=True)])
    return rows_of(texts, codes, **{key: np.concatenate([part[key] for part in parts]) for key in columns})


def changed(before: Rows, change: Rows, columns: Sequence[str]) -> Rows:
    """Lay the rows of a change file over earlier ones: a row of the same key and first day replaces the earlier one."""
    both = joined([before, change], columns)
    key, _ = numbered(*_key(both), both["start"])
    mine = np.arange(both.size) >= before.size
    replaced = ~mine & np.isin(key, key[mine])
    return both.take(~replaced)


def _key(rows: Rows) -> tuple[Ints, ...]:
    """Give the columns that tell one thing from another: a code, or a span with its address."""
    if "level" in rows.columns:
        return rows["level"], rows["first"], rows["last"], rows["key"]
    return (rows.name,)


def require_apart(rows: Rows, files: Sequence[str]) -> None:
    """Refuse rows of one key whose periods overlap, and periods that run backwards (E567, E568)."""
    backwards = np.flatnonzero(rows["stop"] < rows["start"])
    if backwards.size:
        raise refused(
            complain("E568", file=files[rows["file"][at]], row=int(rows["row"][at]))
            for at in backwards[:SHOWN].tolist()
        )
    key, _ = numbered(*_key(rows))
    order = np.lexsort((rows["row"], rows["file"], rows["start"], key))
    clash = np.flatnonzero(
        (key[order][1:] == key[order][:-1]) & (rows["start"][order][1:] <= rows["stop"][order][:-1])
    )
    if clash.size:
        raise overlapping(rows, files, order[clash + 1], order[clash])


def overlapping(rows: Rows, files: Sequence[str], these: Ints, those: Ints) -> Exception:
    """Say which rows overlap which others."""
    pairs = zip(these[:SHOWN].tolist(), those[:SHOWN].tolist(), strict=True)
    return refused(
        complain(
            "E567",
            file=files[rows["file"][this]],
            row=int(rows["row"][this]),
            value=said(rows, this),
            other=int(rows["row"][that]),
            other_file=files[rows["file"][that]],
        )
        for this, that in pairs
    )


def said(rows: Rows, at: int) -> str:
    """Name what a row speaks of."""
    if "level" not in rows.columns:
        return str(rows.names[int(rows.name[at])])
    first, last = int(rows["first"][at]), int(rows["last"][at])
    if rows["level"][at] == ZIP4:
        return f"{_plus4(first)} to {_plus4(last)}"
    return f"{first // PLUS4:05} to {last // PLUS4:05}"


def _plus4(code: int) -> str:
    """Write a ZIP+4 code."""
    return f"{code // PLUS4:05}-{code % PLUS4:04}"
