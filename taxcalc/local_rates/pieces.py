"""Spans that overlap, cut into pieces that do not: the arithmetic of ranges and periods, many at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from taxcalc.messages import refuse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

_GROUP: Final = 2**33
_SHIFT: Final = 2**31
MOST: Final = 40_000_000
"""Pieces up to which ranges are cut; a file of a whole state has a few million."""


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


def numbered(*columns: NDArray[np.generic]) -> tuple[Ints, Ints]:
    """Number distinct rows by their values, in rising order: the number of each row, and a row for each number."""
    ids = np.zeros(columns[0].size, np.int64)
    first = np.zeros(min(1, ids.size), np.int64)
    for column in columns:
        _, codes = np.unique(column, return_inverse=True)
        count = int(codes.max(initial=0)) + 1
        _, first, ids = np.unique(ids * count + codes.reshape(-1), return_index=True, return_inverse=True)
        ids = ids.reshape(-1)
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
        _, found = np.unique(ids[alive] * radix + codes[start[alive] + at], return_inverse=True)
        ids[alive] = offset + found.reshape(-1)
        offset += int(found.max()) + 1
        at += 1
        alive = alive[length[alive] > at]
    _, first, numbers = np.unique(ids, return_index=True, return_inverse=True)
    return numbers.reshape(-1), first
