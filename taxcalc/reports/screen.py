"""Pieces of a report on a terminal, in a pipe, or as plain text of a fixed width."""

from __future__ import annotations

import io
import sys
from typing import IO, TYPE_CHECKING, Final

from rich.console import Console

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.reports.layout import Pieces

PLAIN_WIDTH: Final = 100
WIDEST: Final = 140
NARROWEST: Final = 60


def show(pieces: Callable[[int], Pieces], file: IO[str] | None = None, *, width: int | None = None) -> None:
    """Print pieces made for a width: colours only on a terminal that has them, 100 plain columns in a pipe."""
    out = file if file is not None else sys.stdout
    if not out.isatty():
        columns = width or PLAIN_WIDTH
        out.write(plain(pieces(columns), columns))
        return
    console = Console(file=out, width=width, highlight=False, markup=False, emoji=False)
    console.width = max(NARROWEST, min(console.width, WIDEST))
    for piece in pieces(console.width):
        console.print(piece)


def plain(pieces: Pieces, width: int) -> str:
    """Render without colour codes and without blanks at the ends of lines."""
    written = io.StringIO()
    console = Console(
        file=written, width=width, color_system=None, force_terminal=False, no_color=True, highlight=False,
        markup=False, emoji=False, legacy_windows=False, _environ={},
    )  # fmt: skip
    for piece in pieces:
        console.print(piece)
    return "\n".join(line.rstrip() for line in written.getvalue().splitlines()) + "\n"
