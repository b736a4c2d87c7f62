"""The sheet that every picture is drawn on: the finding above, the caution below, both inside the picture.

Colours are one hue from light to dark, so that they keep their order in grey and for every kind of colour vision; marks
and words say the same. Lightness and contrast are held by `tests/reports/test_pictures.py`.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from matplotlib.figure import Figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.typing import RcKeyType

    from taxcalc.reports.pictures.picture import Picture

SETTINGS: Final[dict[RcKeyType, Any]] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "taxcalc",
    "text.parse_math": False,
    "font.family": ["DejaVu Sans"],
    "font.size": 9,
    "hatch.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
}
"""Text stays text, a dollar sign stays a dollar sign, and names inside the file do not change from run to run."""

INK, QUIET, ACCENT = "#1A1A1A", "#595959", "#C2410C"
WIDTH = 8.4
_TITLE_SIZE, _TITLE_LINE, _TITLE_SIGNS = 12, 0.22, 74
_SMALL, _SMALL_LINE, _SMALL_SIGNS = 7.5, 0.145, 145
_EDGE = 0.15


class Box(NamedTuple):
    """A part of the sheet in inches: from the left and from the bottom of the part that is drawn in."""

    left: float
    bottom: float
    width: float
    height: float


@dataclass(frozen=True)
class Sheet:
    """A figure with its finding and caution written on it; `foot` is the height in inches below the drawing."""

    figure: Figure
    foot: float
    height: float

    def axes(self, box: Box) -> Axes:
        """Add axes at a place of the drawing."""
        return self.figure.add_axes(
            (
                box.left / WIDTH,
                (box.bottom + self.foot) / self.height,
                box.width / WIDTH,
                box.height / self.height,
            )
        )


def sheet(picture: Picture, drawing: float, below: Sequence[str] = ()) -> Sheet:
    """Make a sheet with room for a drawing of some inches, sentences under it, and the caution last."""
    title = _lines(picture.finding, _TITLE_SIGNS) if picture.titled else []
    small = [line for words in (*below, picture.caution) for line in _lines(words, _SMALL_SIGNS)]
    head, foot = len(title) * _TITLE_LINE + 2 * _EDGE, len(small) * _SMALL_LINE + 2 * _EDGE
    height = head + drawing + foot
    figure = Figure(figsize=(WIDTH, height), facecolor="white")
    for at, line in enumerate(title):
        _write(figure, height - _EDGE - at * _TITLE_LINE, height, line, size=_TITLE_SIZE, weight="bold")
    for at, line in enumerate(small):
        _write(figure, foot - _EDGE - at * _SMALL_LINE, height, line, size=_SMALL, color=QUIET)
    return Sheet(figure, foot, height)


def _lines(words: str, signs: int) -> list[str]:
    """Break a sentence into lines, never inside a code of a place."""
    return textwrap.wrap(words, signs, break_on_hyphens=False)


def _write(figure: Figure, top: float, height: float, line: str, **style: Any) -> None:  # noqa: ANN401 - as given
    """Write one line at the left edge."""
    figure.text(_EDGE / WIDTH, top / height, line, va="top", ha="left", **{"color": INK, **style})


def bare(axes: Axes) -> None:
    """Take away frame and ticks."""
    axes.set_axis_off()
