"""One block of cells to canonical lines, ordered by bucket, and a list of the rows that are none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import arrow
from taxcalc.columns import AMOUNT_CURRENCY, AMOUNTS
from taxcalc.intake.reading import Block, Reading, Setup
from taxcalc.intake.steps import read_columns
from taxcalc.intake.texts import GOOD, bucket_of, damaged_id
from taxcalc.set_aside import COLUMN_NAMES, REASON_CODE, REASON_NAMES, Slips, shortened
from taxcalc.tie_out import sums_by_currency

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.spool import Column


@dataclass
class Outcome:
    """Lines of a block ordered by bucket (`bounds` says where each begins), and what was set aside of it.

    Rows and names are those of the block; whoever collects the blocks moves them to those of the run.
    """

    order_id: pa.Array
    line_id: pa.Array | None
    numbers: dict[str, Column]
    bounds: NDArray[np.int64]
    names: dict[str, list[str]]
    records: int
    rows: int
    slips: Slips
    reasons: dict[str, int]
    read: dict[tuple[int, str], int]
    set_aside: dict[tuple[int, str], int]
    damaged_id: tuple[int, str] | None = None


def read_block(block: Block, setup: Setup) -> Outcome:
    """Read a block of cells into canonical lines."""
    reading = Reading(block, setup)
    read_columns(reading)
    return _outcome(reading)


def _outcome(reading: Reading) -> Outcome:
    """Order good lines by bucket, list the others, and sum both for the tie-out."""
    ids, line = reading.block.columns["order_id"], reading.coded("line_id")
    good = reading.reason == GOOD
    buckets = bucket_of(ids, reading.setup.buckets)
    order = np.argsort(buckets, kind="stable")
    if not good.all():
        order = order[good[order]]
    counts = np.bincount(buckets[order], minlength=reading.setup.buckets)
    moved = {name: one if isinstance(one, int) else one.take(order) for name, one in reading.numbers.items()}
    bad = np.flatnonzero(~good)
    misfits = reading.block.misfits
    codes, many = np.unique(reading.reason[bad], return_counts=True)
    reasons = {
        REASON_NAMES[code]: int(count) for code, count in zip(codes.tolist(), many.tolist(), strict=True)
    }
    if misfits:
        reasons["wrong_number_of_fields"] = len(misfits)
    has_lines = len(line.texts) > 1 or line.texts[0].as_py() != ""
    return Outcome(
        order_id=arrow.take(ids, order),
        line_id=arrow.take(line.texts, line.codes[order]) if has_lines else None,
        numbers=moved,
        bounds=np.concatenate(([0], np.cumsum(counts))),
        names=reading.names,
        records=reading.block.records,
        rows=reading.size + len(misfits),
        slips=_slips(reading, bad),
        reasons=reasons,
        read=_sums(reading, None),
        set_aside=_sums(reading, bad) if bad.size else {},
        damaged_id=damaged_id(ids),
    )


def _sums(reading: Reading, rows: NDArray[np.int64] | None) -> dict[tuple[int, str], int]:
    """Sum the amounts of all or of some rows by currency and column."""
    names = {*AMOUNTS, *AMOUNT_CURRENCY.values()}
    columns = {name: reading.numbers[name] for name in names}
    if rows is not None:
        columns = {name: one if isinstance(one, int) else one[rows] for name, one in columns.items()}
    return sums_by_currency(columns, reading.size if rows is None else rows.size)


def _slips(reading: Reading, bad: NDArray[np.int64]) -> Slips:
    """List the rows set aside with the text that was wrong."""
    misfits = reading.block.misfits
    values = np.full(len(bad), "", dtype=object)
    for code in np.unique(reading.column[bad]).tolist():
        here = np.flatnonzero(reading.column[bad] == code)
        values[here] = _texts(reading, code, bad[here])
    ordinals = [ordinal for ordinal, _ in misfits]
    mis = np.full(len(misfits), REASON_CODE["wrong_number_of_fields"], np.int8)
    texts = arrow.texts([*values.tolist(), *(text for _, text in misfits)])
    return Slips(
        np.full(len(texts), reading.setup.file, np.int16),
        np.concatenate((reading.block.ordinal[bad], np.array(ordinals, np.int32))),
        np.concatenate((reading.column[bad], np.zeros(len(misfits), np.int8))),
        np.concatenate((reading.reason[bad], mis)),
        shortened(texts),
    )


def _texts(reading: Reading, code: int, rows: NDArray[np.int64]) -> list[str]:
    """Give the texts of one column, by its code, in some rows."""
    name = COLUMN_NAMES[code]
    if not name:
        return [""] * len(rows)
    if name == "order_id":
        texts: list[str] = arrow.picked(reading.block.columns[name], rows)
        return texts
    coded = reading.coded(name)
    found: list[str] = arrow.picked(coded.texts, coded.codes[rows])
    return found
