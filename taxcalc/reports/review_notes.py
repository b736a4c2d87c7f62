"""What the figures rest on: assumptions, what is outside, and how to read the words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Heading, bullets, heading, paragraph
from taxcalc.reports.words import day, printable, several

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.reports.layout import Pieces

READING: Final = (
    (
        "Low, expected, high: local rates and unclear facts make a range. Expected is the best estimate, "
        "not the most cautious one; where expected is the adverse case, a note says so."
    ),
    (
        "Should collect: tax that customers should have been charged where you have a duty. You may owe it "
        "even where you did not charge it."
    ),
    (
        "Not collected, collected without a payment on record, and collected without a duty are three "
        "different things: they are never added up or set against each other."
    ),
    (
        "Not collected adds up the quarters in which too little was collected; a quarter with too much, or "
        "with refunds only, takes nothing away from it."
    ),
    "Duty: from this order on you had to collect. Limit: the sales or orders at which a duty begins.",
    "CROSSED, NEAR, WATCH, clear: how a limit stands, by the percentages in your profile.",
    (
        "Basis: official = read in the paper of the authority; secondary = read in a copy or a summary; "
        "unconfirmed (marked *) = no document stands behind it. A figure is as weak as its weakest fact."
    ),
)

OWN_ROWS: Final = (
    "Marked +: it rests in part on rows of your own tables; record.json names them under own_rows."
)


def notes(record: dict[str, Any]) -> Pieces:
    """List assumptions and defaults, what is outside, how to read, and how many papers stand behind it."""
    pieces = _section("Assumptions and defaults taken", record.get("assumptions") or ["None."])
    pieces += _section("What is outside this estimate", record.get("outside") or ["Nothing was named."])
    pieces += _section("How to read this", (*READING, *([OWN_ROWS] if record["tables"].get("own") else [])))
    sources = record.get("sources") or []
    if sources:
        oldest = day(record["tables"]["oldest_checked_on"])
        papers = several(len(sources), "source")
        words = f"The rules used rest on {papers}, the oldest looked at on {oldest}; record.json names each."
        pieces += ["", paragraph(words)]
    return pieces


def left_out(sections: Iterable[Pieces]) -> Pieces:
    """Name the sections that only the full review has, by the titles that they begin with, and where it stands."""
    titles = [piece.words for pieces in sections for piece in pieces if isinstance(piece, Heading)]
    words = "The review with --full, and review.txt in the folder of --out, also have:"
    return [*heading("In the full review"), paragraph(words), *bullets(titles)]


def last_word(record: dict[str, Any]) -> Pieces:
    """End with the caution."""
    return ["", paragraph(record["caution"], "bold")]


def _section(words: str, items: Iterable[str]) -> Pieces:
    """Write a heading with a list."""
    return [*heading(words), *bullets(printable(item) for item in items)]
