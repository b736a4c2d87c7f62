"""What a picture is before it is drawn: its finding, its caution, its words for those who do not see it, its numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.figure import Figure

    from taxcalc.reports.layout import FigureTable


@dataclass(frozen=True)
class Picture:
    """A picture: `finding` is its title, `alt` says the finding in words, `table` holds the numbers that are drawn.

    `subject` names it in a word or two, `reading` says how to read it, `data` is what `draw` needs. `titled`: the finding
    stands in the drawing; where it stands above it as text it need not. The caution is the table's, and is written into
    the picture. Raises `ValueError` where a title, the words or the caution are empty.
    """

    name: str
    subject: str
    finding: str
    alt: str
    table: FigureTable
    data: Any
    draw: Callable[[Picture], Figure]
    reading: str = ""
    titled: bool = True

    def __post_init__(self) -> None:
        """Refuse a picture that says nothing, or would go out without its caution."""
        if not (self.finding.strip() and self.alt.strip() and self.caution.strip()):
            message = f"the picture {self.name!r} lacks its finding, its words or its caution"
            raise ValueError(message)

    @property
    def caution(self) -> str:
        """The caution that is written into the picture."""
        return self.table.caution
