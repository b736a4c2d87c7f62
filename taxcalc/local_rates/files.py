"""A file as blocks of text columns: cut at the ends of records, with the number of fields of every record counted."""

from __future__ import annotations

import gzip
import hashlib
import zipfile
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Protocol

import numpy as np
import pyarrow as pa
from pyarrow import csv as arrow_csv

from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

BLOCK: Final = 1 << 24
LONGEST_RECORD: Final = 1 << 20
MOST_FIELDS: Final = 120
PEEKED: Final = 1 << 16
_QUOTE, _COMMA, _NEWLINE, _RETURN = b'",\n\r'


class Readable(Protocol):
    """A file, or one inside an archive."""

    def read(self, size: int, /) -> bytes:
        """Read so many bytes at most; none at the end."""


@dataclass(frozen=True)
class Block:
    """Some records: one string array a field (short records are filled up with blanks), fields and row of each record."""

    columns: list[Any]
    counts: NDArray[np.int64]
    rows: NDArray[np.int64]

    @property
    def size(self) -> int:
        """Number of records."""
        return int(self.rows.size)

    def without_first(self, count: int) -> Block:
        """Give the records after the first ones."""
        return Block([column[count:] for column in self.columns], self.counts[count:], self.rows[count:])

    def line(self, at: int) -> str:
        """Write one record as it may be shown."""
        return ",".join(column[at].as_py() for column in self.columns[: int(self.counts[at])])


def sha256_of(path: Path) -> str:
    """Give the SHA-256 of a file; raises E585 where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise _unreadable(path, error) from error


@contextmanager
def opened(path: Path) -> Iterator[Readable]:
    """Open a file, or the one file inside a .zip or .gz; raises E585 where that cannot be done."""
    try:
        if path.suffix.lower() == ".zip":
            with zipfile.ZipFile(path) as archive:
                names = [name for name in archive.namelist() if not name.endswith("/")]
                if len(names) != 1:
                    raise refuse(
                        "E585", file=str(path), detail=f"the archive holds {len(names)} files, not one"
                    )
                with archive.open(names[0]) as file:
                    yield file
        elif path.suffix.lower() == ".gz":
            with gzip.open(path, "rb") as file:
                yield file
        else:
            with path.open("rb") as file:
                yield file
    except (OSError, zipfile.BadZipFile, EOFError, RuntimeError) as error:
        raise _unreadable(path, error) from error


def _unreadable(path: Path, error: Exception) -> Exception:
    """Say why a file cannot be read."""
    words = getattr(error, "strerror", None) or str(error)
    return refuse("E585", file=str(path), detail=words.lower())


def beginning(path: Path) -> str:
    """Give the first record of a file as text, without a byte order mark."""
    with opened(path) as file:
        head = file.read(PEEKED)
    line = head.split(b"\n", 1)[0].rstrip(b"\r")
    return line.decode("utf-8-sig", errors="replace")


def blocks(path: Path, *, skip: int = 0, size: int = BLOCK) -> Iterator[Block]:
    """Read a file block by block, without its first `skip` records; blank lines are left out but numbered.

    Raises `Refusal` E585 for a file that is no CSV in UTF-8 or has a record without an end.
    """
    row = 0
    with opened(path) as file:
        for data in _whole_records(file, path, size):
            block, records = _block(data, row, path)
            row += records
            if skip and block.size:
                here = min(skip, block.size)
                skip -= here
                block = block.without_first(here)
            if block.size:
                yield block


def _whole_records(file: Readable, path: Path, size: int) -> Iterator[bytes]:
    """Cut the bytes of a file at the ends of records."""
    rest = b""
    while chunk := file.read(size):
        data = rest + chunk
        cut = data.rfind(b"\n") + 1
        odd = data.count(b'"', 0, cut) % 2
        while cut and odd:
            earlier = data.rfind(b"\n", 0, cut - 1) + 1
            odd = (odd + data.count(b'"', earlier, cut)) % 2
            cut = earlier
        rest = data[cut:]
        if len(rest) > LONGEST_RECORD + len(chunk):
            raise refuse(
                "E585", file=str(path), detail="a record has no end; a double quote may be left open"
            )
        if cut:
            yield data[:cut]
    if rest:
        yield rest + b"\n"


def _block(data: bytes, row: int, path: Path) -> tuple[Block, int]:
    """Parse whole records, `row` of which stand before them; give them and how many there are with the blank ones."""
    raw = np.frombuffer(data, np.uint8)
    ends, commas = raw == _NEWLINE, raw == _COMMA
    quoted = b'"' in data
    if quoted:
        outside = (np.cumsum(raw == _QUOTE, dtype=np.uint8) & 1) == 0
        if not outside[-1]:
            raise refuse("E585", file=str(path), detail="a double quote is left open")
        ends, commas = ends & outside, commas & outside
    at = np.flatnonzero(ends)
    counts = np.diff(np.searchsorted(np.flatnonzero(commas), at), prepend=0) + 1
    begin = np.concatenate(([0], at[:-1] + 1))
    stop = at - ((at > begin) & (raw[np.maximum(at - 1, 0)] == _RETURN))
    filled = stop > begin
    rows = row + 1 + np.flatnonzero(filled)
    width = int(counts[filled].max(initial=1))
    if width > MOST_FIELDS:
        worst = int(rows[np.flatnonzero(counts[filled] == width)[0]])
        raise refuse("E562", file=str(path), row=worst, got=width, expected="fewer than a hundred")
    missing = np.where(filled, width - counts, 0)
    if missing.any():
        data = np.insert(raw, np.repeat(stop, missing), np.uint8(_COMMA)).tobytes()
    columns = _parsed(data, width, path, quoted=quoted) if filled.any() else [pa.array([], pa.string())]
    if len(columns[0]) != rows.size:
        raise refuse("E585", file=str(path), detail="quotes and line ends do not fit together")
    return Block(columns, counts[filled], rows), at.size


def _parsed(data: bytes, width: int, path: Path, *, quoted: bool) -> list[Any]:
    """Parse records that all have the same number of fields."""
    names = [str(number) for number in range(width)]
    try:
        table = arrow_csv.read_csv(
            pa.BufferReader(data),
            read_options=arrow_csv.ReadOptions(column_names=names, block_size=len(data) + 1),
            parse_options=arrow_csv.ParseOptions(newlines_in_values=quoted),
            convert_options=arrow_csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()), null_values=[], strings_can_be_null=False
            ),
        )
    except (pa.ArrowInvalid, pa.ArrowKeyError) as error:
        raise refuse("E585", file=str(path), detail=str(error).splitlines()[0].lower()) from error
    return [column.combine_chunks() for column in table.columns]
