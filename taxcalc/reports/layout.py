"""The pieces of the report: headings, paragraphs, and tables that cannot be made without their caution.

Only plain characters are drawn and texts are never read as markup, so that a pipe, an old terminal and a
hostile file name all show the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from rich import box
from rich.constrain import Constrain
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from taxcalc.reports.words import money

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from rich.console import RenderableType

    Pieces = list[RenderableType]
    Cell = str | Text

LINES = box.Box("    \n    \n -- \n    \n -- \n -- \n    \n    \n", ascii=True)
"""A rule under the header and nothing else: the white space between columns does the rest."""

DIM, STRONG = "dim", "bold"
CAUTION_STYLE = "italic"


class Column(NamedTuple):
    """A column of a table; numbers stand on the right and are never cut."""

    title: str
    number: bool = False


def heading(words: str) -> Pieces:
    """Start a section: bold words with a line of dashes, at most one, which also shows without colour."""
    line = Text("=" * len(words), style=STRONG, no_wrap=True, overflow="crop")
    return [
        Text(""),
        Text(words, style=STRONG),
        Constrain(line),
    ]  # printed bare, it would be wrapped all the same


def paragraph(words: str, style: str = "") -> Text:
    """Write running text; it is wrapped to the width of the screen."""
    return Text(words, style=style)


def bullets(items: Iterable[str]) -> Pieces:
    """Write a list, each item with a hanging indent."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(width=1)
    table.add_column(overflow="fold")
    for item in items:
        table.add_row("-", Text(item))
    return [table]


def labelled(facts: Iterable[tuple[str, str]]) -> Pieces:
    """Write facts beside their labels."""
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for label, words in facts:
        table.add_row(label, Text(words))
    return [table]


def figures(
    columns: Sequence[Column],
    rows: Iterable[Sequence[Cell]],
    caution: str,
    below: str = "",
    *,
    gaps: bool = False,
) -> Pieces:
    """Draw a table with its caution under it; `below` stands between the two, `gaps` parts the rows."""
    cells = [[cell if isinstance(cell, Text) else Text(cell) for cell in row] for row in rows]
    table = Table(
        box=LINES,
        show_edge=False,
        pad_edge=False,
        padding=(0, 1),
        collapse_padding=True,
        header_style=STRONG,
    )
    for position, column in enumerate(columns):
        _add(table, column, [row[position] for row in cells])
    for number, row in enumerate(cells):
        if gaps and number:
            table.add_row()
        table.add_row(*row)
    under = [Text(""), Text(below)] if below else []
    return [Text(""), table, *under, Padding(Text(caution, style=CAUTION_STYLE), (0, 0, 0, 2))]


def _add(table: Table, column: Column, cells: Sequence[Text]) -> None:
    """Add a column that never breaks inside a number or a word of its title, however narrow the screen."""
    needed = [Text(column.title), *(cells if column.number else ())]
    table.add_column(
        Text(column.title),
        justify="right" if column.number else "left",
        overflow="fold",
        min_width=max(_longest_word(cell) for cell in needed),
        vertical="top",
    )


def _longest_word(cell: Text) -> int:
    """Give the width below which a cell would have to break inside a word."""
    return max((len(word) for word in cell.plain.split()), default=1)


def spread(amounts: Mapping[str, str], currency: str) -> Text:
    """Write low, expected and high: the expected amount, and below it the range where there is one."""
    low, expected, high = (money(amounts[part], currency) for part in ("low", "expected", "high"))
    if low == expected == high:
        return Text(expected)
    return Text.assemble((expected, STRONG), f"\n{low} to {high}")


def stacked(first: str, *more: str) -> Text:
    """Write a cell of several lines: the first one strong, the others indented, empty ones left out."""
    return Text.assemble((first, STRONG), *(f"\n  {line}" for line in more if line))
