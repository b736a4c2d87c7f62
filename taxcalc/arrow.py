"""Between NumPy and Arrow without copies, and without loading pandas.

`pyarrow.array` and `Array.to_numpy` load pandas on first use, which costs a fifth of a second that a review does not need.
The functions here go through the buffers instead. Arrays have no nulls.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

if TYPE_CHECKING:
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


def grouped(values: npt.NDArray[Any]) -> tuple[npt.NDArray[Any], npt.NDArray[np.int32]]:
    """Give the distinct numbers in the order of their first appearance, and the position of each value among them."""
    encoded = column(values).dictionary_encode()
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
    return found, position[keys].astype(np.int64)


def picked(values: pa.Array, positions: npt.NDArray[Any]) -> list[str]:
    """Give the texts at some positions as Python strings."""
    return values.take(column(positions)).to_pylist()  # type: ignore[no-any-return]
