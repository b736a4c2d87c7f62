"""One loaded table: its columns as arrays, the row in force on a day, and what a figure says of its rows."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY, PRODUCT_CLASSES
from taxcalc.tables.dated import DatedIndex
from taxcalc.tables.own import entries
from taxcalc.tables.parse import EVERY_CLASS, to_array
from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from taxcalc.tables.read import Cells
    from taxcalc.tables.schema import Field

UNCONFIRMED = BASES.index("unconfirmed")
_NO_ANSWERS: tuple[list[int], list[int]] = ([], [])


class Table:
    """A rate table; row numbers count from 0, shipped rows first, and -1 means that nothing is known.

    Every column has `size` + 1 entries; the last one is the blank, so that row -1 reads as blank.
    """

    def __init__(self, parts: Sequence[Cells]) -> None:
        """Put the shipped cells and, where there are any, the user's own cells together."""
        self._parts = parts
        self._printed: dict[str, list[str]] = {}
        self.schema = parts[0].schema
        self.name = self.schema.name
        self.size = sum(len(part.rows) for part in parts)
        self._fields = {field.name: field for field in fields_of(self.schema)}
        self._columns = {
            name: to_array(field.kind, [value for part in parts for value in part.values[name]])
            for name, field in self._fields.items()
        }
        self._own = np.array([*(part.own for part in parts for _ in part.rows), False], dtype=np.bool_)
        self._back = np.array([*(flag for part in parts for flag in part.flag("back_to_shipped")), False])
        self._keys = [field for field in self.schema.fields if field.key]
        self._key_text = list(
            zip(
                *([text for part in parts for text in part.text[field.name]] for field in self._keys),
                strict=True,
            ),
        )

    def __getitem__(self, field: str) -> NDArray[Any]:
        """Give a column by name, as an array of `size` + 1 entries; raises `KeyError` for an unknown name."""
        return self._columns[field]

    def lookup(self, day: object = NO_DAY, **keys: object) -> NDArray[np.int32]:
        """Find the row in force on a day, for arrays of days and keys broadcast against each other.

        `day` counts days since 1970-01-01 and is ignored by tables without days. Keys stand under the names
        of the key columns: place numbers, class numbers (-1 is `*`) or texts; a single place or class may be
        its code. A key column that may be blank can be left out and is then blank. Matches are exact. Answers
        -1 before the first row of a key, after its end, and for a key that the table does not have.
        """
        row = self._entry(day, keys)
        return np.where((row >= 0) & self._is_ended[row], np.int32(-1), row)

    def row(self, day: int = NO_DAY, **keys: object) -> int:
        """Find the row in force for one day and one key, as `lookup` does for many; -1 where there is none."""
        days, rows = self._answers.get(tuple(self._asked(keys)), _NO_ANSWERS)
        at = bisect_right(days, day if self.schema.dated else NO_DAY) - 1
        row = rows[at] if at >= 0 else -1
        return -1 if row >= 0 and self._is_ended[row] else row

    def ended(self, day: object = NO_DAY, **keys: object) -> NDArray[np.bool_]:
        """Tell where `lookup` answers -1 because the rule has ended, and not because nothing is known."""
        row = self._entry(day, keys)
        ended: NDArray[np.bool_] = (row >= 0) & self._is_ended[row]
        return ended

    def first_day(self, **keys: object) -> int:
        """Give the first day on which one key has a row, as days since 1970-01-01; else `NO_DAY`."""
        rows = self.rows(**keys)
        return int(self._days[rows].min()) if rows.size else NO_DAY

    def rows(self, **values: object) -> NDArray[np.int32]:
        """List the rows whose columns hold the single values given, in the order of the file."""
        chosen = np.ones(self.size, dtype=np.bool_)
        for name, value in values.items():
            chosen &= self._columns[name][:-1] == _number(self._fields[name], value)
        return np.flatnonzero(chosen).astype(np.int32)

    def row_ids(self, rows: NDArray[np.integer]) -> NDArray[np.object_]:
        """Name rows as `us/thresholds:US-CA:2019-04-01` (own rows after `own:`); "" for -1."""
        ids: NDArray[np.object_] = self._ids[rows]
        return ids

    def basis(self, rows: NDArray[np.integer], *fields: str) -> NDArray[np.int8]:
        """Give the weakest basis (index into BASES) of the named fields of each row; 0 for row -1."""
        basis = self._bases[rows]
        for field in fields:
            if field not in self._fields:
                raise KeyError(field)
            if field in self._doubts:
                basis = np.where(self._doubts[field][rows], np.int8(UNCONFIRMED), basis)
        return np.asarray(basis, dtype=np.int8)

    def checked_on(self, rows: NDArray[np.integer]) -> NDArray[np.int32]:
        """Give the day on which each row was last held against its source, `NO_DAY` for row -1."""
        if not self.schema.sourced:
            return np.full(np.shape(rows), NO_DAY, dtype=np.int32)
        return np.asarray(self._columns["checked_on"][rows], dtype=np.int32)

    def sources(self, rows: NDArray[np.integer]) -> set[str]:
        """Name the published sources of some rows, as ids of sources.csv."""
        return set(self._columns["source"][rows[rows >= 0]].tolist()) if self.schema.sourced else set()

    def is_own(self, rows: NDArray[np.integer]) -> NDArray[np.bool_]:
        """Tell which rows are the user's own; no for row -1."""
        return np.asarray(self._own[rows], dtype=np.bool_)

    def is_own_row(self, row: int) -> bool:
        """Tell whether one row is the user's own."""
        return bool(self._own[row])

    def change_days(self, place: int) -> NDArray[np.int32]:
        """List the days, ascending, on which something changes in one place (a place number)."""
        return self._change_days.get(place, np.array([], dtype=np.int32))

    @cached_property
    def _change_days(self) -> dict[int, NDArray[np.int32]]:
        """Place number → the days, ascending, on which something changes there."""
        if "place" not in self._columns or not self.schema.dated:
            return {}
        days: dict[int, set[int]] = {}
        for place, day in zip(self._columns["place"][:-1].tolist(), self._days[:-1].tolist(), strict=True):
            days.setdefault(place, set()).add(day)
        if self.schema.last_day:
            lasts = self._columns[self.schema.last_day][:-1].tolist()
            for place, last in zip(self._columns["place"][:-1].tolist(), lasts, strict=True):
                days[place] |= {last + 1} - {NO_DAY + 1}
        return {place: np.array(sorted(some), np.int32) for place, some in days.items()}

    @cached_property
    def _days(self) -> NDArray[np.int32]:
        """First day of each row; the earliest day there is in tables without days."""
        if not self.schema.dated:
            return np.full(self.size + 1, NO_DAY, dtype=np.int32)
        return np.asarray(self._columns["valid_from"], dtype=np.int32)

    @cached_property
    def _is_ended(self) -> NDArray[np.bool_]:
        """Whether each row ends its key."""
        return np.asarray(self._columns.get("ended", np.zeros(self.size + 1)), dtype=np.bool_)

    def printed(self, name: str) -> list[str]:
        """Give the cells of a column as they stand in the files, one a row."""
        if name not in self._printed:
            parts = (part.text.get(name) or [""] * len(part.rows) for part in self._parts)
            self._printed[name] = [text for texts in parts for text in texts]
        return self._printed[name]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all columns, in the order of the schema."""
        return tuple(self._fields)

    @property
    def keys(self) -> list[tuple[str, ...]]:
        """The texts of the key columns of each row."""
        return self._key_text

    @cached_property
    def entries(self) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        """The entries of the look-up: whose key and day each one has, and the row that answers (-1: none)."""
        count = self.size
        return entries(
            self._key_text,
            self._days[:count].tolist(),
            self._own[:count].tolist(),
            self._back[:count].tolist(),
        )

    @cached_property
    def _index(self) -> DatedIndex:
        """The look-up by key and day."""
        at, answer = self.entries
        return DatedIndex([self._columns[field.name][at] for field in self._keys], self._days[at], answer)

    @cached_property
    def _ids(self) -> NDArray[np.object_]:
        """The name of each row: one word, so that several can stand one after the other."""
        days = [f":{_iso(day)}" for day in self._days.tolist()] if self.schema.dated else [""] * self.size
        names = np.empty(self.size + 1, dtype=object)
        names[:] = [
            *(
                ("own:" if own else "") + f"{self.name}:" + "_".join("/".join(key).rstrip("/").split()) + day
                for key, day, own in zip(self._key_text, days, self._own.tolist(), strict=False)
            ),
            "",
        ]
        return names

    @cached_property
    def _bases(self) -> NDArray[np.int8]:
        """Basis of each row."""
        if not self.schema.sourced:
            return np.zeros(self.size + 1, dtype=np.int8)
        known = {name: number for number, name in enumerate(BASES)}
        return np.array([known.get(text, 0) for text in self._columns["basis"].tolist()], dtype=np.int8)

    @cached_property
    def _doubts(self) -> dict[str, NDArray[np.bool_]]:
        """By column, in which rows it rests on memory; columns without any doubt are left out."""
        doubts: dict[str, NDArray[np.bool_]] = {}
        if self.schema.sourced:
            for row, text in enumerate(self._columns["unconfirmed_columns"].tolist()):
                for name in text.split():
                    doubts.setdefault(name, np.zeros(self.size + 1, dtype=np.bool_))[row] = True
        return doubts

    @cached_property
    def _answers(self) -> dict[tuple[object, ...], tuple[list[int], list[int]]]:
        """The look-up by key, for single questions: the days of the entries of a key, ascending, and their rows."""
        at, answer = self.entries
        keys = zip(*(self._columns[field.name][at].tolist() for field in self._keys), strict=True)
        found: dict[tuple[object, ...], tuple[list[int], list[int]]] = {}
        for day, key, row in sorted(zip(self._days[at].tolist(), keys, answer.tolist(), strict=True)):
            days, rows = found.setdefault(key, ([], []))
            days.append(day)
            rows.append(row)
        return found

    def _entry(self, day: object, keys: dict[str, object]) -> NDArray[np.int32]:
        """Find the row of the entry in force, whether or not it is an ending."""
        return self._index.rows(day if self.schema.dated else NO_DAY, self._asked(keys))

    def _asked(self, keys: dict[str, object]) -> list[object]:
        """Give what is asked for, in the order of the key columns; raises `TypeError` for other columns."""
        unknown = set(keys) - {field.name for field in self._keys}
        missing = [field.name for field in self._keys if field.required and field.name not in keys]
        if unknown or missing:
            message = f"{self.name} is looked up by {[f.name for f in self._keys]}, not by {sorted(keys)}"
            raise TypeError(message)
        return [_number(field, keys.get(field.name, "")) for field in self._keys]


def _number(field: Field, value: object) -> object:
    """Turn a single place code or class name into its number; leave all else as it is."""
    if isinstance(value, str) and field.kind == "place":
        return places.index(value)
    if isinstance(value, str) and field.kind == "product_class":
        return EVERY_CLASS if value == "*" else PRODUCT_CLASSES.index(value)
    return value


def _iso(day: int) -> str:
    """Write days since 1970-01-01 as an ISO day; nothing for the blank."""
    return "" if day == NO_DAY else (date(1970, 1, 1) + timedelta(days=day)).isoformat()
