"""Which row of a table was in force on a day, for many questions at once."""

from __future__ import annotations

from itertools import repeat
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

_DAY_BITS = 22
_DAYS = 2 ** (_DAY_BITS - 1)
"""Days are kept within ± 2^21 days of 1970, some 5 700 years."""


class _KeyPart:
    """The distinct values of one key column and their numbers."""

    def __init__(self, column: NDArray[np.generic]) -> None:
        """Give each distinct value of the column its number."""
        self._numbers = {value: number for number, value in enumerate(dict.fromkeys(column.tolist()))}
        self.size = len(self._numbers)
        self._sorted = np.array(sorted(self._numbers) if column.dtype.kind == "i" else [], np.int64)
        self._ranked = np.array([self._numbers[value] for value in self._sorted.tolist()], np.int64)

    def numbers(self, asked: object) -> NDArray[np.int64]:
        """Give the number of each value asked for, -1 for one that the column does not hold."""
        values = np.asarray(asked)
        if self._sorted.size and values.dtype.kind == "i":
            at = np.minimum(np.searchsorted(self._sorted, values), self._sorted.size - 1)
            return np.where(self._sorted[at] == values, self._ranked[at], -1)
        flat = values.ravel().tolist()
        found = np.fromiter(map(self._numbers.get, flat, repeat(-1)), np.int64, len(flat))
        return found.reshape(values.shape)


class DatedIndex:
    """Entries sorted by key and day, each with the row that holds from then on (-1: none)."""

    def __init__(
        self, keys: Sequence[NDArray[np.generic]], days: NDArray[np.int32], rows: NDArray[np.int32]
    ) -> None:
        """Sort the entries; `keys`, `days` and `rows` have one value an entry, no key holds a day twice."""
        self._parts = [_KeyPart(column) for column in keys]
        combined, _ = self._combined(keys)
        spots = _spot(combined, days)
        order = np.argsort(spots, kind="stable")
        self._spots, self._rows = spots[order], rows[order]

    def rows(self, days: object, keys: Sequence[object]) -> NDArray[np.int32]:
        """Answer, for days and keys broadcast against each other, the row of the entry in force, or -1."""
        combined, missing = self._combined(keys)
        asked = _spot(combined, np.asarray(days))
        at = np.searchsorted(self._spots, asked, side="right") - 1
        if not self._spots.size:
            return np.full(asked.shape, -1, dtype=np.int32)
        same_key = (self._spots[at] >> _DAY_BITS) == (asked >> _DAY_BITS)
        in_force = (at >= 0) & same_key & ~missing
        return np.where(in_force, self._rows[at], -1).astype(np.int32)

    def _combined(self, keys: Sequence[object]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
        """Make one number of all key values, and tell which of them hold a value no entry has."""
        combined: NDArray[np.int64] = np.zeros((), dtype=np.int64)
        missing: NDArray[np.bool_] = np.zeros((), dtype=np.bool_)
        for part, asked in zip(self._parts, keys, strict=True):
            numbers = part.numbers(asked)
            combined = combined * part.size + np.maximum(numbers, 0)
            missing = missing | (numbers < 0)
        return combined, missing


def _spot(combined: NDArray[np.int64], days: NDArray[np.generic]) -> NDArray[np.int64]:
    """Make one number of key and day that sorts by key first."""
    within = np.clip(days.astype(np.int64), -_DAYS, _DAYS - 1) + _DAYS
    spot: NDArray[np.int64] = (combined << _DAY_BITS) + within
    return spot
