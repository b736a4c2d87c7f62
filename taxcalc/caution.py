"""The caution, and the only kind of figures that a writer accepts.

A figure without its caution is a defect of this program, so the caution is part of the type: every writer in
`taxcalc.reports` takes `Figures`, and `Figures` cannot be made without a caution.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

TITLE = "Indirect-tax exposure estimate"

CAUTION = (
    "Estimate only, not tax or legal advice and not a return. Rules and rates change and depend on facts "
    "this program cannot see. Local law decides: have a licensed tax professional check every figure "
    "before you register, charge, pay or file anything."
)


@dataclass(frozen=True)
class Figures:
    """A table of figures together with the caution and the origin that must travel with it.

    `frame` holds the figures (one row a line, columns as in `taxcalc.frames`), `caution` the words shown beside
    them, `provenance` what they were made from (tables version, files, day of the review).

    Raises `ValueError` where the caution is empty.
    """

    name: str
    frame: pd.DataFrame
    caution: str = CAUTION
    provenance: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse figures that would go out without their caution."""
        if not isinstance(self.caution, str) or not self.caution.strip():
            message = f"the figures {self.name!r} carry no caution, so they must not be shown"
            raise ValueError(message)


def require_figures(figures: Figures) -> Figures:
    """Give the figures back, or raise `TypeError` for anything that is no `Figures`; every writer begins so."""
    if not isinstance(figures, Figures):
        message = f"writers accept Figures, which carry their caution; this is {type(figures).__name__}"
        raise TypeError(message)
    return figures
