"""Files with a header: their columns by name, and the unit of their rates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc.local_rates.cells import SHOWN, Column, refused
from taxcalc.local_rates.files import blocks
from taxcalc.local_rates.layout import HEADERS, SIMPLE
from taxcalc.local_rates.pieces import numbered
from taxcalc.local_rates.unit import held_rates, unit_of, written
from taxcalc.messages import complain, refuse

if TYPE_CHECKING:
    from collections.abc import Iterator
    from decimal import Decimal
    from pathlib import Path

    from taxcalc.local_rates.files import Block
    from taxcalc.tables.load import Tables


class Headed:
    """A file whose first record is the header of its layout."""

    def __init__(self, path: Path, layout: str) -> None:
        """Take the header of the layout, which the file has."""
        self.path, self.header = path, HEADERS[layout]
        self._written = str.lower if layout == SIMPLE else str.upper

    def blocks(self) -> Iterator[Block]:
        """Go through the records, without the header; raises E562 for one with other fields than the header, E564."""
        some = False
        for block in blocks(self.path, skip=1):
            some = True
            wrong = np.flatnonzero(block.counts != len(self.header))
            if wrong.size:
                raise refused(
                    complain(
                        "E562", file=str(self.path), row=int(block.rows[at]), value=block.line(at)[:120],
                        got=int(block.counts[at]), expected=len(self.header),
                    )
                    for at in wrong[:SHOWN].tolist()
                )  # fmt: skip
            yield block
        if not some:
            raise refuse("E564", file=str(self.path))

    def column(self, block: Block, name: str) -> Column:
        """Take a column by its name."""
        return Column(block, self.header.index(name), self._written(name), str(self.path))

    def unit(self, tables: Tables, place: str, start: str, end: str) -> str:
        """Find the unit of the rates by the state's part in every row."""
        stated: set[tuple[int, int, Decimal]] = set()
        for block in self.blocks():
            rate = self.column(block, "state")
            values = written(rate)
            first, last = self.column(block, start).days(), self.column(block, end).days(end=True)
            _, at = numbered(rate.codes, first, last)
            stated |= {(int(first[i]), int(last[i]), values[int(rate.codes[i])]) for i in at.tolist()}
        return unit_of(sorted(stated), held_rates(tables, place), place, str(self.path))
