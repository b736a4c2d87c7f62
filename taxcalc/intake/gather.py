"""Gathering blocks, in the order of the files, into the spool, the rows set aside and the tie-out."""

from __future__ import annotations

import itertools
from collections import deque
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc.intake.steps import NAMED
from taxcalc.messages import refuse
from taxcalc.spool import Batch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from taxcalc.intake.block import Outcome
    from taxcalc.set_aside import SetAside
    from taxcalc.spool import Column, Spool
    from taxcalc.tie_out import TieOut

WORKERS = 2
_AHEAD = 3
_MOST_NAMES = 30_000


@dataclass
class Gathering:
    """Where blocks go. `names` are what the columns `marketplace` and `fulfiller` point into."""

    spool: Spool
    set_aside: SetAside
    tie_out: TieOut
    names: dict[str, dict[str, int]] = field(
        default_factory=lambda: {"marketplace": {"": 0}, "fulfiller": {}}
    )

    def take(self, outcome: Outcome, before: int, file: str) -> None:
        """Add a block; `before` is the row number of the record before its first."""
        if outcome.damaged_id is not None:
            at, text = outcome.damaged_id
            row = before + 1 + at
            raise refuse("E313", file=file, row=row, column="order_id", value=text)
        self.tie_out.add_read(outcome.rows, outcome.read)
        self.tie_out.put_aside(outcome.reasons, outcome.set_aside)
        slips = outcome.slips
        self.set_aside.add(slips._replace(row=slips.row + np.int32(before + 1)))
        numbers = dict(outcome.numbers)
        numbers["row"] = np.add(numbers["row"], np.int32(before + 1), dtype=np.int32)
        for column in NAMED:
            numbers[column] = self._renumbered(column, numbers[column], outcome.names[column], file)
        self.spool.append(_split(outcome, numbers))

    def _renumbered(self, column: str, values: Column, names: list[str], file: str) -> Column:
        """Move numbers of names from those of the block to those of the run."""
        known = self.names[column]
        used = range(len(names)) if isinstance(values, int) else np.unique(values).tolist()
        numbers = np.zeros(len(names), np.int16)
        for at in used:
            numbers[at] = known.setdefault(names[at], len(known))
        if len(known) > _MOST_NAMES:
            raise refuse("E316", file=file, column=column, count=len(known))
        if isinstance(values, int):
            return int(numbers[values])
        moved = numbers[values]
        same = bool(moved.size) and len(used) == 1
        return int(moved[0]) if same else moved


def _split(outcome: Outcome, numbers: dict[str, Column]) -> dict[int, Batch]:
    """Split a block that is ordered by bucket into one batch a bucket."""
    bounds = outcome.bounds.tolist()
    batches: dict[int, Batch] = {}
    for bucket, (begin, end) in enumerate(itertools.pairwise(bounds)):
        if end > begin:
            part = {name: one if isinstance(one, int) else one[begin:end] for name, one in numbers.items()}
            line_id = None if outcome.line_id is None else outcome.line_id.slice(begin, end - begin)
            batches[bucket] = Batch(end - begin, outcome.order_id.slice(begin, end - begin), line_id, part)
    return batches


def in_order(work: Callable[[Any], Any], items: Iterable[Any]) -> Iterator[tuple[Any, Any]]:
    """Do the work on two threads and give (item, result) in the order of the items, a few ahead at most."""
    pool = ThreadPoolExecutor(WORKERS)
    waiting: deque[tuple[Any, Any]] = deque()
    try:
        for item in items:
            waiting.append((item, pool.submit(work, item)))
            if len(waiting) > _AHEAD:
                first, future = waiting.popleft()
                yield first, future.result()
        while waiting:
            first, future = waiting.popleft()
            yield first, future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
