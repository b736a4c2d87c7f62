"""Spans that overlap, cut into pieces that do not: the arithmetic of ranges and periods, many at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
import pyarrow as pa

from taxcalc.messages import refuse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

_GROUP: Final = 2**33
_SHIFT: Final = 2**31
_HIGHEST: Final = 2**62
MOST: Final = 25_000_000
"""Pieces up to which ranges are cut; a million rows with a history of 20 years have eight million."""


class Pieces(NamedTuple):
    """Pieces in the order of group and start; `row` lists who covers each of them, from `first` on."""

    group: Ints
    start: Ints
    stop: Ints
    row: Ints
    first: Ints

    @property
    def owner(self) -> Ints:
        """The piece that each entry of `row` belongs to."""
        return np.repeat(np.arange(self.start.size), np.diff(self.first, append=self.row.size))


def on_axis(group: Ints, value: Ints) -> Ints:
    """Put a value of a group on one long axis (groups up to 2^30, values of 32 bits)."""
    return group * _GROUP + value + _SHIFT


def cut(group: Ints, start: Ints, stop: Ints, extra: Ints | None = None) -> Pieces:
    """Cut the spans `start` to `stop` (inclusive) of each group where any of them begins or ends, and at `extra` edges.

    Raises E576 where that would make too many pieces.
    """
    low, high = on_axis(group, start), on_axis(group, stop) + 1
    edges = np.unique(np.concatenate([low, high] if extra is None else [low, high, extra]))
    at = np.searchsorted(edges, low)
    count = np.searchsorted(edges, high) - at
    row, piece = spread(count)
    piece += at[row]
    order = np.argsort(piece, kind="stable")
    row, piece = row[order], piece[order]
    first = np.flatnonzero(np.diff(piece, prepend=-1))
    piece = piece[first]
    where = edges[piece]
    return Pieces(
        where // _GROUP, where % _GROUP - _SHIFT, (edges[piece + 1] - 1) % _GROUP - _SHIFT, row, first
    )


def spread(count: Ints) -> tuple[Ints, Ints]:
    """Repeat row numbers `count` times each, with 0, 1, 2… beside every repetition. Raises E576."""
    total = int(count.sum())
    if total > MOST:
        raise refuse("E576", count=f"{total:,}")
    row = np.repeat(np.arange(count.size), count)
    return row, np.arange(total) - np.repeat(np.cumsum(count) - count, count)


def meet(left: tuple[Ints, Ints, Ints], right: tuple[Ints, Ints, Ints]) -> tuple[Ints, Ints, Ints, Ints]:
    """Find where spans (group, start, stop) of both sides meet: left row, right row, start and stop of what is common.

    The right side is in the order of group and start, and its spans do not overlap within a group.
    """
    group, start, stop = left
    low = np.searchsorted(on_axis(right[0], right[2]), on_axis(group, start))
    high = np.searchsorted(on_axis(right[0], right[1]), on_axis(group, stop), side="right")
    one, other = spread(np.maximum(high - low, 0))
    other += low[one]
    return one, other, np.maximum(start[one], right[1][other]), np.minimum(stop[one], right[2][other])


def ranked(values: NDArray[np.generic]) -> tuple[Ints, Ints]:
    """Give the rank of each value among the distinct values, and those in rising order."""
    coded = pa.array(np.asarray(values, np.int64)).dictionary_encode()
    distinct = coded.dictionary.to_numpy()
    order = np.argsort(distinct)
    rank = np.empty(order.size, np.int64)
    rank[order] = np.arange(order.size)
    return rank[coded.indices.to_numpy()], distinct[order]


def numbered(*columns: NDArray[np.generic]) -> tuple[Ints, Ints]:
    """Number distinct rows by their values, in rising order: the number of each row, and the first row of each number."""
    key, radix = np.zeros(columns[0].size, np.int64), 1
    for column in columns:
        digits = np.asarray(column, np.int64)
        digits = digits - (digits.min() if digits.size else 0)
        count = int(digits.max(initial=0)) + 1
        if radix * count > _HIGHEST:
            key, distinct = ranked(key)
            radix = max(distinct.size, 1)
        if radix * count > _HIGHEST:
            digits, distinct = ranked(digits)
            count = max(distinct.size, 1)
        key, radix = key * count + digits, radix * count
    ids, distinct = ranked(key)
    first = np.empty(distinct.size, np.int64)
    first[ids[::-1]] = np.arange(ids.size)[::-1]
    return ids, first


def merged(group: Ints, start: Ints, stop: Ints, *same: NDArray[np.generic]) -> tuple[Ints, Ints]:
    """Join spans that follow each other in a group without a gap and agree in `same`: first rows, and their new ends.

    The spans are in the order of group and start and do not overlap.
    """
    if not group.size:
        return np.zeros(0, np.int64), stop
    follows = (group[1:] == group[:-1]) & (start[1:] == stop[:-1] + 1)
    for column in same:
        follows &= column[1:] == column[:-1]
    first = np.flatnonzero(np.concatenate(([True], ~follows)))
    last = np.concatenate((first[1:] - 1, [group.size - 1]))
    return first, stop[last]


def sequences(length: Ints, codes: Ints) -> tuple[Ints, Ints]:
    """Number distinct sequences: sequence i is the next `length[i]` codes. Gives numbers, and a sequence for each.

    Empty sequences get a number like any other.
    """
    start = np.cumsum(length) - length
    ids = np.zeros(length.size, np.int64)
    radix = int(codes.max(initial=0)) + 1
    offset, alive, at = 1, np.flatnonzero(length > 0), 0
    while alive.size:
        found, distinct = ranked(ids[alive] * radix + codes[start[alive] + at])
        ids[alive] = offset + found
        offset += distinct.size
        at += 1
        alive = alive[length[alive] > at]
    return numbered(ids)
