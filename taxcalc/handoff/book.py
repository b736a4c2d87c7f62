"""The workbook: sheets as an accountant's workpapers, totals as live formulas beside the program's own figures.

One table a sheet, title in A1, the caution above every table and at the foot of every printed page, header rows frozen and
filterable, nothing hidden, no macro, no link to another file. Text is written as text, so that nothing in it is run.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

import xlsxwriter
from xlsxwriter.utility import xl_range, xl_rowcol_to_cell

from taxcalc.caution import TITLE
from taxcalc.money import CURRENCIES, EXPONENTS
from taxcalc.reports.csv_files import disarmed

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from taxcalc.handoff.sheet import Cell, Head, Kind, Row, Sheet
    from taxcalc.reports.pictures.picture import Picture

FONT: Final = {"font_name": "Arial", "font_size": 10, "valign": "top"}
WIDTH: Final[dict[Kind, int]] = {
    "text": 20,
    "long": 60,
    "day": 11,
    "count": 9,
    "money": 13,
    "row_money": 13,
    "percent": 12,
    "number": 12,
}
WIDTHS: Final = {
    "Place": 10,
    "Tick": 6,
    "Regime": 10,
    "Currency": 9,
    "Quarter": 10,
    "Status": 10,
    "Measure": 13,
    "Duty": 17,
    "Why": 46,
    "Rests on": 30,
    "Reason": 26,
    "What": 30,
    "Row": 36,
    "Table": 20,
    "Link": 40,
}
"""Columns whose width their title tells better than their kind, in characters."""
LINE: Final = 13.5
"""Points that a line of text needs."""
ROOM: Final = 12
"""Characters of running text that fit where ten digits do."""
PAGE: Final = 190
"""Characters that fit across a page in landscape and can still be read."""
PICTURES_TAB: Final = "Z-pictures"
ROWS_AN_INCH: Final = 5
"""Rows of a sheet's usual height that an inch takes, rounded up."""
PICTURE_SCALE: Final = 80
"""Percent at which the tallest picture fits on one sheet of paper."""
MOST_IN_CELL: Final = 32_000
NUMBERS: Final = ("money", "row_money", "count", "percent", "number")
FOOT: Final = "Estimate only, not tax or legal advice and not a return: have a licensed professional check every figure."


def write_book(sheets: Iterable[Sheet], path: Path, made_on: date, pictures: Iterable[Picture] = ()) -> None:
    """Write the sheets; `made_on` stands as the day of creation, so that the same sheets give the same workbook."""
    book = xlsxwriter.Workbook(
        str(path), {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    )
    created = datetime(made_on.year, made_on.month, made_on.day, tzinfo=UTC).replace(tzinfo=None)
    book.set_properties({"title": TITLE, "author": "taxcalc", "comments": FOOT, "created": created})
    book.set_calc_mode("auto")
    styles = Styles(book)
    for sheet in sheets:
        _write(book, sheet, styles)
    _pictures(book, list(pictures), styles)
    book.close()


class Styles:
    """The formats of a workbook, each made once."""

    def __init__(self, book: Workbook) -> None:
        """Remember the workbook."""
        self._book = book
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}

    def of(self, **extra: Any) -> Format:  # noqa: ANN401 - properties of a format
        """Give a format with some properties on top of the plain one."""
        key = tuple(sorted(extra.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format({**FONT, **extra})
        return self._made[key]

    def cell(self, kind: Kind, currency: str, **extra: Any) -> Format:  # noqa: ANN401 - properties of a format
        """Give the format of a cell by its kind."""
        if kind == "money":
            decimals = int(EXPONENTS[CURRENCIES.index(currency)])
            shown = "#,##0" + (f".{'0' * decimals}" if decimals else "")
            return self.of(num_format=f"{shown};-{shown}", **extra)
        formats = {"day": "yyyy-mm-dd", "count": "#,##0", "percent": "0.0##", "number": "General"}
        wrap: dict[str, Any] = {"text_wrap": True} if kind in ("long", "text") else {}
        if kind == "day":
            wrap = {"align": "center"}
        return self.of(num_format=formats.get(kind, "@"), **wrap, **extra)


def _write(book: Workbook, sheet: Sheet, styles: Styles) -> None:
    """Write one sheet."""
    page = book.add_worksheet(sheet.tab[:31])
    page.write_string(0, 0, _text(sheet.title), styles.of(bold=True, font_size=14))
    at = 1
    for line in (*sheet.about, sheet.caution):
        page.write_string(at, 0, _text(line), styles.of())
        at += 1
    head = at + 1
    for column, one in enumerate(sheet.heads):
        side = "right" if one.kind in NUMBERS else "center" if one.kind == "day" else "left"
        page.write_string(head, column, one.title, styles.of(bold=True, bottom=1, text_wrap=True, align=side))
        page.set_column(column, column, _width(one))
    page.set_row(head, LINE * max(_lines(one.title, one) for one in sheet.heads))
    if not sheet.rows:
        page.write_string(head + 1, 0, _text(sheet.empty), styles.of())
    for number, row in enumerate(sheet.rows):
        page.set_row(
            head + 1 + number,
            LINE * max(_lines(cell, one) for cell, one in zip(row, sheet.heads, strict=True)),
        )
        for column, (one, value) in enumerate(zip(sheet.heads, row, strict=True)):
            kind, currency = _looks(sheet, row, value, one.kind)
            _put(page, head + 1 + number, column, value, kind, styles.cell(kind, currency))
    last = head + max(len(sheet.rows), 1)
    if sheet.rows:
        page.autofilter(head, 0, last, len(sheet.heads) - 1)
    after = _totals(book, page, sheet, (head + 1, last), styles)
    for line in sheet.notes:
        page.write_string(after, 0, _text(line), styles.of())
        after += 1
    page.freeze_panes(head + 1, 1)
    _print_setup(page, sheet, head)


def _width(head: Head) -> int:
    """Give the width of a column in characters."""
    return WIDTHS.get(head.title, WIDTH[head.kind])


def _lines(cell: Cell, head: Head) -> int:
    """Estimate the lines that a cell needs once its text is wrapped."""
    if not isinstance(cell, str):
        return 1
    room = _width(head) * ROOM // 10
    return min(max(sum(-(-max(len(part), 1) // room) for part in cell.split("\n")), 1), 30)


def _print_setup(page: Worksheet, sheet: Sheet, head: int) -> None:
    """Set a sheet up for paper: landscape, one page wide, the heading and caution on every page."""
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(max(1, -(-sum(_width(one) for one in sheet.heads) // PAGE)), 0)
    page.repeat_rows(0, head)
    page.repeat_columns(0)
    page.set_header(f"&L{_code(TITLE)}&R{_code(sheet.tab)}")
    page.set_footer(f"&L{_code(FOOT)}&R&P / &N")
    page.ignore_errors({"number_stored_as_text": "A1:XFD1048576"})


def _code(text: str) -> str:
    """Write text for a header or footer, where & begins a code."""
    return text.replace("&", "&&")


def _looks(sheet: Sheet, row: Row, value: Cell, kind: Kind) -> tuple[Kind, str]:
    """Give the kind and the currency that a cell is written by; an amount without a currency is a count."""
    if kind == "row_money":
        currency = sheet.currency_of(row)
        return ("money", currency) if currency else ("count", "")
    return ("count" if kind == "money" and isinstance(value, int) else kind), sheet.currency


def _put(page: Worksheet, row: int, column: int, value: Cell, kind: Kind, look: Format) -> None:
    """Write one cell by its kind; what is missing stays empty."""
    if value is None or value == "":
        page.write_blank(row, column, None, look)
    elif kind == "day":
        page.write_datetime(row, column, _moment(str(value)), look)
    elif kind in NUMBERS:
        page.write_number(row, column, value if isinstance(value, int) else Decimal(str(value)), look)
    else:
        page.write_string(row, column, _text(str(value)), look)


def _moment(iso: str) -> datetime:
    """Read a day."""
    day = date.fromisoformat(iso[:10])
    return datetime(day.year, day.month, day.day, tzinfo=UTC).replace(tzinfo=None)


def _text(text: str) -> str:
    """Make a text harmless and short enough for a cell."""
    return disarmed(text)[:MOST_IN_CELL]


def _totals(book: Workbook, page: Worksheet, sheet: Sheet, span: tuple[int, int], styles: Styles) -> int:
    """Add columns up by formula, with the program's own total and the difference under it; give the row after them."""
    first, last = span
    summed = [(at, head) for at, head in enumerate(sheet.heads) if head.total is not None]
    if not summed or not sheet.rows:
        return last + 2
    for number, label in enumerate(("Total (formula)", "Total (program)", "Difference")):
        page.write_string(last + 1 + number, 0, label, styles.of(bold=True, top=int(number == 0)))
    for at, head in summed:
        look = styles.cell(head.kind, sheet.currency, bold=True)
        cells = xl_range(first, at, last, at)
        total = sum((Decimal(str(row[at] or 0)) for row in sheet.rows), Decimal(0))
        page.write_formula(
            last + 1, at, f"=SUM({cells})", styles.cell(head.kind, sheet.currency, bold=True, top=1), total
        )
        page.write_number(last + 2, at, Decimal(str(head.total)), look)
        top, below = (xl_rowcol_to_cell(last + row, at) for row in (1, 2))
        decimals = int(EXPONENTS[CURRENCIES.index(sheet.currency)]) if head.kind == "money" else 0
        page.write_formula(
            last + 3, at, f"=ROUND({top}-{below},{decimals})", look, total - Decimal(str(head.total))
        )
        if head.name:
            book.define_name(
                head.name,
                f"='{sheet.tab[:31]}'!{xl_rowcol_to_cell(last + 1, at, row_abs=True, col_abs=True)}",
            )
    return last + 5


def _pictures(book: Workbook, pictures: list[Picture], styles: Styles) -> None:
    """Put the pictures on a sheet of their own, one below the other, each with its words for those who do not see it."""
    if not pictures:
        return
    from io import BytesIO  # noqa: PLC0415 - only here

    from taxcalc.reports.pictures import DPI, png  # noqa: PLC0415 - heavy

    page = book.add_worksheet(PICTURES_TAB)
    page.write_string(0, 0, "Pictures", styles.of(bold=True, font_size=14))
    page.write_string(1, 0, FOOT, styles.of())
    row, begins = 3, []
    for picture in pictures:
        begins.append(row)
        data = png(picture)
        page.insert_image(
            row, 0, f"{picture.name}.png", {"image_data": BytesIO(data), "description": picture.alt}
        )
        height = int.from_bytes(data[20:24], "big")  # where a PNG says it
        row += height * ROWS_AN_INCH // DPI + 3
    page.set_landscape()
    page.set_paper(9)
    page.set_print_scale(PICTURE_SCALE)
    page.set_h_pagebreaks(begins[1:])
    page.set_header(f"&L{_code(TITLE)}&R{_code(PICTURES_TAB)}")
    page.set_footer(f"&L{_code(FOOT)}&R&P / &N")
