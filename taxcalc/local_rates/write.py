"""Write states into the store: whole or not at all. The index is replaced last, in one step; then the old files go."""

from __future__ import annotations

import hashlib
import os
import re
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc.local_rates.given import RATES_OF, SPANS_OF, Rows
from taxcalc.local_rates.index import NAME, PARTS, index_text
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from taxcalc.local_rates.index import AddedState
    from taxcalc.local_rates.zones import Zones

    Ints = NDArray[np.int64]

_SMALL: Final = {"level": np.int8, "file": np.int8, "files": np.int64, "key": np.int64}
_OURS: Final = re.compile(r"US-[A-Z]{2}-[0-9a-f]{8}", re.ASCII)
NEW: Final = ".new"


@dataclass(frozen=True)
class NewState:
    """A state to be written; folder and hashes of `added` are filled in here."""

    added: AddedState
    zones: Zones
    rates: Rows
    spans: Rows


def write_states(where: Path, before: list[AddedState], new: list[NewState]) -> list[Path]:
    """Write some states and the index; give the paths of what is new. Raises E602 and E609; nothing is left behind then."""
    where_was = where.exists()
    if where_was and not (where / NAME).exists() and any(where.iterdir()):
        raise refuse("E602", file=str(where))
    made: list[Path] = []
    try:
        where.mkdir(parents=True, exist_ok=True)
        states = {state.place: state for state in before}
        for state in new:
            states[state.added.place] = _write_state(where, state, made)
        _write_index(where, list(states.values()))
    except OSError as error:
        for folder in made:
            _clear(folder)
        if not where_was:
            with suppress(OSError):
                where.rmdir()
        raise refuse("E609", file=str(where), detail=(error.strerror or str(error)).lower()) from error
    _drop_old(where, {state.folder for state in states.values()})
    return [where / NAME, *(where / states[state.added.place].folder for state in new)]


def _write_state(where: Path, state: NewState, made: list[Path]) -> AddedState:
    """Write the files of a state into a folder that is named after what they hold."""
    from pyarrow import parquet  # noqa: PLC0415 - heavy

    new = where / f"{state.added.place}{NEW}"
    _clear(new)
    new.mkdir()
    made.append(new)
    tables = {
        "where": _table(state.zones.where),
        "held": _table(state.zones.held),
        "rates": _named(state.rates, RATES_OF),
        "spans": _named(state.spans, SPANS_OF),
    }
    hashes = {}
    for part, table in tables.items():
        path = new / f"{part}.parquet"
        parquet.write_table(table, path, compression="zstd")
        with path.open("rb+") as file:
            os.fsync(file.fileno())
            hashes[part] = hashlib.file_digest(file, "sha256").hexdigest()
    digest = hashlib.sha256(" ".join(hashes[part] for part in PARTS).encode()).hexdigest()
    folder = where / f"{state.added.place}-{digest[:8]}"
    if _holds(folder, hashes):
        _clear(made.pop())
        return replace(state.added, folder=folder.name, sha256=hashes)
    _clear(folder)
    new.rename(folder)
    made[-1] = folder
    return replace(state.added, folder=folder.name, sha256=hashes)


def _holds(folder: Path, hashes: dict[str, str]) -> bool:
    """Tell whether a folder holds the very same files already, and may be the one in use."""
    paths = {part: folder / f"{part}.parquet" for part in hashes}
    return all(
        path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == hashes[part]
        for part, path in paths.items()
    )


def _table(columns: dict[str, Ints]) -> Any:  # noqa: ANN401 - Arrow has no types of its own
    """Make an Arrow table of whole numbers, each as short as it may be."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    return pa.table({name: column.astype(_SMALL.get(name, np.int32)) for name, column in columns.items()})


def _named(rows: Rows, columns: tuple[str, ...]) -> Any:  # noqa: ANN401 - as above
    """Make an Arrow table of rows with their names."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    table = _table({name: rows[name] for name in columns})
    names = pa.DictionaryArray.from_arrays(rows.name.astype(np.int32), pa.array(rows.names, pa.string()))
    return table.append_column("name", names)


def read_rows(table: Any, columns: tuple[str, ...]) -> Rows:  # noqa: ANN401 - an Arrow table
    """Read rows back from an Arrow table."""
    names = table["name"].combine_chunks()
    if not hasattr(names, "dictionary"):
        names = names.dictionary_encode()
    numbers = {name: table[name].to_numpy().astype(np.int64) for name in columns}
    return Rows(names.dictionary.to_pylist(), np.asarray(names.indices).astype(np.int64), numbers)


def _write_index(where: Path, states: list[AddedState]) -> None:
    """Put the new index in the place of the old one."""
    new = where / f"{NAME}{NEW}"
    with new.open("w", encoding="utf-8", newline="\n") as file:
        file.write(index_text(states))
        file.flush()
        os.fsync(file.fileno())
    new.replace(where / NAME)


def _drop_old(where: Path, used: set[str]) -> None:
    """Remove folders of ours that the index no longer names."""
    for path in where.iterdir():
        if path.is_dir() and path.name not in used and _OURS.fullmatch(path.name.removesuffix(NEW)):
            _clear(path)


def _clear(folder: Path) -> None:
    """Remove a folder with the files that we write; one that holds anything else stays."""
    with suppress(OSError):
        for part in PARTS:
            (folder / f"{part}.parquet").unlink(missing_ok=True)
        folder.rmdir()
