"""Orders that are typed already: a DataFrame or a Parquet file, turned into the same blocks of text as CSV.

Binary floats are refused: they are not exact, and a float postal code or order number has lost something.
"""

from __future__ import annotations

import hashlib
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from taxcalc.columns import BY_NAME
from taxcalc.intake.block import read_block
from taxcalc.intake.gather import in_order
from taxcalc.intake.header import names_of, require_columns, unused_constants
from taxcalc.intake.reading import Block
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import BinaryIO

    import pandas as pd

    from taxcalc.intake.column_map import ColumnMap
    from taxcalc.intake.gather import Gathering
    from taxcalc.intake.reading import Setup

BLOCK_ROWS = 1 << 16


def read_parquet(
    file: BinaryIO, name: str, columns: ColumnMap, setup: Setup, to: Gathering
) -> tuple[str, int, list[str]]:
    """Read a Parquet file; gives SHA-256, rows and notes. Raises E310, E311, E315 and E317."""
    import pyarrow.parquet as pq  # noqa: PLC0415 - only for such files

    file.seek(0)
    sha256 = hashlib.sha256()
    while data := file.read(1 << 20):
        sha256.update(data)
    file.seek(0)
    try:
        parquet = pq.ParquetFile(file)
        cells = parquet.schema_arrow.names
        names = names_of(cells, columns)
        require_columns(name, cells, names, columns)
        wanted = {cell: ours for cell, ours in zip(cells, names, strict=True) if ours}
        batches = parquet.iter_batches(BLOCK_ROWS, columns=list(wanted))
        parts = ({ours: batch.column(cell) for cell, ours in wanted.items()} for batch in batches)
        rows = _read(
            ({ours: text_of(one, ours, name) for ours, one in part.items()} for part in parts),
            name,
            setup,
            to,
        )
    except pa.ArrowException as error:
        raise refuse("E317", file=name, detail=str(error).splitlines()[0]) from None
    return sha256.hexdigest(), rows, [*_notes(name, cells, names), *unused_constants(name, names, columns)]


def read_frame(
    frame: pd.DataFrame, name: str, columns: ColumnMap, setup: Setup, to: Gathering
) -> tuple[str, int, list[str]]:
    """Read a DataFrame with canonical columns; its hash is that of the texts. Raises E310, E311 and E315."""
    cells = [str(cell) for cell in frame.columns]
    names = names_of(cells, columns)
    require_columns(name, cells, names, columns)
    texts = {ours: _series(frame.iloc[:, at], ours, name) for at, ours in enumerate(names) if ours}
    sha256 = hashlib.sha256()
    for ours, column in sorted(texts.items()):
        sha256.update(f"{ours}\0".encode())
        for text in (column.dictionary_encode(),):
            sha256.update("\0".join(text.dictionary.to_pylist()).encode())
            sha256.update(np.ascontiguousarray(text.indices.to_numpy(), "<i4").tobytes())
    starts = range(0, len(frame), BLOCK_ROWS)
    rows = _read(
        ({ours: column.slice(start, BLOCK_ROWS) for ours, column in texts.items()} for start in starts),
        name,
        setup,
        to,
    )
    return sha256.hexdigest(), rows, [*_notes(name, cells, names), *unused_constants(name, names, columns)]


def text_of(values: pa.Array, column: str, file: str) -> pa.Array:
    """Turn an Arrow column into text without nulls; raises E315 for binary floats and for nested values."""
    kind = values.type
    if pa.types.is_dictionary(kind):
        return text_of(values.dictionary_decode(), column, file)
    if pa.types.is_floating(kind):
        raise _floats(column, file)
    if pa.types.is_nested(kind) or pa.types.is_binary(kind):
        raise refuse("E315", file=file, column=column, kind=str(kind), others="")
    if pa.types.is_timestamp(kind) and kind.tz is not None:
        values = pc.cast(values, pa.timestamp("us", tz="UTC"))
    texts = pc.cast(values, pa.string())
    return pc.fill_null(texts, "") if texts.null_count else texts


def _series(series: pd.Series[Any], column: str, file: str) -> pa.Array:
    """Turn a column of a DataFrame into text."""
    import pandas as pd  # noqa: PLC0415 - only for DataFrames

    if pd.api.types.is_float_dtype(series.dtype):
        if series.isna().all():
            return pa.array([""] * len(series), pa.string())
        raise _floats(column, file)
    if series.dtype != object:
        values = pa.array(series, from_pandas=True)
        joined = values.combine_chunks() if isinstance(values, pa.ChunkedArray) else values
        return text_of(joined, column, file)
    kinds = set(map(type, series.dropna()))
    if any(issubclass(kind, float | np.floating) for kind in kinds):
        raise _floats(column, file)
    codes, distinct = pd.factorize(series)
    texts = pa.array([*(_text(value) for value in distinct.tolist()), ""], pa.string())
    return texts.take(pa.array(np.where(codes < 0, len(distinct), codes)))


def _text(value: object) -> str:
    """Write one distinct value as it would stand in a CSV file."""
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, bool):
        return "yes" if value else "no"
    moment = getattr(value, "isoformat", None)
    return str(moment()) if moment is not None else str(value)


def _floats(column: str, file: str) -> Exception:
    """Build the refusal of binary floats."""
    others = ", Decimal or whole numbers" if BY_NAME[column].kind == "amount" else " or whole numbers"
    return refuse("E315", file=file, column=column, kind="binary floating-point", others=others)


def _read(parts: Iterable[dict[str, pa.Array]], name: str, setup: Setup, to: Gathering) -> int:
    """Read blocks of text columns into the gathering and count the rows; the header is row 1."""
    row = 1
    for _, outcome in in_order(lambda texts: read_block(_block(texts), setup), parts):
        to.take(outcome, row, name)
        row += outcome.records
    return row - 1


def _block(texts: dict[str, pa.Array]) -> Block:
    """Code the distinct texts of each column, and mark rows with zero bytes."""
    size = len(texts["order_id"])
    coded = {
        name: column if name == "order_id" else column.dictionary_encode() for name, column in texts.items()
    }
    damaged = np.zeros(size, np.bool_)
    for column in texts.values():
        damaged |= pc.match_substring(column, "\0").to_numpy(zero_copy_only=False)
    return Block(coded, np.arange(size, dtype=np.int32), size, damaged=damaged)


def _notes(name: str, cells: Sequence[str], names: Sequence[str | None]) -> list[str]:
    """List the columns that are not used."""
    others = [cell for cell, ours in zip(cells, names, strict=True) if ours is None]
    return [f"{name}: columns not used: {', '.join(others)}."] if others else []
