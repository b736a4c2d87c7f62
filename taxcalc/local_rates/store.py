"""The store of local rates as a review uses it: the zone of a ZIP code, and what holds in a zone on a day.

Nothing is read but the index until an address of a state asks; then the two small files of that state. Their hashes are
compared with the index, so a damaged file is refused and never used. Rows of all states are numbered one after the
other in the order of the index, whichever of them are read.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.local_rates.index import FOLDER, NAME, read_index
from taxcalc.local_rates.layout import PAPERS
from taxcalc.messages import refuse
from taxcalc.tables.fields import BASES

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from taxcalc.local_rates.index import AddedState

    Ints = NDArray[np.int64]

TABLE: Final = "us/local"
BY_ZIP4, BY_ZIP = 4, 5
LEVELS: Final = {BY_ZIP4: "zip+4", BY_ZIP: "zip"}
PLUS4: Final = 10_000
NO_ZONE: Final = 0
_DAY: Final = 2**33
_SHIFT: Final = 2**31
_BASIS: Final = {"wa-dor-rate-files": "official"}
"""Layouts that were read whole; rates from the others rest on a layout of which parts are from memory, or on the user."""


def store_in(own: Path | None) -> LocalRates | None:
    """Open the store among own rows, None where there is none; raises E574 for an index that cannot be read."""
    path = own / FOLDER / NAME if own is not None else None
    return LocalRates(path.parent, read_index(path)) if path is not None and path.is_file() else None


def read_part(where: Path, state: AddedState, part: str) -> Any:  # noqa: ANN401 - Arrow has no types of its own
    """Read one file of a state as an Arrow table; raises E573 where it is not what was written."""
    import pyarrow as pa  # noqa: PLC0415 - only with a store
    from pyarrow import parquet  # noqa: PLC0415 - only with a store

    path = where / state.folder / f"{part}.parquet"
    try:
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != state.sha256[part]:
            raise refuse("E573", file=str(path), detail="its SHA-256 is not the one in the index")
        return parquet.read_table(pa.BufferReader(content))
    except OSError as error:
        raise refuse("E573", file=str(path), detail=(error.strerror or str(error)).lower()) from error


@dataclass
class State:
    """One state of the store; its files are read when they are first needed. `offset` is the number of its first row."""

    folder: Path
    added: AddedState
    offset: int

    @cached_property
    def where(self) -> dict[int, dict[str, Ints]]:
        """Where its zones lie, by level."""
        columns = self._columns("where")
        levels = columns.pop("level")
        return {
            level: {name: column[levels == level] for name, column in columns.items()} for level in LEVELS
        }

    @cached_property
    def held(self) -> dict[str, Ints]:
        """What holds in its zones."""
        return self._columns("held")

    @cached_property
    def begins(self) -> Ints:
        """Zone and first day of each row as one rising number."""
        return self.held["zone"] * _DAY + self.held["start"] + _SHIFT

    def _columns(self, part: str) -> dict[str, Ints]:
        """Read one of its files."""
        table = read_part(self.folder, self.added, part)
        return {name: table[name].to_numpy().astype(np.int64) for name in table.column_names}

    def zones(self, zip_codes: Ints, plus4: Ints) -> Ints:
        """Find the zone of each address: by ZIP+4 where it is known (-1: not), else by ZIP code, else 0."""
        found = _inside(self.where[BY_ZIP], zip_codes)
        with_plus4 = np.flatnonzero(plus4 >= 0)
        if with_plus4.size:
            finer = _inside(self.where[BY_ZIP4], zip_codes[with_plus4] * PLUS4 + plus4[with_plus4])
            found[with_plus4] = np.where(finer == NO_ZONE, found[with_plus4], finer)
        return found

    def rows(self, zone: Ints, day: Ints) -> Ints:
        """Find the row that holds in each zone on a day, counted from the state's first; -1 where none does."""
        row = _last_not_after(self.begins, zone * _DAY + day + _SHIFT)
        held = (row >= 0) & (self.held["zone"][row] == zone) & (self.held["stop"][row] >= day)
        return np.where(held, row, -1)


def _last_not_after(rising: Ints, asked: Ints) -> Ints:
    """Find the last number of a rising list that is not above each one asked for, -1 where all are.

    They are looked for in rising order, because memory is near then.
    """
    order = np.argsort(asked)
    found = np.empty(asked.size, np.int64)
    found[order] = np.searchsorted(rising, asked[order], side="right") - 1
    return found


def _inside(runs: dict[str, Ints], codes: Ints) -> Ints:
    """Find the zone of the run that each code lies in, 0 for none."""
    if not runs["first"].size:
        return np.zeros(codes.size, np.int64)
    run = _last_not_after(runs["first"], codes)
    return np.where((run >= 0) & (codes <= runs["last"][run]), runs["zone"][run], NO_ZONE)


class LocalRates:
    """The store; it names its rows and says how sure they are as a rate table does, and all rows are the user's own."""

    name = TABLE

    def __init__(self, folder: Path, states: list[AddedState]) -> None:
        """Take the index; nothing else is read yet."""
        self.folder, self.added = folder, states
        offsets = np.cumsum([0, *(state.held for state in states)]).tolist()
        self.states = {
            places.index(state.place): State(folder, state, offset)
            for state, offset in zip(states, offsets, strict=False)
        }
        self.has = np.zeros(len(places.codes()), np.bool_)
        self.has[list(self.states)] = True

    def zone_count(self, place: int) -> int:
        """Give the number of zones of a place."""
        return self.states[place].added.zones if place in self.states else 0

    def zones(self, place: NDArray[np.integer], zip_codes: Ints, plus4: Ints) -> Ints:
        """Find the zone of each address (place number, ZIP code, last four digits or -1), 0 where nothing is known."""
        found = np.zeros(place.size, np.int64)
        for code in self._here(place):
            at = np.flatnonzero(place == code)
            found[at] = self.states[code].zones(zip_codes[at].astype(np.int64), plus4[at].astype(np.int64))
        return found

    def rows(
        self, place: NDArray[np.integer], zone: NDArray[np.integer], day: NDArray[np.integer]
    ) -> NDArray[np.int32]:
        """Find the row that holds for each (place number, zone, day since 1970-01-01), -1 where none does."""
        found = np.full(place.size, -1, np.int32)
        for code in self._here(place):
            state = self.states[code]
            at = np.flatnonzero((place == code) & (zone != NO_ZONE))
            row = state.rows(zone[at].astype(np.int64), day[at].astype(np.int64))
            found[at] = np.where(row >= 0, row + state.offset, -1)
        return found

    def column(self, name: str, rows: NDArray[np.integer]) -> Ints:
        """Give a column of some rows (`low`, `said`, `high` in ppm, `level`), 0 for row -1."""
        found = np.zeros(rows.size, np.int64)
        for state, at in self._owners(rows):
            found[at] = state.held[name][rows[at] - state.offset]
        return found

    def change_days(self, place: int) -> NDArray[np.int32]:
        """List the days, ascending, on which something changes in a place (a place number)."""
        if place not in self.states:
            return np.zeros(0, np.int32)
        held = self.states[place].held
        ends = held["stop"][held["stop"] < np.iinfo(np.int32).max] + 1
        return np.unique(np.concatenate([held["start"], ends])).astype(np.int32)

    def _here(self, place: NDArray[np.integer]) -> list[int]:
        """List the places among some that the store holds."""
        return [code for code in np.flatnonzero(np.bincount(place)).tolist() if code in self.states]

    def _owners(self, rows: NDArray[np.integer]) -> list[tuple[State, NDArray[np.intp]]]:
        """Give the states of some rows, each with the positions of its rows."""
        found = []
        for state in self.states.values():
            at = np.flatnonzero((rows >= state.offset) & (rows < state.offset + state.added.held))
            if at.size:
                found.append((state, at))
        return found

    # What figures rest on, as `taxcalc.tables.table.Table` answers it.

    def is_own(self, rows: NDArray[np.integer]) -> NDArray[np.bool_]:
        """Tell which rows are the user's own: all."""
        return np.asarray(rows >= 0, dtype=np.bool_)

    def basis(self, rows: NDArray[np.integer], *_: str) -> NDArray[np.int8]:
        """Give the weakest basis of the files behind each row (index into BASES), 0 for row -1."""
        papers = self._of_files(
            rows,
            lambda state, bit: BASES.index(_BASIS.get(PAPERS[state.files[bit].layout], "secondary")),
            max,
        )
        return np.where(rows >= 0, papers, 0).astype(np.int8)

    def checked_on(self, rows: NDArray[np.integer]) -> NDArray[np.int32]:
        """Give the day on which the oldest file behind each row was added."""
        added = self._of_files(rows, lambda state, bit: number(to_date(state.files[bit].added_on)), min)
        return added.astype(np.int32)

    def row_ids(self, rows: NDArray[np.integer]) -> NDArray[np.object_]:
        """Name rows as `own:us/local:US-KS/zip+4/KSR2026Q3MAY28@1a2b3c4d/KSB2026Q3MAY28@5e6f7a8b:2026-07-01`."""
        names = np.full(np.shape(rows), "", dtype=object)
        for state, at in self._owners(np.asarray(rows)):
            local = rows[at] - state.offset
            held = state.held
            words: dict[tuple[int, int, int], str] = {}
            for position, key in zip(
                at.tolist(),
                zip(*(held[name][local].tolist() for name in ("level", "files", "start")), strict=True),
                strict=True,
            ):
                if key not in words:
                    words[key] = _name(state.added, *key)
                names[position] = words[key]
        return names

    def sources(self, rows: NDArray[np.integer]) -> set[str]:
        """Name the published sources of the layouts that rows come from, as ids of sources.csv."""
        found = {
            PAPERS[state.added.files[bit].layout]
            for state, at in self._owners(np.asarray(rows))
            for mask in np.unique(state.held["files"][rows[at] - state.offset]).tolist()
            for bit in files_in(state.added, mask)
        }
        return found - {""}

    def _of_files(self, rows: NDArray[np.integer], value: Any, choose: Any) -> Ints:  # noqa: ANN401 - functions
        """Give one value a row, chosen among those of its files."""
        found = np.zeros(rows.size, np.int64)
        for state, at in self._owners(rows):
            masks, back = np.unique(state.held["files"][rows[at] - state.offset], return_inverse=True)
            each = [
                choose(value(state.added, bit) for bit in files_in(state.added, mask))
                for mask in masks.tolist()
            ]
            found[at] = np.array(each, np.int64)[back.reshape(-1)]
        return found


def files_in(state: AddedState, mask: int) -> list[int]:
    """List the positions, in the state's list, of the files in a mask."""
    return [at for at, file in enumerate(state.files) if mask >> file.bit & 1]


def to_date(text: str) -> date:
    """Read an ISO day."""
    return date.fromisoformat(text)


def _name(state: AddedState, level: int, mask: int, start: int) -> str:
    """Name a row: where it holds, by what, from which files, from which day. Blanks would cut the name in two."""
    files = [state.files[at] for at in files_in(state, mask)]
    named = "/".join(f"{'_'.join(file.name.split())}@{file.sha256[:8]}" for file in files)
    since = "always" if start <= -_SHIFT else to_day(start).isoformat()
    return f"own:{TABLE}:{state.place}/{LEVELS[level]}/{named}:{since}"
