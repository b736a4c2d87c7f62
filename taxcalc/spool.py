"""The spool: canonical lines in buckets by order, so that every order is whole in one bucket.

Small inputs stay in memory; larger ones go to Arrow IPC files in a temporary folder, which is removed
when the spool is closed, when it is forgotten and when the program ends. A column that is the same in a
whole batch travels as one number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from taxcalc import arrow
from taxcalc.columns import LINE_SCHEMA
from taxcalc.spool_folder import TemporaryFolder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    import pyarrow as pa
    from numpy.typing import NDArray

    Column = NDArray[Any] | int

TEXTS = ("order_id", "line_id")
NUMBERS = {name: np.dtype(kind) for name, (kind, _) in LINE_SCHEMA.items() if kind != "string"}


@dataclass
class Batch:
    """Lines of one bucket out of one block; None is a text column of blanks, an int a column all the same."""

    size: int
    order_id: pa.Array
    line_id: pa.Array | None
    numbers: dict[str, Column]


class Lines:
    """Canonical lines, a column at a time; built on first use and kept, to be treated as read-only."""

    def __init__(self, batches: Sequence[Batch]) -> None:
        """Take the batches of one bucket; nothing is copied yet."""
        self._batches = [batch for batch in batches if batch.size]
        self._numbers: dict[str, NDArray[Any]] = {}
        self._texts: dict[str, pa.Array] = {}
        self.size = sum(batch.size for batch in self._batches)

    def __len__(self) -> int:
        """Give the number of lines."""
        return self.size

    def __getitem__(self, column: str) -> NDArray[Any]:
        """Give a number column of `LINE_SCHEMA` in its dtype; raises `KeyError` for any other name."""
        kept = self._numbers.get(column)
        if kept is None:
            kept = self._numbers[column] = self._joined(column, NUMBERS[column])
        return kept

    @property
    def order_id(self) -> pa.Array:
        """The order numbers as given, in one chunk."""
        return self._text("order_id")

    @property
    def line_id(self) -> pa.Array:
        """The line numbers as given, in one chunk; empty text where the file has none."""
        return self._text("line_id")

    def take(self, which: NDArray[Any]) -> Lines:
        """Give the lines of a mask (bool) or an index (integers), in that order."""
        index = np.flatnonzero(which) if which.dtype == np.bool_ else which
        numbers: dict[str, Column] = {
            name: one if isinstance(one := self.same(name), int) else self[name][index] for name in NUMBERS
        }
        return Lines(
            [Batch(len(index), arrow.take(self.order_id, index), arrow.take(self.line_id, index), numbers)]
        )

    def with_column(self, column: str, values: NDArray[Any]) -> Lines:
        """Give the same lines with another number column in place of one of theirs."""
        numbers: dict[str, Column] = {
            name: one if isinstance(one := self.same(name), int) else self[name] for name in NUMBERS
        }
        numbers[column] = values.astype(NUMBERS[column])
        return Lines([Batch(self.size, self.order_id, self.line_id, numbers)])

    def same(self, column: str) -> int | None:
        """Give the one value of a column that is known to be the same on every line."""
        first = self._batches[0].numbers[column] if self._batches else None
        if not isinstance(first, int):
            return None
        same = all(isinstance(b.numbers[column], int) and b.numbers[column] == first for b in self._batches)
        return first if same else None

    def _joined(self, column: str, dtype: np.dtype[Any]) -> NDArray[Any]:
        """Join one column of all batches, and let go of the parts."""
        parts = [batch.numbers[column] for batch in self._batches]
        if len(parts) == 1 and not isinstance(parts[0], int):
            return np.asarray(parts[0], dtype=dtype)
        whole = np.empty(self.size, dtype=dtype)
        start = 0
        for batch, part in zip(self._batches, parts, strict=True):
            whole[start : start + batch.size] = part
            if not isinstance(part, int):
                batch.numbers[column] = whole[start : start + batch.size]
            start += batch.size
        return whole

    def _text(self, name: str) -> pa.Array:
        """Join one text column of all batches."""
        import pyarrow as pa  # noqa: PLC0415 - heavy

        if name not in self._texts:
            parts = [
                arrow.take(arrow.texts([""]), np.zeros(batch.size, np.int8)) if part is None else part
                for batch in self._batches
                for part in (getattr(batch, name),)
            ]
            whole = pa.concat_arrays(parts) if parts else arrow.texts([])
            self._texts[name] = whole
            start = 0
            for batch in self._batches:
                setattr(batch, name, whole.slice(start, batch.size))
                start += batch.size
        return self._texts[name]


@dataclass
class Spool:
    """Buckets of canonical lines. `hold` is how many lines stay in memory; None keeps all of them there."""

    buckets: int
    hold: int | None = None
    rows: int = 0
    _batches: list[list[Batch]] = field(default_factory=list)
    _held: int = 0
    _written: list[list[Path]] = field(default_factory=list)
    _lines: dict[int, Lines] = field(default_factory=dict)
    _kept: dict[tuple[int, str], NDArray[Any]] = field(default_factory=dict)
    _texts: dict[tuple[int, str], pa.Array] = field(default_factory=dict)
    _shapes: dict[tuple[int, str], tuple[np.dtype[Any], int]] = field(default_factory=dict)
    _folder: TemporaryFolder | None = None

    def __post_init__(self) -> None:
        """Begin with empty buckets."""
        self._batches = [[] for _ in range(self.buckets)]
        self._written = [[] for _ in range(self.buckets)]

    @property
    def folder(self) -> Path:
        """The temporary folder, made on first use."""
        if self._folder is None:
            self._folder = TemporaryFolder()
        return self._folder.path

    def append(self, batches: Mapping[int, Batch]) -> None:
        """Add one block of lines, split by bucket."""
        for bucket, batch in batches.items():
            self._batches[bucket].append(batch)
            self._held += batch.size
            self.rows += batch.size
        if self.hold is not None and self._held >= self.hold:
            self._write()

    def finish(self) -> None:
        """Tell the spool that nothing more is coming."""
        if any(self._written):
            self._write()

    def read(self, bucket: int) -> Lines:
        """Give the lines of a bucket. Buckets in memory give the same object each time."""
        if any(self._written):
            return Lines([_read(path) for path in self._written[bucket]] + self._batches[bucket])
        if bucket not in self._lines:
            self._lines[bucket] = Lines(self._batches[bucket])
        return self._lines[bucket]

    def keep(self, bucket: int, name: str, values: NDArray[Any]) -> None:
        """Keep an array beside a bucket, in memory or in the temporary folder as the lines are."""
        if self.hold is None:
            self._kept[bucket, name] = values
        else:
            values.tofile(self.folder / f"{bucket}-{name}.array")
            self._shapes[bucket, name] = values.dtype, values.size

    def kept(self, bucket: int, name: str) -> NDArray[Any]:
        """Give an array kept before, mapped where it is on disk; raises `KeyError` where there is none."""
        if self.hold is None:
            return self._kept[bucket, name]
        dtype, size = self._shapes[bucket, name]
        if not size:
            return np.empty(0, dtype)
        return np.asarray(np.memmap(self.folder / f"{bucket}-{name}.array", dtype, "r", shape=(size,)))

    def keep_texts(self, bucket: int, name: str, values: pa.Array) -> None:
        """Keep texts beside a bucket, as arrays are kept."""
        import pyarrow as pa  # noqa: PLC0415 - heavy

        if self.hold is None:
            self._texts[bucket, name] = values
            return
        batch = pa.record_batch([values], names=[name])
        with (
            pa.OSFile(str(self.folder / f"{bucket}-{name}.arrow"), "wb") as file,
            pa.ipc.new_file(file, batch.schema) as writer,
        ):
            writer.write_batch(batch)

    def kept_texts(self, bucket: int, name: str) -> pa.Array:
        """Give texts kept before; on disk only what is looked at is read."""
        import pyarrow as pa  # noqa: PLC0415 - heavy

        if self.hold is None:
            return self._texts[bucket, name]
        with pa.memory_map(str(self.folder / f"{bucket}-{name}.arrow")) as file:
            return pa.ipc.open_file(file).get_batch(0).column(0)

    def close(self) -> None:
        """Let go of the lines and remove the temporary folder."""
        self._batches = [[] for _ in range(self.buckets)]
        self._written = [[] for _ in range(self.buckets)]
        self._lines.clear()
        self._kept.clear()
        self._texts.clear()
        if self._folder is not None:
            self._folder.remove()
            self._folder = None

    def __enter__(self) -> Self:
        """Use the spool in a `with` statement."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close at the end of the `with` statement."""
        self.close()

    def _write(self) -> None:
        """Move what is held in memory to one file a bucket."""
        for bucket, batches in enumerate(self._batches):
            if batches:
                path = self.folder / f"{bucket}-{len(self._written[bucket])}.arrow"
                _write(path, Lines(batches))
                self._written[bucket].append(path)
        self._batches = [[] for _ in range(self.buckets)]
        self._held = 0


def _write(path: Path, lines: Lines) -> None:
    """Write lines as one Arrow record batch; columns that are the same throughout go into the metadata."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    same = {name: one for name in NUMBERS if (one := lines.same(name)) is not None}
    arrays = {"order_id": lines.order_id, "line_id": lines.line_id}
    arrays |= {name: arrow.column(lines[name]) for name in NUMBERS if name not in same}
    table = pa.table(arrays).replace_schema_metadata({name: str(value) for name, value in same.items()})
    with pa.OSFile(str(path), "wb") as file, pa.ipc.new_file(file, table.schema) as writer:
        writer.write_table(table)


def _read(path: Path) -> Batch:
    """Read a batch back; the file stays mapped, so nothing is copied before it is used."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    with pa.memory_map(str(path)) as file:
        batch = pa.ipc.open_file(file).get_batch(0)
    numbers: dict[str, Column] = {
        name.decode(): int(value) for name, value in (batch.schema.metadata or {}).items()
    }
    numbers |= {name: arrow.numbers(batch.column(name)) for name in batch.schema.names if name not in TEXTS}
    return Batch(batch.num_rows, batch.column("order_id"), batch.column("line_id"), numbers)
