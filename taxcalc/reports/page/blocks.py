"""Pieces of a report as the blocks of a page: plain data, escaped by the template and nowhere else.

A section that shows no table and no picture ends with the caution; a table or picture has its own.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from rich.text import Text

from taxcalc.reports.layout import FigureTable, Heading, Labelled, Listing, Title

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from taxcalc.reports.layout import Pieces
    from taxcalc.reports.pictures.picture import Picture

FILTERED: Final = 12
"""Rows from which on a table can be filtered."""
SHORT: Final = 26
"""Signs of the longest line of a cell that is not broken: a day, a place with its code."""
LEADS: Final = "link #"
"""Style of words that lead to a place on the page."""
_NUMBER: Final = re.compile(r"[0-9][0-9,]*(?:\.[0-9]+)?")
_DAY: Final = re.compile(r"\b[A-Z][a-z]{2} [0-9]{1,2}, [0-9]{4}\b")
_WORDS: Final = re.compile(r"[^a-z0-9]+")


class Run(NamedTuple):
    """A run of text in a cell; `target`: the place on the page that it leads to, or nothing."""

    words: str
    strong: bool
    target: str


class Cell(NamedTuple):
    """A cell: its lines, and what it is sorted by where that is not its text.

    `short`: it is never broken; `part`: it is a part of the row above.
    """

    lines: tuple[tuple[Run, ...], ...]
    key: str | None
    short: bool
    part: bool


class Block(NamedTuple):
    """A block of a section: which macro of the template draws it, and what it draws."""

    kind: str
    content: Any


@dataclass(frozen=True)
class Section:
    """A section of the page; `fold`: its tables are folded up on the screen."""

    name: str
    title: str
    blocks: list[Block] = field(default_factory=list)
    fold: bool = False


def sections(pieces: Pieces, caution: str, *, fold: bool = False) -> list[Section]:
    """Cut pieces at their headings; what comes before the first one is left out."""
    found: list[Section] = []
    for piece in pieces:
        if isinstance(piece, Heading):
            found.append(Section(named(piece.words), piece.words, fold=fold))
        elif found:
            found[-1].blocks.extend(_blocks(piece, found[-1], caution))
    for section in found:
        if not any(block.kind in ("table", "picture", "caution") for block in section.blocks):
            section.blocks.append(Block("caution", caution))
    return found


def named(words: str) -> str:
    """Make a name for an address inside the page."""
    return _WORDS.sub("-", words.lower()).strip("-")


def facts(pieces: Pieces) -> list[tuple[str, str]]:
    """Give the facts that stand before the first heading."""
    return [fact for piece in pieces if isinstance(piece, Labelled) for fact in piece.facts]


def _blocks(piece: object, section: Section, caution: str) -> Iterator[Block]:
    """Turn one piece into blocks; blank lines are left to the style of the page."""
    if isinstance(piece, FigureTable):
        yield Block("table", table(piece, section.title, _next(section)))
    elif isinstance(piece, Listing):
        yield Block("bullets", piece.items)
    elif isinstance(piece, Labelled):
        yield Block("facts", piece.facts)
    elif isinstance(piece, (Text, str)):
        words = str(piece).strip()
        if words:
            yield Block("caution" if words == caution else "paragraph", words.split("\n"))
    elif not isinstance(piece, Title):
        message = f"no block of a page is known for {type(piece).__name__}"
        raise TypeError(message)


def _next(section: Section) -> str:
    """Name the next table of a section."""
    return f"{section.name}-{sum(block.kind in ('table', 'picture') for block in section.blocks) + 1}"


def table(piece: FigureTable, title: str, name: str) -> dict[str, Any]:
    """Turn a table into what the template draws."""
    first, _, _ = piece.columns[0].title.partition("\n")
    return {
        "name": name,
        "title": title,
        "full": f"{title.rstrip('?')}: {first.lower()}",
        "columns": piece.columns,
        "rows": [
            [_cell(text, number=column.number) for text, column in zip(row, piece.columns, strict=True)]
            for row in piece.rows
        ],
        "below": [line for line in piece.below.split("\n") if line],
        "caution": piece.caution,
        "ordered": piece.ordered,
        "filtered": not piece.ordered and len(piece.rows) >= FILTERED,
    }


def pictured(pictures: Iterable[tuple[Picture, str]], title: str, caution: str) -> Section:
    """Make a section of pictures, each with the table of its numbers."""
    section = Section(named(title), title)
    for picture, drawing in pictures:
        numbers = table(picture.table, f"Numbers: {picture.subject}", f"{picture.name}-numbers")
        section.blocks.append(
            Block(
                "picture",
                {"picture": picture, "drawing": drawing, "table": numbers, "caution": picture.caution},
            )
        )
    if not section.blocks:
        section.blocks.extend([Block("paragraph", ["There is nothing to draw."]), Block("caution", caution)])
    return section


def _cell(text: Text, *, number: bool) -> Cell:
    """Cut a cell into lines and runs, and find what it is sorted by."""
    lines = tuple(tuple(_runs(line)) for line in text.split("\n", allow_blank=True) if line.plain.strip())
    short = all(len(line) <= SHORT for line in text.plain.split("\n"))
    return Cell(lines, _key(text.plain.split("\n")[0], number=number), short, text.plain.startswith(" "))


def _runs(line: Text) -> Iterator[Run]:
    """Give the parts of a line, each in one style."""
    edges = sorted({0, len(line), *(edge for span in line.spans for edge in (span.start, span.end))})
    for begin, end in pairwise(edges):
        words = line.plain[begin:end]
        styles = [str(span.style) for span in line.spans if span.start <= begin < span.end]
        target = next((style.removeprefix(LEADS) for style in styles if style.startswith(LEADS)), "")
        yield Run(words.lstrip() if begin == 0 else words, "bold" in styles, target)


def leading(words: str, target: str) -> Text:
    """Write words that lead to a place on the page, named as in its address."""
    return Text.assemble((words, f"{LEADS}{target}"))


def _key(line: str, *, number: bool) -> str | None:
    """Give a plain number or a day as ISO writes it; None where the words themselves are sorted."""
    if number:
        found = _NUMBER.search(line)
        if found is None:
            return ""
        sign = "-" if "-" in line[: found.start()] else ""
        return sign + found[0].replace(",", "")
    day = _DAY.search(line)
    if day:
        return datetime.strptime(day[0], "%b %d, %Y").date().isoformat()  # noqa: DTZ007 - a day has no zone
    return None
