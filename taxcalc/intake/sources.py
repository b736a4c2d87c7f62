"""Where orders come from: files, standard input or a DataFrame."""

from __future__ import annotations

import os
import shutil
import sys
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from taxcalc.intake.column_map import ColumnMap
from taxcalc.intake.csv_file import read_csv_file
from taxcalc.intake.layout import read_layout
from taxcalc.messages import refuse
from taxcalc.spool_folder import TemporaryFolder

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import BinaryIO

    import pandas as pd

    from taxcalc.intake.gather import Gathering
    from taxcalc.intake.reading import Setup

STANDARD_INPUT = "-"
_PARQUET = b"PAR1"


@dataclass(frozen=True)
class Source:
    """One source: path as given, the name shown, size in bytes, and where its bytes or its frame are.

    `columns` is a column map of its own, None where that of the run holds.
    """

    path: str
    name: str
    size: int
    at: Path | None = None
    frame: Any = None
    columns: ColumnMap | None = None


@dataclass(frozen=True)
class MadeUp:
    """Lines that the program itself makes up beside those of files: canonical, whatever the column map says."""

    frame: pd.DataFrame
    name: str


@contextmanager
def sources_of(orders: Any) -> Iterator[list[Source]]:  # noqa: ANN401 - what the caller gave
    """List the sources; standard input is copied to a temporary file first, which goes when they are read."""
    given = [orders] if isinstance(orders, str | Path | MadeUp) or _is_frame(orders) else list(orders)
    if not given:
        raise refuse("E300")
    from_input = any(one == STANDARD_INPUT for one in given if isinstance(one, str | Path))
    folder = TemporaryFolder() if from_input else None
    try:
        yield _named([_source(one, folder) for one in given])
    finally:
        if folder is not None:
            folder.remove()


def _is_frame(given: Any) -> bool:  # noqa: ANN401 - what the caller gave
    """Tell whether orders are a DataFrame, without loading pandas to ask it."""
    return hasattr(given, "columns") and hasattr(given, "iloc")


def _named(sources: Sequence[Source]) -> list[Source]:
    """Show the bare name of a file, and its whole path where two files have the same name."""
    names = [source.name for source in sources]
    return [
        source
        if names.count(source.name) == 1 or source.at is None
        else replace(source, name=_as_text(source.path))
        for source in sources
    ]


def _source(given: Any, folder: TemporaryFolder | None) -> Source:  # noqa: ANN401 - what the caller gave
    """Look at one source; refuses a path that is missing (E301), a folder (E302) or cannot be read (E303)."""
    if isinstance(given, MadeUp):
        return Source("", given.name, len(given.frame) * 120, frame=given.frame, columns=ColumnMap())
    if _is_frame(given):
        return Source("", "DataFrame", len(given) * 120, frame=given)
    path = str(given)
    if path == STANDARD_INPUT and folder is not None:
        copy = folder.path / "input"
        with copy.open("wb") as file:
            shutil.copyfileobj(sys.stdin.buffer, file, 1 << 20)
        return Source(path, "standard input", copy.stat().st_size, copy)
    at = Path(path)
    try:
        if at.is_dir():
            raise refuse("E302", file=path)
        size = at.stat().st_size
    except FileNotFoundError:
        raise refuse("E301", file=path) from None
    except OSError as error:
        raise refuse("E303", file=path, detail=error.strerror or str(error)) from None
    if not at.is_file():
        raise refuse("E303", file=path, detail="it is no ordinary file")
    return Source(path, _as_text(at.name), size, at)


def _as_text(name: str) -> str:
    r"""Write a file name that can be shown: bytes that are no text stand as `\xe9`."""
    return os.fsencode(name).decode(errors="backslashreplace")


def opened(source: Source, columns: ColumnMap, setup: Setup, to: Gathering) -> tuple[str, int, list[str]]:
    """Read a source into the gathering: its SHA-256, the number of rows, and notes on what was decided."""
    if source.at is None:
        from taxcalc.intake.frames import read_frame  # noqa: PLC0415 - heavy

        return read_frame(source.frame, source.name, columns, setup, to)
    try:
        before = source.at.stat()
        with source.at.open("rb", buffering=0) as file:
            read = _read_file(file, source, columns, setup, to)
        after = source.at.stat()
    except OSError as error:
        raise refuse("E303", file=source.path, detail=error.strerror or str(error)) from None
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise refuse("E304", file=source.name)
    return read


def _read_file(
    file: BinaryIO, source: Source, columns: ColumnMap, setup: Setup, to: Gathering
) -> tuple[str, int, list[str]]:
    """Read a file by what its first bytes say it is."""
    if file.read(4) == _PARQUET:
        from taxcalc.intake.frames import read_parquet  # noqa: PLC0415 - heavy

        return read_parquet(file, source.name, columns, setup, to)
    layout, notes = read_layout(file, source.name, columns)
    sha256, rows = read_csv_file(file, source.name, layout, setup, to)
    return sha256, rows, notes
