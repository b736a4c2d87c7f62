"""Columns of text as NumPy sees them: distinct texts, their bytes, and hashes of order numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.spool import Column

GOOD: Final = np.int8(-1)
"""In arrays of reason codes: nothing is wrong."""


class Raw(NamedTuple):
    """The bytes of a text array: all data, and where each text starts, ends and how long it is."""

    data: NDArray[np.uint8]
    starts: NDArray[np.int32]
    ends: NDArray[np.int32]
    lengths: NDArray[np.int32]


class Coded(NamedTuple):
    """A text column of a block: the distinct texts and, a row, which of them it holds."""

    texts: pa.Array
    codes: NDArray[np.int32]

    def spread(self, of_text: NDArray[Any]) -> Column:
        """Give every row the value of its text; one int where all texts have the same."""
        first = of_text[:1]
        if len(of_text) == 1 or (len(of_text) < len(self.codes) and (of_text == first).all()):
            return int(first[0])
        return of_text.take(self.codes)

    def rows(self, of_text: NDArray[Any]) -> NDArray[Any]:
        """Give every row the value of its text, as an array."""
        return of_text.take(self.codes)


def bytes_of(texts: pa.Array) -> Raw:
    """Look at the bytes of a text array without copying them. `data` ends where the last text ends."""
    _, offsets, data = texts.buffers()
    if offsets is None or not len(texts):
        empty = np.zeros(len(texts), np.int32)
        return Raw(np.zeros(0, np.uint8), empty, empty, empty)
    bounds = np.frombuffer(offsets, np.int32)[texts.offset : texts.offset + len(texts) + 1]
    begin, end = int(bounds[0]), int(bounds[-1])
    whole = np.zeros(0, np.uint8) if data is None else np.frombuffer(data, np.uint8)[begin:end]
    bounds = bounds - begin if begin else bounds
    return Raw(whole, bounds[:-1], bounds[1:], np.diff(bounds))


def matrix_of(raw: Raw, widest: int) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Lay texts out one a row, cut at `widest` characters; the second array says what belongs to the text."""
    width = max(1, min(widest, int(raw.lengths.max(initial=0))))
    steps = np.arange(width, dtype=np.int32)
    inside = steps < raw.lengths[:, None]
    if not raw.data.size:
        return np.zeros(inside.shape, np.uint8), inside
    at = np.minimum(raw.starts[:, None] + steps, raw.data.size - 1)
    return raw.data[at] * inside, inside


def texts_at(texts: pa.Array, position: int) -> str:
    """Give one text."""
    text: str = texts[position].as_py()
    return text


def is_blank(text: str) -> bool:
    """Say whether a cell holds nothing a reader would see."""
    return not text.strip()


_LOWER = 32
"""Bit that makes a capital letter a small one."""
_SCIENTIFIC = r"^[0-9](\.[0-9]+)?[Ee]\+[0-9]+$"


def damaged_id(order_ids: pa.Array) -> tuple[int, str] | None:
    """Give position and text of the first order number that a spreadsheet damaged.

    That is one such as 1.23457E+19, or 1001.0; a trailing `.0` counts only where every order number has it.
    """
    raw = bytes_of(order_ids)
    if not raw.lengths.size:
        return None
    data = raw.data.tobytes() if (raw.data | _LOWER == ord("e")).any() else raw.data[-2:].tobytes()
    ends_so = data.endswith(b".0") and bool(raw.lengths.all())
    if not (ends_so or b"E+" in data or b"e+" in data):
        return None
    import pyarrow.compute as pc  # noqa: PLC0415 - heavy, and only for such numbers

    if b"E+" in data or b"e+" in data:
        found = pc.index(pc.match_substring_regex(order_ids, _SCIENTIFIC), value=True).as_py()
        if found >= 0:
            return found, texts_at(order_ids, found)
    decimal = ends_so and pc.all(pc.match_substring_regex(order_ids, r"^[0-9]+\.0$"))
    return (0, texts_at(order_ids, 0)) if decimal and decimal.as_py() else None


_MIX = tuple(np.uint64(number) for number in (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9))
_EIGHT, _BITS = 8, 64


def bucket_of(order_ids: pa.Array, buckets: int) -> NDArray[np.int16]:
    """Give the bucket of each order number: a hash of its first 8 and last 16 bytes and its length.

    The same number has the same bucket in every file, block and run. `buckets` is a power of two.
    """
    raw = bytes_of(order_ids)
    if buckets == 1 or not raw.lengths.size:
        return np.zeros(raw.lengths.size, np.int16)
    padded = np.concatenate((np.zeros(16, np.uint8), raw.data, np.zeros(8, np.uint8)))
    words = np.ndarray((len(padded) - 7,), "<u8", padded.data, strides=(1,))
    lengths = raw.lengths.astype(np.int64)
    last = _upper(words[raw.ends + 8], lengths)
    before = _upper(words[raw.ends], lengths - _EIGHT)
    mixed = last * _MIX[0] ^ before * _MIX[1] ^ lengths.astype(np.uint64) * _MIX[2]
    if int(raw.lengths.max()) > 2 * _EIGHT:
        mixed ^= _lower(words[raw.starts + 16], lengths) * _MIX[2]
    mixed ^= mixed >> np.uint64(29)
    mixed *= _MIX[1]
    bucket: NDArray[np.int16] = (mixed >> np.uint64(_BITS - buckets.bit_length() + 1)).astype(np.int16)
    return bucket


def _upper(words: NDArray[np.uint64], left: NDArray[np.int64]) -> NDArray[np.uint64]:
    """Keep the upper `left` bytes of a word, which are those that belong to the text."""
    if int(left.min()) >= _EIGHT:
        return words
    shift = np.clip(_BITS - _EIGHT * left, 0, _BITS - 1).astype(np.uint64)
    return np.where(left > 0, words >> shift, np.uint64(0))


def _lower(words: NDArray[np.uint64], left: NDArray[np.int64]) -> NDArray[np.uint64]:
    """Keep the first bytes of a word where the text is longer than 16 bytes, else nothing."""
    return np.where(left > 2 * _EIGHT, words, np.uint64(0))
