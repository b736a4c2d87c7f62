"""Pictures of the record: bars of the limits, running totals, tile grids, quarters, and what becomes of one order.

`pictures(record)` gives those that have something to show; `svg` and `png` turn one into bytes. The drawing library is
loaded when the first one is drawn. The same record gives the same bytes on one version of that library.
"""

from __future__ import annotations

import io
import logging
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from taxcalc.reports.pictures.course import course
from taxcalc.reports.pictures.grids import states, union
from taxcalc.reports.pictures.quarters import quarters
from taxcalc.reports.pictures.shares import shares
from taxcalc.reports.pictures.waterfall import usual, waterfall

if TYPE_CHECKING:
    from taxcalc.reports.pictures.picture import Picture

__all__ = ["pictures", "png", "svg", "waterfall"]

OF_A_REVIEW = (shares, course, states, union, quarters)
"""In the order in which the page shows them; a new one is added here."""

DPI = 144


def pictures(record: dict[str, Any], order: dict[str, Any] | None = None) -> list[Picture]:
    """Give the pictures of a review, a usual order last; one without anything to show is left out."""
    found = [picture for make in OF_A_REVIEW if (picture := make(record)) is not None]
    return [*found, usual(order)] if order is not None else found


def svg(picture: Picture) -> str:
    """Draw a picture as an SVG element with real text and no styles of its own; the finding stands above it in the page."""
    from taxcalc.reports.pictures.clean import cleaned  # noqa: PLC0415 - only where one is drawn

    return cleaned(_written(replace(picture, titled=False), "svg"), picture)


def png(picture: Picture) -> bytes:
    """Draw a picture as PNG, for a document that holds no SVG."""
    return _written(picture, "png")


def _written(picture: Picture, kind: str) -> bytes:
    """Draw and save without a date or the name of a program."""
    # Its remarks on the folder in which it keeps a list of fonts are nothing that a seller could mend.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib as mpl  # noqa: PLC0415 - heavy

    from taxcalc.reports.pictures.sheet import SETTINGS  # noqa: PLC0415 - only where one is drawn

    out = io.BytesIO()
    silent = {"Date": None, "Creator": None} if kind == "svg" else {"Software": None}
    with mpl.rc_context(SETTINGS):
        picture.draw(picture).savefig(out, format=kind, dpi=DPI, metadata=silent)
    return out.getvalue()
