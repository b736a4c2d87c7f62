"""A user's own rows laid over the shipped ones.

An own row holds from its day until the next own row of its key, or one with back_to_shipped = yes; from that
day the shipped row in force holds again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from numpy.typing import NDArray


def entries(
    keys: Sequence[Hashable],
    days: Sequence[int],
    own: Sequence[bool],
    back: Sequence[bool],
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Give the entries of the look-up: the row whose key and day an entry has, and the row that it answers.

    All four hold one value a row, shipped rows first. An entry that answers -1 stands for "no row".
    """
    count = len(keys)
    if not any(own):
        every = np.arange(count, dtype=np.int32)
        return every, every
    mine = _by_key(keys, [row for row in range(count) if own[row]])
    shipped = _by_key(keys, [row for row in range(count) if not own[row]])
    at: list[int] = []
    answer: list[int] = []
    for row in range(count):
        rivals = [other for other in mine.get(keys[row], []) if days[other] <= days[row]]
        latest = max(rivals, key=lambda other: days[other], default=-1)
        hidden = latest >= 0 and (not back[latest] or days[latest] == days[row])
        if not own[row] and hidden:
            continue
        at.append(row)
        answer.append(
            _in_force(shipped.get(keys[row], []), days, days[row]) if own[row] and back[row] else row
        )
    return np.array(at, dtype=np.int32), np.array(answer, dtype=np.int32)


def _by_key(keys: Sequence[Hashable], rows: Sequence[int]) -> dict[Hashable, list[int]]:
    """Sort rows by their key."""
    found: dict[Hashable, list[int]] = {}
    for row in rows:
        found.setdefault(keys[row], []).append(row)
    return found


def _in_force(rows: Sequence[int], days: Sequence[int], day: int) -> int:
    """Give the row among `rows` that holds on `day`, or -1."""
    begun = [row for row in rows if days[row] <= day]
    return max(begun, key=lambda row: days[row], default=-1)
