"""Amounts from text: strictly plain decimals, many distinct texts at once.

A plain decimal is an optional minus, digits, and optionally a point with digits after it. Ready-made
casts also take `1e3`, `+5`, ` 5` and `NaN`, so the bytes are checked here against that pattern first. No
binary floats.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from taxcalc import arrow
from taxcalc.intake.sizes import MOST_MINOR
from taxcalc.intake.texts import GOOD, bytes_of, is_blank, matrix_of, texts_at
from taxcalc.set_aside import REASON_CODE

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray

_WIDEST = 18
"""Characters that fit an int64 whatever they are; longer texts are read one by one."""

_PLAIN = re.compile(r"-?[0-9]+(?:\.[0-9]+)?", re.ASCII)
_POWERS = np.array([10**power for power in range(19)], dtype=np.int64)
_BAD, _LARGE, _DECIMALS = (
    np.int8(REASON_CODE[name]) for name in ("bad_amount", "amount_too_large", "too_many_decimals")
)
_MINUS, _POINT, _ZERO, _TEN, _TWO = 45, 46, 48, 10, 2
_ALLOWED = np.zeros(256, np.bool_)
_ALLOWED[[*range(_ZERO, _ZERO + _TEN), _MINUS, _POINT]] = True


class Decimals(NamedTuple):
    """Texts read as decimals: value = digits / 10**decimals, a reason code or GOOD, and which are blank."""

    digits: NDArray[np.int64]
    decimals: NDArray[np.int8]
    fault: NDArray[np.int8]
    blank: NDArray[np.bool_]


def read_decimals(texts: pa.Array) -> Decimals:
    """Read distinct texts as plain decimals of any number of decimals."""
    two = _all_two_decimals(texts)
    if two is not None:
        return two
    raw = bytes_of(texts)
    digits, decimals, good = _read_matrix(*matrix_of(raw, _WIDEST), raw.lengths)
    fault = np.where(good, GOOD, _BAD).astype(np.int8)
    blank = raw.lengths == 0
    for at in np.flatnonzero(~good & ~blank).tolist():
        text = texts_at(texts, at)
        if is_blank(text):
            blank[at] = True
        else:
            digits[at], decimals[at], fault[at] = _read_long(text, wide=int(raw.lengths[at]) > _WIDEST)
    fault[blank] = GOOD
    digits[blank] = 0
    return Decimals(digits, decimals, fault, blank)


def to_minor(read: Decimals, exponent: int) -> tuple[NDArray[np.int64], NDArray[np.int8]]:
    """Turn decimals into minor units of a currency with `exponent` decimals.

    The second array holds reason codes or GOOD. More decimals than the currency has are a fault unless the
    rest is zeros. What is at fault has 0 minor units.
    """
    scale, size = _POWERS[np.minimum(read.decimals, 18)], np.abs(read.digits)
    most = MOST_MINOR // 10**exponent
    too_large = (size // scale > most) | ((size // scale == most) & (size % scale > 0))
    spare = read.decimals.astype(np.int64) - exponent
    cut = _POWERS[np.clip(spare, 0, 18)]
    too_fine = size % cut != 0
    fault = np.where(read.fault != GOOD, read.fault, np.where(too_fine, _DECIMALS, GOOD)).astype(np.int8)
    fault[(read.fault == GOOD) & too_large] = _LARGE
    minor = np.where(fault == GOOD, size // cut, 0) * _POWERS[np.clip(-spare, 0, 18)]
    return np.where(read.digits < 0, -minor, minor), fault


def _all_two_decimals(texts: pa.Array) -> Decimals | None:
    """Read texts that all have exactly two decimals, the common case; None where that is not so."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    raw = bytes_of(texts)
    if not raw.lengths.size or int(raw.lengths.min()) < len("0.00") or int(raw.lengths.max()) > _WIDEST:
        return None
    point = raw.data == _POINT
    if not _ALLOWED[raw.data].all() or int(np.count_nonzero(point)) != len(texts):
        return None
    if not point[raw.ends - 3].all() or (raw.data[raw.ends - 4] == _MINUS).any():
        return None
    bounds = np.concatenate((raw.starts, raw.ends[-1:])) - np.arange(len(texts) + 1, dtype=np.int32)
    buffers = [None, pa.py_buffer(bounds.astype(np.int32)), pa.py_buffer(raw.data[~point])]
    whole = pa.Array.from_buffers(pa.string(), len(texts), buffers)
    try:
        digits = arrow.whole_numbers(whole)
    except pa.ArrowInvalid:
        return None
    count = len(texts)
    return Decimals(
        digits, np.full(count, _TWO, np.int8), np.full(count, GOOD, np.int8), np.zeros(count, np.bool_)
    )


def _read_matrix(
    chars: NDArray[np.uint8], inside: NDArray[np.bool_], lengths: NDArray[Any]
) -> tuple[NDArray[np.int64], NDArray[np.int8], NDArray[np.bool_]]:
    """Read one text a row, up to 18 characters: digits, decimals, and whether the text is a plain decimal."""
    digit = (chars - np.uint8(_ZERO) < _TEN) & inside
    point = (chars == _POINT) & inside
    minus = (chars == _MINUS) & inside
    negative = minus[:, 0]
    known = digit | point
    known[:, 0] |= negative
    points = point.sum(axis=1)
    at = np.where(points > 0, point.argmax(axis=1), np.minimum(lengths, chars.shape[1]))
    decimals = np.where(points > 0, lengths - at - 1, 0)
    good = (known == inside).all(axis=1) & (points <= 1) & (lengths <= chars.shape[1])
    good &= (at - negative >= 1) & ((points == 0) | (decimals >= 1))
    digits = np.zeros(len(chars), np.int64)
    for column in range(chars.shape[1]):
        digits = np.where(digit[:, column], digits * 10 + (chars[:, column].astype(np.int64) - _ZERO), digits)
    digits = np.where(negative, -digits, digits)
    return digits * good, (decimals * good).astype(np.int8), good


def _read_long(text: str, *, wide: bool) -> tuple[int, int, np.int8]:
    """Read a text that does not fit the matrix without its outer zeros; what is still too long is a fault."""
    if not wide or not _PLAIN.fullmatch(text):
        return 0, 0, _BAD
    whole, _, rest = text.lstrip("-").partition(".")
    whole, rest = whole.lstrip("0"), rest.rstrip("0")
    if len(whole) > len(str(MOST_MINOR)):
        return 0, 0, _LARGE
    if len(whole + rest) > _WIDEST:
        return 0, 0, _DECIMALS
    size = int(whole + rest or "0")
    return -size if text.startswith("-") else size, len(rest), GOOD
