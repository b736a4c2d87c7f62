"""The page of a review: the sections of the review in the reading order of a page, with what only a page has.

The sections are those of `reports.terminal`, found by their names: one that is not named in `BEFORE` or `AFTER` takes its
place between the two by itself. So a new section of the review is on the page without a word here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports import review_head
from taxcalc.reports.page import parts
from taxcalc.reports.page.blocks import Block, Section, facts, named, pictured, sections
from taxcalc.reports.page.render import render
from taxcalc.reports.pictures import pictures, svg
from taxcalc.reports.screen import WIDEST
from taxcalc.reports.terminal import SECTIONS
from taxcalc.reports.words import printable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.caution import Figures
    from taxcalc.reports.pictures.picture import Picture

    Record = dict[str, Any]

BEFORE: Final = (
    *("tie_out", "totals", "findings", "pictures", "places", "limits"),
    *("since_duty", "look_back", "interest_and_penalties", "fulfiller", "documents", "one_stop_shop"),
)
AFTER: Final = ("set_aside", "weak_rows", "notes", "rests_on", "sources")
"""Names of sections in their order on the page; those of the review and those of the page."""
FOLDED: Final = ("weak_rows", "sources")
OTHERWISE: Final = {"places": parts.places, "limits": parts.limits, "weak_rows": parts.weak_rows}
"""Sections that the page has in a form of its own, or alone."""


def review_page(record: Record, set_aside: Figures, order: dict[str, Any] | None = None) -> str:
    """Write the page of a review; the same record gives the same bytes. Raises `TypeError` for anything but `Figures`.

    `order` is a usual order, as `Assessment.usual_order` has it, to be drawn.
    """
    drawn = pictures(record, order)
    found = [section for name in _order() for section in _sections(name, record, set_aside, drawn)]
    seller = printable((record.get("seller") or {}).get("name") or "")
    return render(
        "review.html",
        {
            "title": record["title"],
            "seller": seller,
            "facts": facts(review_head.title(record)),
            "sections": found,
            "caution": record["caution"],
            "program": record.get("program") or {},
        },
    )


def _order() -> list[str]:
    """Give the names of all sections in the order of the page; the title stands above them."""
    known = {section.__name__ for section, _short in SECTIONS} - {"title"}
    placed = {*BEFORE, *AFTER}
    new = [section.__name__ for section, _short in SECTIONS if section.__name__ in known - placed]
    return [*BEFORE, *new, *AFTER]


def _sections(name: str, record: Record, set_aside: Figures, drawn: list[Picture]) -> Iterator[Section]:
    """Make what one name stands for."""
    caution = record["caution"]
    if name == "pictures":
        yield pictured(((each, svg(each)) for each in drawn), "Pictures", caution)
    elif name == "set_aside":
        yield from sections(parts.set_aside(set_aside), caution)
    elif name == "rests_on":
        yield _rests_on(record)
    elif name == "sources":
        yield _sources(record)
    elif name in OTHERWISE:
        yield from sections(OTHERWISE[name](record), caution, fold=name in FOLDED)
    else:
        (section,) = (section for section, _short in SECTIONS if section.__name__ == name)
        yield from sections(section(record, WIDEST), caution)


def _rests_on(record: Record) -> Section:
    """List the table rows behind each place, and lead from each to its papers."""
    title, found = "What the figures rest on", record.get("rests_on") or {"places": {}, "rows": {}}
    papers = {row["id"] for row in record.get("sources") or []}
    names = {row["place"]: f"{printable(row['name'])} ({row['place']})" for row in record["places"]}
    rows = [
        {
            "anchor": parts.anchor(code),
            "name": names.get(code, code),
            "rows": [
                {
                    "words": printable(row),
                    "papers": [{"id": printable(one), "known": one in papers} for one in found["rows"][row]],
                }
                for row in behind
            ],
        }
        for code, behind in found["places"].items()
    ]
    words = (
        "The rows of the tables behind the taxes and limits of each place, over the whole history, and the papers behind "
        "each row. taxcalc tables show gives any of them as of any day; taxcalc explain says which of them made the figures "
        "of one order, or with --place of which orders a place's figures are the sum."
    )
    blocks = [Block("paragraph", [words]), Block("basis", {"rows": rows, "caution": record["caution"]})]
    return Section(named(title), title, blocks, fold=True)


def _sources(record: Record) -> Section:
    """List the papers behind the rules, each with its link."""
    title = "Sources"
    rows = [_source(row) for row in record.get("sources") or []]
    words = f"{len(rows)} papers stand behind the rules that were used. A link needs the network; nothing else here does."
    papers = {"rows": rows, "caution": record["caution"]}
    blocks = [Block("paragraph", [words]), Block("sources", papers)]
    return Section(named(title), title, blocks, fold=True)


def _source(row: dict[str, Any]) -> dict[str, str]:
    """Give one paper; its address only where that leads to the network and nowhere else."""
    address = str(row.get("link") or "")
    words = {name: printable(row.get(name) or "") for name in ("id", "publisher", "title", "published_on")}
    return {**words, "address": address if address.startswith(("https://", "http://")) else ""}
