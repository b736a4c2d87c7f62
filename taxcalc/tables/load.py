"""Load and check the shipped rate tables, with a user's own rows laid over them."""

from __future__ import annotations

import hashlib
import re
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import NO_DAY
from taxcalc.errors import Refusal
from taxcalc.messages import complain, refuse
from taxcalc.tables.bounds import check_bounds
from taxcalc.tables.check import MEMORY, check_cells
from taxcalc.tables.own_files import rows_gone, strangers
from taxcalc.tables.parse import EPOCH
from taxcalc.tables.read import Cells, read_cells
from taxcalc.tables.schema import BY_NAME, SCHEMAS
from taxcalc.tables.table import Table
from taxcalc.tables.where import NAME, folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from taxcalc.errors import Complaint
    from taxcalc.local_rates.store import LocalRates
    from taxcalc.tables.schema import Schema

__all__ = ["Table", "Tables", "check_tables", "folder", "load_tables"]

_CHANGE = re.compile(r"^\W*(\d{4}-\d\d-\d\d)", re.MULTILINE | re.ASCII)
_REFERRED_TO = frozenset({"sources", "us/start_rules"})
FIXED = frozenset({"places", "us/zip_states", "us/zip_counties", "us/state_codes"})
"""Tables that hold for everybody: an own folder may hold them only as they are shipped."""
LOCAL_INDEX = "local/index.toml"
"""The index of the user's store of local rates (`taxcalc.local_rates`), in the folder of own rows."""
_FROM_MEMORY = {"publisher": "", "title": "from memory, no document read", "link": "", "published_on": ""}


class Tables:
    """All rate tables, by name. `own_folder` names the folder of the user's own rows, empty where there are none."""

    def __init__(
        self,
        parts: dict[str, list[Cells]],
        version: str,
        *,
        own_folder: str = "",
        local: LocalRates | None = None,
    ) -> None:
        """Build every table from its checked cells; `local` is the user's store of local rates."""
        self._tables = {name: Table(cells) for name, cells in parts.items()}
        self.version = version
        self.own_folder = own_folder
        self.local = local
        days = [table["checked_on"][:-1] for table in self._tables.values() if table.schema.sourced]
        checked = np.concatenate([np.asarray(each, dtype=np.int64) for each in days])
        checked = checked[checked != NO_DAY]
        self.oldest_checked_on = date.fromordinal(int(checked.min()) + EPOCH) if checked.size else date.min

    @property
    def own(self) -> bool:
        """Whether there are rows of the user's own."""
        return bool(self.own_folder)

    def __getitem__(self, name: str) -> Table:
        """Give a table such as `us/thresholds`; raises `KeyError` for an unknown name."""
        return self._tables[name]

    def __iter__(self) -> Iterator[Table]:
        """Go through all tables in the order of the schemas."""
        return iter(self._tables.values())

    def source(self, source_id: str) -> dict[str, str]:
        """Give publisher, title, link and published_on of a source; raises `KeyError` for an unknown id."""
        table = self._tables["sources"]
        row = table.row(id=source_id)
        if row < 0:
            if source_id == MEMORY:
                return dict(_FROM_MEMORY)
            raise KeyError(source_id)
        return {name: str(table[name][row]) for name in _FROM_MEMORY}

    def change_days(self, place: int) -> NDArray[np.int32]:
        """List the days, ascending, on which any table changes for one place (a place number)."""
        days = [table.change_days(place) for table in self if table.schema.dated]
        return np.unique(np.concatenate(days))


def load_tables(own: Path | None = None, *, shipped: Path | None = None, label: str = NAME) -> Tables:
    """Load the shipped tables and the user's own rows in the folder `own`.

    `shipped` is another full set to take instead of the shipped one, `label` its name in complaints.
    Raises `Refusal` (E520 to E554) with the first finding; the others are its `more`.
    """
    base = shipped or folder()
    contents = _contents(base, own)
    parts, complaints = _read(own, contents, label)
    complaints = strangers(own or shipped) + complaints
    if complaints:
        raise Refusal(complaints[0], tuple(complaints[1:]))
    version = _version(base, parts, {name: mine for name, (mine, _) in contents.items()})
    index = _local_index(own)
    held = any(cells.own and any(cells.text.values()) for some in parts.values() for cells in some)
    if own is None or (index is None and not held):
        return Tables(parts, version)
    mark = _digest({"local": index, **{name: theirs for name, (_, theirs) in contents.items()}})
    return Tables(parts, f"{version} +own {mark}", own_folder=str(own), local=_local_rates(own, index))


def _local_index(own: Path | None) -> bytes | None:
    """Read the index of the store of local rates among own rows, None where there is none."""
    path = own / LOCAL_INDEX if own is not None else None
    return path.read_bytes() if path is not None and path.is_file() else None


def _local_rates(own: Path | None, index: bytes | None) -> LocalRates | None:
    """Open the store of local rates, which costs nothing where there is none."""
    if index is None:
        return None
    from taxcalc.local_rates.store import store_in  # noqa: PLC0415 - only with a store

    return store_in(own)


def check_tables(
    own: Path | None = None, *, shipped: Path | None = None, label: str = NAME
) -> list[Complaint]:
    """Give every finding about the shipped tables and the own rows in the folder `own`."""
    return read_tables(own, shipped=shipped, label=label)[1]


def read_tables(
    own: Path | None = None, *, shipped: Path | None = None, label: str = NAME
) -> tuple[dict[str, list[Cells]], list[Complaint]]:
    """Give the cells of every table by name, shipped and own apart, and every finding about them."""
    parts, complaints = _read(own, _contents(shipped or folder(), own), label)
    return parts, strangers(own or shipped) + complaints


def _contents(base: Path, own: Path | None) -> dict[str, tuple[bytes | None, bytes | None]]:
    """Read the bytes of the shipped and of the own file of every table; None where there is no file."""
    return {schema.name: (_bytes(base, schema), _bytes(own, schema)) for schema in SCHEMAS}


def _bytes(where: Path | None, schema: Schema) -> bytes | None:
    """Read one file, or None where it is not there."""
    path = where / f"{schema.name}.csv" if where is not None else None
    try:
        return path.read_bytes() if path is not None and path.is_file() else None
    except OSError as error:
        raise refuse("E535", file=str(path), because=(error.strerror or str(error)).lower()) from error


def _read(
    own: Path | None,
    contents: dict[str, tuple[bytes | None, bytes | None]],
    label: str,
) -> tuple[dict[str, list[Cells]], list[Complaint]]:
    """Parse and check every file."""
    complaints: list[Complaint] = []
    parts: dict[str, list[Cells]] = {}
    for name, (shipped, mine) in contents.items():
        parts[name] = []
        if shipped is None:
            complaints.append(complain("E520", file=f"{label}/{name}.csv"))
        else:
            parts[name].append(read_cells(BY_NAME[name], shipped, f"{label}/{name}.csv", own=False))
        if mine is not None:
            parts[name].append(read_cells(BY_NAME[name], mine, f"{own}/{name}.csv", own=True))
            if name in FIXED:
                complaints += _only_as_shipped(parts[name])
    known = {name: _first_keys(parts[name]) for name in _REFERRED_TO if not _unread(parts[name])}
    if "sources" in known:
        known["sources"] |= {MEMORY}
    counties = frozenset(_pairs(parts["us/zip_counties"]))
    for some in parts.values():
        for cells in some:
            check_cells(cells, known)
        check_bounds(some, counties)
        for cells in some:
            complaints += sorted(cells.complaints, key=lambda complaint: complaint.row or 0)
    if own is not None and all(mine is not None for _, mine in contents.values()):
        complaints += rows_gone(parts)
    return parts, complaints


def _only_as_shipped(parts: list[Cells]) -> list[Complaint]:
    """Take own cells that say the same as the shipped ones away again, and complain where they do not."""
    mine = parts.pop()
    if not mine.complaints and (not mine.rows or (parts and mine.text == parts[0].text)):
        return []
    hint = " Places and ZIP codes hold for everybody; a spreadsheet may have taken their leading zeros."
    return [complain("E533", file=mine.label, hint=hint)]


def _pairs(parts: list[Cells]) -> set[tuple[str, str]]:
    """Give the counties of states that ZIP codes lead to."""
    return {pair for cells in parts for pair in zip(cells.text["place"], cells.text["county"], strict=True)}


def _unread(parts: list[Cells]) -> bool:
    """Tell whether a file of the table could not be read, so that nothing can be said of what refers to it."""
    return any(cells.complaints and not cells.rows for cells in parts)


def _first_keys(parts: list[Cells]) -> set[str]:
    """Give the first key column of a table that others refer to."""
    return {text for cells in parts for text in cells.text[cells.schema.fields[0].name]}


def _version(base: Path, parts: dict[str, list[Cells]], contents: dict[str, bytes | None]) -> str:
    """Name the shipped tables by the newest day written in them and by their bytes."""
    changes = base / "CHANGES.md"
    days = _CHANGE.findall(changes.read_text(encoding="utf-8")) if changes.is_file() else []
    days += [
        day
        for some in parts.values()
        for cells in some
        if not cells.own
        for day in cells.text.get("checked_on", [])
    ]
    return f"{max(days, default='undated')} {_digest(contents)}"


def _digest(contents: dict[str, bytes | None]) -> str:
    """Give the first eight hexadecimal digits of the SHA-256 over names and bytes of the files."""
    digest = hashlib.sha256()
    for name, content in sorted(contents.items()):
        if content is not None:
            digest.update(f"{name} {len(content)}\n".encode())
            digest.update(content)
    return digest.hexdigest()[:8]
