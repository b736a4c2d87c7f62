"""Rows of an order that were set aside, found again in the files: which, why, and how to mend them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc.arrow import positions_of
from taxcalc.caution import CAUTION
from taxcalc.intake.column_map import ColumnMap, read_column_map
from taxcalc.intake.csv_blocks import BrokenQuotes, parse, pieces
from taxcalc.intake.layout import read_layout
from taxcalc.set_aside import REASONS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.assessment import Assessment
    from taxcalc.intake import InputFile
    from taxcalc.intake.csv_blocks import Layout

_PARQUET = b"PAR1"


def set_aside_rows(assessment: Assessment, order_id: str, columns: Path | None) -> list[dict[str, Any]]:
    """List the rows of an order that were set aside: file, row, column, value, reason, words, mend.

    Rows are found by their order number: those that only whole orders ruled out are still held, the others are looked up
    in the files. A row with a wrong number of fields has no cell that could be trusted, so that it belongs to no order.
    """
    intake = assessment.run.intake
    if not intake.set_aside.rows:
        return []
    frame = assessment.set_aside
    wanted = {*_held(assessment, order_id), *_in_files(intake.files, set(frame["file"]), order_id, columns)}
    found = []
    for row in frame.to_dict("records"):
        if (row["file"], row["row"]) in wanted:
            cells = {str(name): value for name, value in row.items()}
            found.append({**cells, "words": REASONS[cells["reason"]].words, "caution": CAUTION})
    return found


def _held(assessment: Assessment, order_id: str) -> Iterator[tuple[str, int]]:
    """Give file and row of every line of the order that was read, used or not."""
    run = assessment.run
    for bucket in run.buckets:
        lines = run.intake.spool.read(bucket)
        for at in positions_of(lines.order_id, [order_id]).tolist():
            yield run.intake.files[int(lines["file"][at])].name, int(lines["row"][at])


def _in_files(
    files: list[InputFile], names: set[str], order_id: str, columns: Path | None
) -> Iterator[tuple[str, int]]:
    """Give file and row of every row with the order number, in the CSV files of which rows were set aside."""
    column_map = read_column_map(columns)
    for file in files:
        path = Path(file.path)
        if file.name in names and file.path and path.is_file():
            for row in _rows(path, order_id, column_map):
                yield file.name, row


def _rows(path: Path, order_id: str, column_map: ColumnMap) -> list[int]:
    """List the rows of a CSV file with an order number, as a spreadsheet numbers them; none for other kinds of files."""
    with path.open("rb") as source:
        if source.read(len(_PARQUET)) == _PARQUET:
            return []
        layout, _ = read_layout(source, path.name, column_map)
        try:
            return list(_matching(source, layout, order_id, prove=False))
        except BrokenQuotes:
            return list(_matching(source, layout, order_id, prove=True))


def _matching(source: Any, layout: Layout, order_id: str, *, prove: bool) -> Iterator[int]:  # noqa: ANN401 - a file
    """Walk the file block by block; raises `BrokenQuotes` where a cut was doubtful."""
    before = layout.header_row
    for piece in pieces(source, layout, layout.data_at, prove=prove):
        if isinstance(piece, BrokenQuotes):
            raise piece
        block = parse(piece, layout)
        at = positions_of(block.columns["order_id"], [order_id])
        yield from (np.asarray(block.ordinal)[at] + before + 1).tolist()
        before += block.records
