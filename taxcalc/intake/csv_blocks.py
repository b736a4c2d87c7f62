"""CSV bytes to blocks of cells: cut at the ends of records, then parsed a block at a time.

A cut is trusted where the quotes before it are even; where the parsed records do not account for every
line end (text over several lines, or a stray quote), the cut is proved by a pattern that describes whole
records.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from taxcalc import arrow
from taxcalc.intake.reading import Block

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pyarrow as pa

BLOCK_BYTES = 8 << 20
LONGEST_RECORD = 64 << 20
_QUOTE, _NEWLINE = 34, 10
_PART = 1 << 18


class Readable(Protocol):
    """What is needed of a file."""

    def seek(self, at: int, /) -> object:
        """Go to a byte."""

    def read(self, size: int, /) -> bytes:
        """Read up to `size` bytes."""


@dataclass(frozen=True)
class Layout:
    """How a CSV file is laid out: delimiter, header, canonical names (or None), where data begins."""

    delimiter: str
    header: tuple[str, ...]
    names: tuple[str | None, ...]
    header_row: int
    data_at: int
    only_cr: bool = False

    @property
    def order_header(self) -> bytes:
        """The header of the order number, as it would stand in a repeated header."""
        return self.header[self.names.index("order_id")].strip().encode()


@dataclass(frozen=True)
class Piece:
    """Bytes of whole records, and where in the file they begin. `proved` pieces were cut by the pattern."""

    data: bytes
    at: int
    proved: bool


class BrokenQuotes(Exception):  # noqa: N818 - not an error yet: whoever meets it decides
    """The quotes of a piece do not add up."""


class NotUtf8(Exception):  # noqa: N818 - as above
    """A byte that is no UTF-8 after `records` records, `at` bytes into the piece."""

    def __init__(self, at: int, byte: int, records: int) -> None:
        """Keep the spot and the byte."""
        super().__init__(at, byte, records)
        self.at, self.byte, self.records = at, byte, records


def pieces(
    file: Readable, layout: Layout, at: int, *, prove: bool, size: int = 0
) -> Iterator[Piece | BrokenQuotes]:
    """Cut the file from byte `at` on into pieces of whole records. `size` is that of the file, where it is known.

    The last one is `BrokenQuotes` where an open quote swallows the rest. It is given, not raised, so that
    whoever works through the pieces in order knows its row.
    """
    file.seek(at)
    rest = b""
    step = _step(size)
    while True:
        read = file.read(step)
        if layout.only_cr:
            read = read.replace(b"\r", b"\n")
        whole = _whole_lines(read, prove=prove)
        data, after = rest + memoryview(read)[:whole], read[whole:]
        if not data and not after:
            return
        if not read and not data.endswith((b"\n", b"\r")):
            data += b"\n"
        end, proved = _cut(data, layout.delimiter, last=not read, prove=prove)
        if end:
            yield Piece(data[:end], at, proved)
        at += end
        rest = data[end:] + after
        if not read or len(rest) > LONGEST_RECORD:
            if rest:
                yield BrokenQuotes()
            return


def _whole_lines(read: bytes, *, prove: bool) -> int:
    """Give how many of the bytes read can be looked at: whole lines, or all but a CR whose LF may still come."""
    if not read:
        return 0
    return len(read) - read.endswith(b"\r") if prove else read.rfind(b"\n") + 1


def _step(size: int) -> int:
    """Choose how much is read at once: parts of one size and an even number of them, so that two threads end together."""
    parts = -(-size // BLOCK_BYTES)
    parts += parts % 2
    return -(-size // parts) if parts else BLOCK_BYTES


def _cut(data: bytes, delimiter: str, *, last: bool, prove: bool) -> tuple[int, bool]:
    """Find the end of the last whole record, and say whether the pattern proved it."""
    end = len(data) if last else data.rfind(b"\n") + 1
    quotes = _count(data, _QUOTE, end) if b'"' in data else 0
    if quotes % 2 == 0 and not prove:
        return end, False
    match = _records(delimiter).match(data)
    return (match.end() if match else 0), True


def _count(data: bytes, byte: int, end: int) -> int:
    """Count a byte that may be frequent, in parts that stay in the processor's cache."""
    view = np.frombuffer(data, np.uint8, end)
    return sum(int(np.count_nonzero(view[at : at + _PART] == byte)) for at in range(0, end, _PART))


@lru_cache(maxsize=4)
def _field(delimiter: str) -> bytes:
    """Describe one field: quoted with doubled quotes inside, or plain.

    Text after the closing quote is let pass, as the parser does, where all of it stands on one line; after several lines
    it shows that the quote was opened by mistake.
    """
    mark = re.escape(delimiter.encode())
    quoted = rb'"[^"\r\n]*+(?:""[^"\r\n]*+)*+"[^%b\r\n]*+|"[^"]*+(?:""[^"]*+)*+"' % mark
    return rb'(?:%b|[^"%b\r\n][^%b\r\n]*+|)' % (quoted, mark, mark)


@lru_cache(maxsize=4)
def _records(delimiter: str) -> re.Pattern[bytes]:
    """Describe as many whole records as there are."""
    mark = re.escape(delimiter.encode())
    one = _field(delimiter)
    return re.compile(rb"(?:%b(?:%b%b)*+(?:\r\n|\n|\r))*+" % (one, mark, one))


@lru_cache(maxsize=4)
def one_record(delimiter: str) -> re.Pattern[bytes]:
    """Describe one record with its line end, or without one at the end of the data."""
    mark = re.escape(delimiter.encode())
    one = _field(delimiter)
    return re.compile(rb"(%b(?:%b%b)*+)(?:\r\n|\n|\r|\Z)" % (one, mark, one))


def _records_in(data: bytes, delimiter: str) -> int:
    """Count whole records."""
    return sum(1 for match in one_record(delimiter).finditer(data) if match.end() > match.start())


def parse(piece: Piece, layout: Layout) -> Block:
    """Parse a piece into a block of canonical columns.

    Raises `BrokenQuotes` where the cut turns out to be doubtful, and `NotUtf8`.
    """
    data = piece.data
    if not data.isascii():
        _require_utf8(data, layout.delimiter)
    table, misfits = _table(data, layout, every_column=False)
    records = table.num_rows + len(misfits)
    doubtful = b'"' in data and not piece.proved
    if doubtful and (records != _line_ends(data) or _ends_in_a_cell(data, layout)):
        match = _records(layout.delimiter).match(data)
        if match is None or match.end() != len(data):
            raise BrokenQuotes
    block = _block(table, misfits, layout)
    needs_all = (
        b"\0" in data or bool(np.any(_lengths(block.columns["order_id"]) == 0)) if table.num_rows else False
    )
    if needs_all:
        _look_closer(block, data, layout)
    if layout.order_header in bytes(block.columns["order_id"].buffers()[2] or b""):
        _mark_headers(block, layout)
    return block


def _line_ends(data: bytes) -> int:
    """Count line ends of any kind."""
    alone = data.count(b"\r") - data.count(b"\r\n") if b"\r" in data else 0
    return _count(data, _NEWLINE, len(data)) + alone


def _ends_in_a_cell(data: bytes, layout: Layout) -> bool:
    """Tell whether the last line opens a quote that it does not close: then a line put after it is swallowed.

    Such a cut has even quotes where a stray one stands before it.
    """
    last = data[data.rfind(b"\n", 0, len(data) - 1) + 1 :]
    parsed = [_table(lines, layout, every_column=False) for lines in (last, last + b"x\n")]
    alone, followed = (int(table.num_rows) + len(misfits) for table, misfits in parsed)
    return followed == alone


def _require_utf8(data: bytes, delimiter: str) -> None:
    """Raise `NotUtf8` at the first byte that is none."""
    try:
        data.decode()
    except UnicodeDecodeError as error:
        before = data[: error.start]
        raise NotUtf8(
            error.start, data[error.start], _records_in(before[: before.rfind(b"\n") + 1], delimiter)
        ) from None


def _table(
    data: bytes, layout: Layout, *, every_column: bool
) -> tuple[pa.RecordBatch, list[tuple[int, str]]]:
    """Parse bytes; columns that are not canonical are left out unless asked for. Misfits are kept apart."""
    import pyarrow as pa  # noqa: PLC0415 - heavy
    import pyarrow.csv as pcsv  # noqa: PLC0415 - heavy

    misfits: list[tuple[int, str]] = []

    def misfit(row: Any) -> str:  # noqa: ANN401 - pyarrow has no types
        shown = f"fields in the row: {row.actual_columns}, in the header: {row.expected_columns}"
        misfits.append((row.number - 1, shown))
        return "skip"

    names = [name or f"\0{at}" for at, name in enumerate(layout.names)]
    table = pcsv.read_csv(
        pa.BufferReader(data),
        read_options=pcsv.ReadOptions(column_names=names, block_size=len(data) + 1, use_threads=False),
        parse_options=pcsv.ParseOptions(
            delimiter=layout.delimiter,
            newlines_in_values=b'"' in data,
            ignore_empty_lines=False,
            invalid_row_handler=misfit,
        ),
        convert_options=pcsv.ConvertOptions(
            column_types=dict.fromkeys(names, pa.string()),
            strings_can_be_null=False,
            check_utf8=False,
            include_columns=names if every_column else [name for name in layout.names if name],
        ),
    )
    batches = table.combine_chunks().to_batches()
    return (batches[0] if batches else _empty(table.schema)), misfits


def _empty(schema: pa.Schema) -> pa.RecordBatch:
    """Make a batch without rows."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    return pa.RecordBatch.from_arrays([pa.nulls(0, field.type) for field in schema], schema=schema)


def _block(table: pa.RecordBatch, misfits: list[tuple[int, str]], layout: Layout) -> Block:
    """Give each row its number; misfits have numbers of their own among the records."""
    records = table.num_rows + len(misfits)
    ordinal = np.arange(records, dtype=np.int32)
    if misfits:
        ordinal = np.delete(ordinal, [at for at, _ in misfits])
    texts = {name: table.column(name) for name in layout.names if name}
    columns = {name: text if name == "order_id" else arrow.coded(text) for name, text in texts.items()}
    return Block(columns, ordinal, records, misfits)


def _lengths(texts: pa.Array) -> Any:  # noqa: ANN401 - an array of numbers
    """Give the length of each text in bytes."""
    from taxcalc.intake.texts import bytes_of  # noqa: PLC0415

    return bytes_of(texts).lengths


def _look_closer(block: Block, data: bytes, layout: Layout) -> None:
    """Look at all cells, not only the canonical ones: drop records that are wholly blank, mark zero bytes."""
    import pyarrow.compute as pc  # noqa: PLC0415 - heavy

    table, _ = _table(data, layout, every_column=True)
    blank = np.ones(table.num_rows, np.bool_)
    damaged = np.zeros(table.num_rows, np.bool_)
    for column in table.columns:
        texts = column.cast("string")
        blank &= arrow.numbers(pc.equal(pc.utf8_length(pc.utf8_trim_whitespace(texts)), 0))
        damaged |= arrow.numbers(pc.match_substring(texts, "\0"))
    kept = np.flatnonzero(~blank)
    block.columns = {name: column.take(arrow.column(kept)) for name, column in block.columns.items()}
    block.ordinal, block.damaged = block.ordinal[kept], damaged[kept]


def _mark_headers(block: Block, layout: Layout) -> None:
    """Mark rows in which every canonical column holds its own header."""
    import pyarrow.compute as pc  # noqa: PLC0415 - heavy

    repeated = np.ones(len(block.ordinal), np.bool_)
    for header, name in zip(layout.header, layout.names, strict=True):
        if name:
            same = pc.equal(pc.utf8_trim_whitespace(block.columns[name].cast("string")), header.strip())
            repeated &= arrow.numbers(same)
    block.repeated = repeated
