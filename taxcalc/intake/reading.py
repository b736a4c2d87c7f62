"""The reading of one block: its cells, what is known of the run, and which rows are at fault so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import arrow
from taxcalc.intake.texts import GOOD, Coded
from taxcalc.money import EXPONENTS
from taxcalc.set_aside import COLUMN_CODE, REASON_CODE, REASON_NAMES

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.columns import Entry
    from taxcalc.intake.addresses import Addresses
    from taxcalc.spool import Column

_NO_CURRENCIES = 2
"""Negative codes in columns of currencies: what is none."""
_NOTHING_MINOR = 2
"""Decimals taken for an amount without a currency."""


@dataclass(frozen=True)
class Setup:
    """What the reading of every block of a file needs."""

    file: int
    time_zone: str
    buckets: int
    addresses: Addresses
    constants: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


@dataclass
class Block:
    """Cells of some records, as text. `ordinal` numbers the rows among the records of the block, from 0."""

    columns: dict[str, pa.Array]
    ordinal: NDArray[np.int32]
    records: int
    misfits: list[tuple[int, str]] = field(default_factory=list)
    damaged: NDArray[np.bool_] | None = None
    repeated: NDArray[np.bool_] | None = None


class Reading:
    """The state of reading one block."""

    def __init__(self, block: Block, setup: Setup) -> None:
        """Begin with no line at fault."""
        self.block, self.setup = block, setup
        self.size = len(block.ordinal)
        self.numbers: dict[str, Column] = {"file": setup.file, "row": block.ordinal}
        self.names: dict[str, list[str]] = {}
        self.reason = np.full(self.size, GOOD, np.int8)
        self.column = np.zeros(self.size, np.int8)
        self._exponents: dict[str, tuple[list[int], NDArray[np.int8]]] = {}
        self._no_codes = np.zeros(self.size, np.int32)

    def coded(self, name: str) -> Coded:
        """Give a column as distinct texts and codes; an absent column is blank or its constant throughout."""
        cells = self.block.columns.get(name)
        if cells is None or not len(cells.dictionary):
            return Coded(arrow.texts([self.setup.constants.get(name, "")]), self._no_codes)
        texts, ours = cells.dictionary, self.setup.values.get(name)
        if ours is not None:
            texts = arrow.texts([ours.get(text.strip(), text) for text in texts.to_pylist()])
        return Coded(texts, arrow.numbers(cells.indices))

    def exponents(self, name: str) -> tuple[list[int], NDArray[np.int8]]:
        """Give the numbers of decimals that the currencies of a column have, and those of each row if they differ."""
        if name not in self._exponents:
            currency = np.asarray(self.numbers[name])
            codes = (
                np.flatnonzero(np.bincount(currency.reshape(-1).astype(np.int64) + _NO_CURRENCIES))
                - _NO_CURRENCIES
            )
            of_code = np.where(codes < 0, _NOTHING_MINOR, EXPONENTS[codes])
            present = sorted(set(of_code.tolist()))
            each = (
                np.where(currency < 0, _NOTHING_MINOR, EXPONENTS[currency])
                if len(present) > 1
                else of_code[:1]
            )
            self._exponents[name] = present, each
        return self._exponents[name]

    def mark(self, rows: NDArray[np.bool_], reason: str, column: str) -> None:
        """Set rows aside that are not set aside yet."""
        new = rows & (self.reason == GOOD)
        self.reason[new] = REASON_CODE[reason]
        self.column[new] = COLUMN_CODE[column]

    def mark_texts(self, coded: Coded, fault: NDArray[np.int8], column: str) -> None:
        """Set rows aside whose text is at fault: `fault` has a reason code or GOOD for each distinct text."""
        for code in np.unique(fault[fault != GOOD]).tolist():
            self.mark(coded.rows(fault == code), REASON_NAMES[code], column)

    def is_entry(self, entry: Entry) -> NDArray[np.bool_]:
        """Say which rows are of one kind of entry."""
        return np.broadcast_to(np.equal(self.numbers["entry"], int(entry)), (self.size,))
