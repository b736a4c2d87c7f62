"""CSV files of figures: a caution on every row, and no cell that a spreadsheet would run as a formula."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from taxcalc.caution import Figures, require_figures

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

SLICE: Final = 50_000
"""Rows that are written at a time, so that memory stays bounded."""
RATIOS: Final = frozenset({"share"})
"""Columns that may hold binary floats: a share of a limit with one decimal, for the eye, is no amount."""
_FORMULA: Final = re.compile(r"^(?=[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20])(?!-?[0-9]+(?:\.[0-9]+)?\Z)")
"""The start of a text that a spreadsheet may run; a plain number, also a negative one, is left alone."""
_UNSEEN: Final = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def write_csv(figures: Figures, path: Path) -> None:
    """Write figures as UTF-8 with plain line ends; the last column of every row is the caution.

    Texts that begin like a formula get an apostrophe in front, control and bidi characters are written as
    escapes, numbers are left as they are. Raises `TypeError` for anything but `Figures` and for columns of
    binary floats.
    """
    frame = require_figures(figures).frame
    inexact = [str(name) for name in frame.columns if name not in RATIOS and frame[name].dtype.kind in "fc"]
    if inexact:
        message = f"the figures {figures.name!r} hold binary floats in {', '.join(inexact)}"
        raise TypeError(message)
    with path.open("w", encoding="utf-8", newline="") as file:
        for start in range(0, max(len(frame), 1), SLICE):
            part = _safe(frame.iloc[start : start + SLICE], figures.caution)
            part.to_csv(file, index=False, header=start == 0, lineterminator="\n")


def _safe(frame: pd.DataFrame, caution: str) -> pd.DataFrame:
    """Give the rows with every text made harmless and the caution added."""
    columns = {
        name: frame[name] if _is_number(frame[name]) else _harmless(frame[name])
        for name in frame.columns
        if name != "caution"
    }
    return frame.assign(**columns, caution=caution)[[*columns, "caution"]]


def _is_number(column: pd.Series[str]) -> bool:
    """Tell whether a column holds whole numbers, which need no care."""
    return column.dtype.kind in "iu"


def _harmless(column: pd.Series[str]) -> pd.Series[str]:
    """Turn a column into texts without formulas and without unseen characters, each distinct text once."""
    import pandas as pd  # noqa: PLC0415 - heavy

    codes, distinct = pd.factorize(column.astype("object"))
    # A missing value has the code -1 and so takes the last text, the empty one.
    texts = pd.Series([*(disarmed(str(cell)) for cell in distinct), ""], dtype="object")
    return texts.take(codes).set_axis(column.index)


def disarmed(text: str) -> str:
    """Put an apostrophe before what a spreadsheet would run, and write unseen characters as escapes."""
    return _UNSEEN.sub(lambda found: ascii(found[0])[1:-1], _FORMULA.sub("'", text))
