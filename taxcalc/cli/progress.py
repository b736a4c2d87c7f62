"""The progress line: on stderr, only on a terminal, only for work that takes longer than a second."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Progress = Callable[[str], None]

QUIET: Final = 1.0
"""Seconds before the first line."""
PAUSE: Final = 0.1
"""Seconds between two lines."""
_ERASE: Final = "\r\x1b[2K"


@contextmanager
def progress(clock: Callable[[], float] = monotonic) -> Iterator[Progress]:
    """Give a function that shows what is being done, in a few words; the line is erased at the end."""
    begun = shown = clock()
    stream = sys.stderr
    drawn = False

    def show(words: str) -> None:
        nonlocal shown, drawn
        now = clock()
        if now - begun >= QUIET and now - shown >= PAUSE:
            stream.write(f"{_ERASE}{words}")
            stream.flush()
            shown, drawn = now, True

    def be_silent(words: str) -> None:
        """Do nothing with the words: nobody is looking."""

    try:
        yield show if stream.isatty() else be_silent
    finally:
        if drawn:
            stream.write(_ERASE)
            stream.flush()
