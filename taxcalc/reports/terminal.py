"""The review as text: on a terminal, in a pipe, and as review.txt."""

from __future__ import annotations

import io
import sys
from typing import IO, TYPE_CHECKING, Any, Final

from rich.console import Console

from taxcalc.reports import (
    review_findings,
    review_fulfiller,
    review_head,
    review_limits,
    review_notes,
    review_places,
)

if TYPE_CHECKING:
    from taxcalc.reports.layout import Pieces

PLAIN_WIDTH: Final = 100
WIDEST: Final = 140
NARROWEST: Final = 60


def pieces(record: dict[str, Any], width: int) -> Pieces:
    """Give the whole review in its reading order."""
    return [
        *review_head.title(record),
        *review_head.tie_out(record),
        *review_findings.findings(record),
        *review_places.places(record, width),
        *review_places.since_duty(record, width),
        *review_limits.limits(record),
        *review_fulfiller.fulfiller(record),
        *review_fulfiller.totals(record),
        *review_notes.notes(record),
    ]


def print_review(record: dict[str, Any], file: IO[str] | None = None, *, width: int | None = None) -> None:
    """Print the review; colours only on a terminal that has them, plain text of 100 columns in a pipe."""
    out = file if file is not None else sys.stdout
    if not out.isatty():
        out.write(_plain(record, width or PLAIN_WIDTH))
        return
    console = Console(file=out, width=width, highlight=False, markup=False, emoji=False)
    console.width = max(NARROWEST, min(console.width, WIDEST))
    for piece in pieces(record, console.width):
        console.print(piece)


def review_text(record: dict[str, Any]) -> str:
    """Give the review as plain text of 100 columns, the same on every computer."""
    return _plain(record, PLAIN_WIDTH)


def _plain(record: dict[str, Any], width: int) -> str:
    """Render without colour codes and without blanks at the ends of lines."""
    written = io.StringIO()
    console = Console(
        file=written, width=width, color_system=None, force_terminal=False, no_color=True, highlight=False,
        markup=False, emoji=False, legacy_windows=False, _environ={},
    )  # fmt: skip
    for piece in pieces(record, width):
        console.print(piece)
    return "\n".join(line.rstrip() for line in written.getvalue().splitlines()) + "\n"
