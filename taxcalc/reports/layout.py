"""The pieces of a report: headings, paragraphs, lists, and tables that cannot be made without their caution.

A piece knows what it is and how it is drawn on a terminal; the page (`reports.page`) writes the same pieces as HTML, so
that nothing is said twice. Only plain characters are drawn and texts are never read as markup, so that a pipe, an old
terminal and a hostile file name all show the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from rich import box
from rich.constrain import Constrain
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from taxcalc.reports.words import money

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from rich.console import Console, ConsoleOptions, RenderableType

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


@dataclass(frozen=True)
class Title:
    """What a report is called, over a line."""

    words: str

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[RenderableType]:
        """Draw it on a terminal."""
        yield Text(self.words, style=STRONG)
        yield Text("=" * len(self.words), style=STRONG)


@dataclass(frozen=True)
class Heading:
    """The title of a section."""

    words: str

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[RenderableType]:
        """Draw bold words over a line of dashes, at most one, which also shows without colour."""
        line = Text("=" * len(self.words), style=STRONG, no_wrap=True, overflow="crop")
        # Printed bare, the line would be wrapped all the same.
        yield from (Text(""), Text(self.words, style=STRONG), Constrain(line))


@dataclass(frozen=True)
class Listing:
    """A list of sentences."""

    items: tuple[str, ...]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[RenderableType]:
        """Draw each item with a hanging indent."""
        table = Table.grid(padding=(0, 1, 0, 0))
        table.add_column(width=1)
        table.add_column(overflow="fold")
        for item in self.items:
            table.add_row("-", Text(item))
        yield table


@dataclass(frozen=True)
class Labelled:
    """Facts beside their labels."""

    facts: tuple[tuple[str, str], ...]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[RenderableType]:
        """Draw two columns, the labels never broken."""
        table = Table.grid(padding=(0, 2, 0, 0))
        table.add_column(no_wrap=True)
        table.add_column(overflow="fold")
        for label, words in self.facts:
            table.add_row(label, Text(words))
        yield table


@dataclass(frozen=True)
class FigureTable:
    """A table of figures with its caution; `below` stands between the two, `gaps` parts the rows.

    `ordered`: a row belongs to the one above it or sums others up, so that no reader should sort the rows.

    Raises `ValueError` where the caution is empty.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Text, ...], ...]
    caution: str
    below: str = ""
    gaps: bool = False
    ordered: bool = False

    def __post_init__(self) -> None:
        """Refuse figures that would be shown without their caution."""
        if not self.caution.strip():
            message = f"the table of {self.columns[0].title!r} carries no caution, so it must not be shown"
            raise ValueError(message)

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[RenderableType]:
        """Draw the table, what stands below it, and the caution."""
        yield Text("")
        yield self._drawn()
        if self.below:
            yield from (Text(""), Text(self.below))
        yield Padding(Text(self.caution, style=CAUTION_STYLE), (0, 0, 0, 2))

    def _drawn(self) -> Table:
        """Draw the table alone."""
        table = Table(
            box=LINES,
            show_edge=False,
            pad_edge=False,
            padding=(0, 1),
            collapse_padding=True,
            header_style=STRONG,
        )
        for position, column in enumerate(self.columns):
            _add(table, column, [row[position] for row in self.rows])
        for number, row in enumerate(self.rows):
            if self.gaps and number:
                table.add_row()
            table.add_row(*row)
        return table


def heading(words: str) -> Pieces:
    """Start a section."""
    return [Heading(words)]


def paragraph(words: str, style: str = "") -> Text:
    """Write running text; it is wrapped to the width of the screen."""
    return Text(words, style=style)


def bullets(items: Iterable[str]) -> Pieces:
    """Write a list."""
    return [Listing(tuple(items))]


def labelled(facts: Iterable[tuple[str, str]]) -> Pieces:
    """Write facts beside their labels."""
    return [Labelled(tuple(facts))]


def figures(
    columns: Sequence[Column],
    rows: Iterable[Sequence[Cell]],
    caution: str,
    below: str = "",
    *,
    gaps: bool = False,
    ordered: bool = False,
) -> Pieces:
    """Write a table with its caution under it; `below` stands between the two, `gaps` parts the rows."""
    return [figure_table(columns, rows, caution, below, gaps=gaps, ordered=ordered)]


def figure_table(
    columns: Sequence[Column],
    rows: Iterable[Sequence[Cell]],
    caution: str,
    below: str = "",
    *,
    gaps: bool = False,
    ordered: bool = False,
) -> FigureTable:
    """Make the table of `figures` alone."""
    cells = tuple(tuple(cell if isinstance(cell, Text) else Text(cell) for cell in row) for row in rows)
    return FigureTable(tuple(columns), cells, caution, below, gaps, ordered)


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
