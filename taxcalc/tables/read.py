"""One CSV file of a table → its cells by column, parsed, with what is wrong in it."""

from __future__ import annotations

import csv
import difflib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from taxcalc.messages import complain
from taxcalc.tables import damage
from taxcalc.tables.parse import BLANKS, Slip, parse_column
from taxcalc.tables.schema import DATED, SOURCED, Field, Schema

if TYPE_CHECKING:
    from taxcalc.errors import Complaint

BACK = Field("back_to_shipped", "yes_no", "yes: from this day the shipped rows hold again", required=False)


@dataclass
class Cells:
    """The rows of one file by column, `text` as written, `values` parsed; `rows` as a spreadsheet counts."""

    schema: Schema
    label: str
    own: bool
    rows: list[int] = field(default_factory=list)
    text: dict[str, list[str]] = field(default_factory=dict)
    values: dict[str, list[object]] = field(default_factory=dict)
    complaints: list[Complaint] = field(default_factory=list)

    def flag(self, name: str) -> list[bool]:
        """Give a yes/no column; all no where the table has no such column."""
        return (
            [value is True for value in self.values[name]]
            if name in self.values
            else [False] * len(self.rows)
        )

    def blame(self, message_id: str, at: int, column: str, **fields: object) -> None:
        """Complain about the cell of `column` in the row at position `at`."""
        value = self.text[column][at]
        self.complaints.append(
            complain(message_id, file=self.label, row=self.rows[at], column=column, value=value, **fields),
        )


def fields_of(schema: Schema, *, own: bool = False) -> tuple[Field, ...]:
    """Give every column a file of this table may have."""
    dated = DATED if schema.dated else ()
    sourced = SOURCED if schema.sourced else ()
    back = (BACK,) if own and schema.dated else ()
    return (*schema.fields, *dated, *sourced, *back)


def read_cells(schema: Schema, content: bytes, label: str, *, own: bool) -> Cells:
    """Read the bytes of one file; `label` is its name in complaints, which are collected, not raised."""
    cells = Cells(schema, label, own)
    fields = fields_of(schema, own=own)
    cells.text = {each.name: [] for each in fields}
    cells.values = {each.name: [] for each in fields}
    records = _records(content, fields, cells)
    if records and _header_is_good(records[0], fields, cells):
        _take_rows(records, cells)
        _parse(fields, cells)
    return cells


def _records(content: bytes, fields: tuple[Field, ...], cells: Cells) -> list[list[str]]:
    """Split the file into records of trimmed cells."""
    try:
        records = damage.split(content.decode("utf-8-sig"), {each.name for each in fields})
    except (UnicodeDecodeError, csv.Error) as error:
        cells.complaints.append(complain("E535", file=cells.label, because=str(error)))
        return []
    if not records:
        cells.complaints.append(complain("E535", file=cells.label, because="the file is empty"))
    return records


def _header_is_good(header: list[str], fields: tuple[Field, ...], cells: Cells) -> bool:
    """Check the names in the header; their order is free, and optional columns may be left out."""
    known = [each.name for each in fields]
    before = len(cells.complaints)
    for name in header:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f" The nearest known column is {near[0]}." if near else ""
            cells.complaints.append(complain("E530", file=cells.label, row=1, column=name, hint=hint))
        elif header.count(name) > 1:
            cells.complaints.append(
                complain("E530", file=cells.label, row=1, column=name, hint=" It stands twice.")
            )
    for each in fields:
        if each.required and each.name not in header:
            cells.complaints.append(complain("E529", file=cells.label, row=1, column=each.name))
    return len(cells.complaints) == before


def _take_rows(records: list[list[str]], cells: Cells) -> None:
    """Sort the cells of all rows into their columns; rows without any text are left out."""
    header = records[0]
    for number, record in enumerate(records[1:], start=2):
        if not any(record):
            continue
        if len(record) != len(header):
            cells.complaints.append(
                complain("E531", file=cells.label, row=number, got=len(record), expected=len(header)),
            )
            continue
        cells.rows.append(number)
        for name, cell in zip(header, record, strict=True):
            cells.text[name].append(cell)
    for column in cells.text.values():
        if len(column) < len(cells.rows):
            column.extend([""] * len(cells.rows))


def _parse(fields: tuple[Field, ...], cells: Cells) -> None:
    """Parse every column; a slip becomes a complaint and its value a blank."""
    currencies = cells.text.get("currency", [""] * len(cells.rows))
    for each in fields:
        _complain_of_damage(each, cells)
        cells.text[each.name] = damage.undone(each, cells.text[each.name])
        values = parse_column(each, cells.text[each.name], currencies)
        for at, value in enumerate(values):
            if isinstance(value, Slip):
                values[at] = BLANKS[each.kind]
                cells.blame(value.id, at, each.name, because=value.because)
        cells.values[each.name] = values


def _complain_of_damage(field: Field, cells: Cells) -> None:
    """Complain about texts that a spreadsheet changed beyond repair."""
    if field.kind not in {"text", "pattern"}:
        return
    texts = cells.text[field.name]
    spoilt = damage.spoilt(field, texts)
    for at, text in enumerate(texts if spoilt else ()):
        if text in spoilt:
            cells.blame("E550", at, field.name, because=spoilt[text])
