"""Where the shipped rate tables stand."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from taxcalc.messages import refuse

NAME = "rate_tables"


@lru_cache(maxsize=1)
def folder() -> Path:
    """Find the shipped tables: inside the package (an installed wheel) first, beside it (a checkout) second.

    Raises `Refusal` E520 where neither folder is there.
    """
    package = Path(__file__).resolve().parent.parent
    for place in (package / NAME, package.parent / NAME):
        if place.is_dir():
            return place
    raise refuse("E520", file=NAME)
