"""The explanation of one order as text: each line step by step, the table rows behind it, and what was set aside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from rich.text import Text

from taxcalc.caution import TITLE
from taxcalc.reports.explain_line import Said, in_short, one_line
from taxcalc.reports.layout import STRONG, bullets, heading, labelled, paragraph
from taxcalc.reports.words import day, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Pieces

Answer = dict[str, Any]
BASIS: Final = {
    "official": "official: read in the official text",
    "secondary": "secondary: read in a copy or a summary",
    "unconfirmed": "UNCONFIRMED: from memory; look it up before you rely on it",
}


def pieces(answer: Answer) -> Pieces:
    """Draw the whole explanation."""
    numbers = {row["row"]: number for number, row in enumerate(answer["rows"], start=1)}
    result = [*_head(answer), *(in_short(answer["lines"], answer["sum"]) if answer["lines"] else [])]
    before: Said = {}
    for line in answer["lines"]:
        result += one_line(line, numbers, before)
    if answer["lines"]:
        result += [*heading("Checked"), paragraph(_checked(answer))]
    return [*result, *_set_aside(answer), *_rows(answer), "", paragraph(answer["caution"], "bold")]


def title(words: str) -> Pieces:
    """Write the top line, underlined."""
    whole = f"{words}: {TITLE}"
    return [Text(whole, style=STRONG), Text("=" * len(whole), style=STRONG)]


def _head(answer: Answer) -> Pieces:
    """Say of which order, in which files, by which tables."""
    seller = answer["seller"]
    facts = [
        ("Seller", f"{printable(seller['name'])}, {printable(seller['region'] or seller['country'])}"),
        (
            "Lines",
            f"{several(len(answer['lines']), 'line')} used, {several(len(answer['set_aside']), 'row')} set aside",
        ),
        ("Files read", ", ".join(map(printable, answer["files"]))),
        ("Seen from", day(answer["as_of"], "long")),
        ("Rates and limits", f"version {answer['tables']['version']}"),
    ]
    return [*title(f"Order {printable(answer['order_id'])}"), *labelled(facts)]


def _checked(answer: Answer) -> str:
    """Say that the arithmetic comes out, and how it rounds."""
    return f"{answer['check']['words']} Rounding: {answer['rounding']}."


def _set_aside(answer: Answer) -> Pieces:
    """List rows of the order that are in no figure, and rows of the files that cannot be given to any order."""
    found, lost = _of_this_order(answer), answer["rows_of_no_order"]
    if not lost:
        return found
    words = (
        f"{several(lost, 'row')} of the files could not be given to any order, because the number of fields is wrong; "
        "`taxcalc intake` lists them."
    )
    return [*found, paragraph(f"\n{words}")]


def _of_this_order(answer: Answer) -> Pieces:
    """List the rows of this order that were set aside."""
    rows = answer["set_aside"]
    if not rows:
        return []
    words = [
        f"{printable(row['file'])}, row {row['row']}{_cell(row)}: {row['words']}. {row['mend']}"
        for row in rows
    ]
    return [
        *heading("Rows of this order that are in no figure"),
        paragraph("They were not used, each for its reason; once they are mended in the export, run again."),
        *bullets(words),
    ]


def _cell(row: Answer) -> str:
    """Name the cell at fault."""
    if not row["column"]:
        return ""
    return f", column {printable(row['column'])}, value {printable(row['value'])!r}"


def _rows(answer: Answer) -> Pieces:
    """List the table rows, by the numbers with which the steps name them."""
    if not answer["rows"]:
        return []
    listed = [(f"[{number}]", _row(row)) for number, row in enumerate(answer["rows"], start=1)]
    return [*heading("The table rows behind it"), *labelled(listed)]


def _row(row: Answer) -> str:
    """Write one table row: what it says, from when until when, on whose word, checked when."""
    whose = "your own row" if row["own"] else "shipped row"
    source = row["source"]
    until = f" to {day(row['valid_until'])}" if row["valid_until"] else " on"
    holds = f"holds from {day(row['valid_from'])}{until}; " if row["valid_from"] else ""
    checked = f"; checked on {day(row['checked_on'])}" if row["checked_on"] else ""
    lines = [
        f"{printable(row['title'])} ({printable(row['row'])})",
        printable("; ".join(row["says"])),
        f"{holds}{whose}; {BASIS[row['basis']]}{checked}",
        printable(": ".join(filter(None, (source["publisher"], source["title"])))) if source else "",
        printable(source["link"]) if source else "",
    ]
    return "\n".join(filter(None, lines))
