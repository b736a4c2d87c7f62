"""What kind of file an order file is, and how a CSV file is laid out."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from taxcalc.intake.csv_blocks import Layout, one_record
from taxcalc.intake.header import missing, names_of, require_columns, unused_constants
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import BinaryIO

    from taxcalc.intake.column_map import ColumnMap

HEAD_BYTES = 1 << 18
HEADER_WITHIN = 30
"""Records at the top among which the header is looked for."""

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_BOM = b"\xef\xbb\xbf"

# first bytes → what the file looks like, and the mend
_NOT_CSV: tuple[tuple[bytes, str, str], ...] = (
    (
        b"PK\x03\x04",
        "a spreadsheet workbook or a zip archive",
        "Save the sheet as CSV UTF-8, or unpack the archive.",
    ),
    (b"PK\x05\x06", "an empty zip archive", "Unpack the archive and give the file inside."),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook", "Open it and save the sheet as CSV UTF-8."),
    (b"\x1f\x8b", "a gzip archive", "Unpack it first."),
    (b"%PDF", "a PDF document", "Export the orders as CSV."),
    (b"<!doctype html", "a web page", "Download the export itself; you may have to sign in again."),
    (b"<html", "a web page", "Download the export itself; you may have to sign in again."),
)
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


def require_csv(head: bytes, file: str) -> None:
    """Refuse what is no CSV in UTF-8: an empty file (E305), another kind of file (E307), UTF-16 (E308)."""
    if not head.strip(b" \t\r\n\xef\xbb\xbf"):
        raise refuse("E305", file=file)
    start = head.removeprefix(_BOM).lstrip()[:16].lower()
    for mark, kind, mend in _NOT_CSV:
        if head.startswith(mark) or start.startswith(mark.lower()):
            raise refuse("E307", file=file, kind=kind, how=mend)
    zeros = head[:200].count(0)
    if head.startswith(_UTF16) or zeros > len(head[:200]) // 4:
        raise refuse("E308", file=file)


def read_layout(source: BinaryIO, file: str, columns: ColumnMap) -> tuple[Layout, list[str]]:
    """Find the header and the delimiter; notes say what was decided. Raises E305 to E312."""
    source.seek(0)
    head = source.read(HEAD_BYTES)
    require_csv(head, file)
    only_cr = b"\n" not in head and b"\r" in head
    head = head.replace(b"\r", b"\n") if only_cr else head
    _require_utf8(head, file)
    layout = _best(head, columns, only_cr=only_cr)
    if layout is None:
        before, quote, _ = head.partition(b'"')
        raise refuse("E312", file=file, row=before.count(b"\n") + 1) if quote else refuse("E305", file=file)
    require_columns(file, layout.header, layout.names, columns)
    return layout, [*_notes(layout, file), *unused_constants(file, layout.names, columns)]


def _require_utf8(head: bytes, file: str) -> None:
    """Refuse a head that is not UTF-8 (E309); a character cut at the end of the head is none."""
    try:
        head.decode()
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data" and len(head) == HEAD_BYTES:
            return
        row = head[: error.start].count(b"\n") + 1
        raise refuse("E309", file=file, row=row, byte=f"{head[error.start]:02X}") from None


def _best(head: bytes, columns: ColumnMap, *, only_cr: bool) -> Layout | None:
    """Choose the first record that has all needed columns, else the fullest one, over all delimiters."""
    best, best_score = None, (-1, -1, -1)
    for delimiter in DELIMITERS:
        for row, at, cells in _first_records(head, delimiter):
            names = names_of(cells, columns)
            complete = not missing(names, columns)
            score = (int(complete), sum(name is not None for name in names), min(len(cells), 2) - (row > 1))
            if score > best_score:
                best_score = score
                best = Layout(delimiter, tuple(cells), names, row, at, only_cr)
    return best


def _first_records(head: bytes, delimiter: str) -> Iterator[tuple[int, int, list[str]]]:
    """Give row number, position after it and cells of the first records that are not blank or `sep=`."""
    at = len(_BOM) if head.startswith(_BOM) else 0
    for row in range(1, HEADER_WITHIN + 1):
        match = one_record(delimiter).match(head, at)
        if match is None or match.end() == at:
            return
        at = match.end()
        text = match[1].decode(errors="replace")
        if text.strip() and not text.strip().strip('"').startswith("sep="):
            cells = next(csv.reader([text.replace("\r", " ").replace("\n", " ")], delimiter=delimiter))
            yield row, at, cells


def _notes(layout: Layout, file: str) -> list[str]:
    """Say what was decided about the layout."""
    notes = [f"{file}: fields are separated by {DELIMITERS[layout.delimiter]}."]
    if layout.header_row > 1:
        notes.append(
            f"{file}: the header was found in row {layout.header_row}; the rows above it are no orders."
        )
    others = [cell.strip() for cell, name in zip(layout.header, layout.names, strict=True) if name is None]
    if others:
        notes.append(f"{file}: columns not used: {', '.join(others)}.")
    return notes
