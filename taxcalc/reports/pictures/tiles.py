"""Where the tiles of the grids stand, by country and code, since DE and MT are states of two kinds."""

from __future__ import annotations

from typing import Final

_STATES: Final = (
    "AK . . . . . . . . . ME",
    ". . . . . . . . . VT NH",
    "WA ID MT ND MN IL WI MI NY RI MA",
    "OR NV WY SD IA IN OH PA NJ CT .",
    "CA UT CO NE MO KY WV VA MD DE .",
    ". AZ NM KS AR TN NC SC DC . .",
    ". . . OK LA MS AL GA . . .",
    "HI . . TX . . . . FL . .",
)
_UNION: Final = (
    ". . . . SE FI .",
    ". . . DK . EE .",
    "IE . NL . . LV .",
    ". BE LU DE PL LT .",
    ". FR . CZ SK RO .",
    "PT ES . AT HU BG .",
    ". . IT SI HR GR .",
    ". . MT . . . CY",
)


def _spots(rows: tuple[str, ...], before: str) -> dict[str, tuple[int, int]]:
    """Give the column and row of every place by its code."""
    return {
        f"{before}{name}": (column, row)
        for row, line in enumerate(rows)
        for column, name in enumerate(line.split())
        if name != "."
    }


STATES: Final = _spots(_STATES, "US-")
UNION: Final = _spots(_UNION, "")
