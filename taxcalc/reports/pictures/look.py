"""How states of things look in every picture: fill, text on it, edge, mark, and words. Needs no drawing library."""

from __future__ import annotations

from typing import Final, NamedTuple

WHITE, BLACK = "#FFFFFF", "#000000"


class Look(NamedTuple):
    """Fill, colour of the text on it, mark, and what it means; `dotted` and `thick` are said of the edge."""

    fill: str
    text: str
    mark: str
    words: str
    dotted: bool = False
    thick: bool = False


LIMITS: Final = {
    "crossed": Look("#12436D", WHITE, "!!", "crossed", thick=True),
    "near": Look("#3D7FB8", BLACK, "!", "near"),
    "watch": Look("#8FBBE0", BLACK, "-", "to watch"),
    "clear": Look("#DCEAF7", BLACK, "", "clear"),
}
"""How a limit stands, by the percentages of the profile."""

PLACES: Final = {
    "lacking": Look("#12436D", WHITE, "!!", "a duty, and too little collected", thick=True),
    "near": Look("#3D7FB8", BLACK, "!", "no duty held yet, a limit near or crossed"),
    "watch": Look("#8FBBE0", BLACK, "-", "no duty, a limit to watch"),
    "sales": Look("#DCEAF7", BLACK, "", "sales, no duty and no limit near"),
    "duty": Look(WHITE, BLACK, "=", "a duty, nothing lacking", thick=True),
    "no_limit": Look(WHITE, "#595959", "x", "sales, but no limit and no tax held"),
    "none": Look(WHITE, "#595959", "", "nothing sold", dotted=True),
}
"""How a place stands in a grid, in the order in which the first that is true is taken."""
