"""Between NumPy and Arrow without copies, and without loading pandas.

`pyarrow.array` and `Array.to_numpy` load pandas on first use, which costs a fifth of a second that a review does not need.
The functions here go through the buffers instead. Arrays have no nulls. In the same way `Array.take`, `dictionary_encode`
and `cast` write a Python function for each of some 280 functions of Arrow first; here the three are called by name.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

try:
    from pyarrow._compute import CastOptions, SetLookupOptions, call_function
except ImportError:
    from pyarrow.compute import CastOptions, SetLookupOptions, call_function

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt


def column(values: npt.NDArray[Any]) -> pa.Array:
    """Give numbers as an Arrow array over the same memory."""
    whole = np.ascontiguousarray(values)
    return pa.Array.from_buffers(pa.from_numpy_dtype(whole.dtype), whole.size, [None, pa.py_buffer(whole)])


def texts(values: list[str]) -> pa.Array:
    """Give texts as an Arrow array of strings."""
    encoded = [value.encode() for value in values]
    ends = np.zeros(len(encoded) + 1, np.int32)
    np.cumsum([len(value) for value in encoded], out=ends[1:])
    return pa.StringArray.from_buffers(len(encoded), pa.py_buffer(ends), pa.py_buffer(b"".join(encoded)))


def numbers(array: pa.Array) -> npt.NDArray[Any]:
    """Give an Arrow array of numbers as NumPy sees it, over the same memory; truth values are copied."""
    if pa.types.is_boolean(array.type):
        bits = np.frombuffer(array.buffers()[1], np.uint8)
        return np.unpackbits(bits, count=array.offset + len(array), bitorder="little")[array.offset :].astype(
            bool
        )
    if not len(array):
        return np.empty(0, array.type.to_pandas_dtype())
    dtype = np.dtype(array.type.to_pandas_dtype())
    return np.frombuffer(array.buffers()[1], dtype, len(array), array.offset * dtype.itemsize)


def take(array: pa.Array, positions: npt.NDArray[Any]) -> pa.Array:
    """Give the values at some positions."""
    return call_function("take", [array, column(positions)])


def coded(array: pa.Array) -> pa.DictionaryArray:
    """Give the distinct values in the order of their first appearance, and which of them each value is."""
    return call_function("dictionary_encode", [array])


def whole_numbers(array: pa.Array) -> npt.NDArray[np.int64]:
    """Read texts as whole numbers; raises `pyarrow.ArrowInvalid` where one is none."""
    return numbers(call_function("cast", [array], CastOptions.safe(pa.int64())))


def grouped(values: npt.NDArray[Any]) -> tuple[npt.NDArray[Any], npt.NDArray[np.int32]]:
    """Give the distinct numbers in the order of their first appearance, and the position of each value among them."""
    encoded = coded(column(values))
    return numbers(encoded.dictionary), numbers(encoded.indices)


def distinct(keys: npt.NDArray[Any], below: int) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Give the distinct numbers of keys from 0 to `below` in rising order, and the position of each key among them."""
    if below > max(20 * keys.size, 1 << 24):
        found, at = np.unique(keys, return_inverse=True)
        return found.astype(np.int64), at.reshape(-1)
    seen = np.zeros(below, np.bool_)
    seen[keys] = True
    found = np.flatnonzero(seen)
    position = np.empty(below, np.int32)
    position[found] = np.arange(found.size, dtype=np.int32)
    return found, position.take(keys).astype(np.int64)


def distinct_rows(
    columns: Sequence[npt.NDArray[Any]],
) -> tuple[list[tuple[int, ...]], npt.NDArray[np.int32]]:
    """Give the distinct rows of some columns of whole numbers, and the position of each row among them."""
    group = np.zeros(columns[0].size, np.int32)
    if not group.size:
        return [], group
    for values in columns:
        from_0 = values.astype(np.int64) - int(values.min())
        _, group = grouped(group * (int(from_0.max()) + 1) + from_0)
    at = np.empty(int(group.max()) + 1, np.intp)
    at[group] = np.arange(group.size)
    return list(zip(*(values[at].tolist() for values in columns), strict=True)), group


class Adding:
    """Exact sums by group: the lines are put in the order of their groups once, then every column is added up in runs."""

    def __init__(self, group: npt.NDArray[Any], size: int) -> None:
        """Take the group of each line, numbers from 0 to `size`."""
        narrow = group.astype(np.uint16) if size <= 1 << 16 else group
        self._order = np.argsort(narrow, kind="stable")
        self.lines = np.bincount(group, minlength=size).astype(np.int64)
        self._filled = np.flatnonzero(self.lines)
        self._starts = (np.cumsum(self.lines) - self.lines)[self._filled]

    def of(self, values: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Add up one value a line, by group; 0 for groups without lines."""
        total = np.zeros(self.lines.size, np.int64)
        if self._filled.size:
            total[self._filled] = np.add.reduceat(values.take(self._order), self._starts)
        return total


def orders_in(order: npt.NDArray[Any], group: npt.NDArray[Any], size: int) -> npt.NDArray[np.int64]:
    """Count, for each of `size` groups, the distinct orders that have a line in it.

    Nearly all orders lie in one group; only the others are looked at pair by pair.
    """
    if not order.size:
        return np.zeros(size, np.int64)
    of_order = np.full(int(order.max()) + 1, -1, np.int64)
    of_order[order] = group
    several = of_order[order] != group
    if several.any():
        mixed = np.zeros(of_order.size, bool)
        mixed[order[several]] = True
        of_order[mixed] = -1
        at = np.flatnonzero(mixed[order])
        pairs, _ = grouped(order[at].astype(np.int64) * size + group[at])
        more = np.bincount(pairs % size, minlength=size)
    else:
        more = np.zeros(size, np.int64)
    counts = np.bincount(of_order[of_order >= 0], minlength=size)
    return (counts + more).astype(np.int64)


def picked(values: pa.Array, positions: npt.NDArray[Any]) -> list[str]:
    """Give the texts at some positions as Python strings."""
    return take(values, positions).to_pylist()  # type: ignore[no-any-return]


def positions_of(values: pa.Array, wanted: list[str]) -> npt.NDArray[np.intp]:
    """Give the positions at which one of some texts stands."""
    found = call_function("is_in", [values], SetLookupOptions(value_set=texts(wanted)))
    return np.flatnonzero(numbers(found))
