"""One file to rows in the common form, whatever its layout."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from taxcalc.local_rates import layout
from taxcalc.local_rates.layout import GIVES_CODES
from taxcalc.local_rates.simple import read_simple
from taxcalc.local_rates.standard_boundary import read_boundary
from taxcalc.local_rates.standard_rates import read_rates
from taxcalc.local_rates.washington import read_addresses, read_codes, read_zip4

if TYPE_CHECKING:
    from taxcalc.local_rates.given import Rows
    from taxcalc.local_rates.layout import Given
    from taxcalc.tables.load import Tables

MOST_SOURCES: Final = 20
"""Sources of a simple CSV that the index names; of more it says how many."""


@dataclass(frozen=True)
class Part:
    """What a file says of one state. `read` rows were read for it; `unit` is that of its rates, "" where it has none.

    `differ` counts rows of the rate file with another rate for sellers inside the state.
    """

    given: Given
    place: str
    rows: Rows
    read: int
    unit: str = ""
    differ: int = 0
    sources: list[str] = field(default_factory=list)

    @property
    def gives_codes(self) -> bool:
        """Tell whether the rows are rates of codes, and not spans of ZIP codes."""
        return self.given.layout in GIVES_CODES


def read_file(given: Given, tables: Tables, unit_before: str = "") -> list[Part]:
    """Read one file: one part a state; `unit_before` is the unit of the rate file that a change file changes.

    Raises refusals as the readers of the layouts do.
    """
    path, kind = given.path, given.layout
    if kind == layout.RATES:
        rates = read_rates(path, given.place, tables, unit_before)
        return [Part(given, given.place, rates.rates, rates.rows, rates.unit, rates.differ)]
    if kind == layout.BOUNDARY:
        spans = read_boundary(path, given.place, tables)
        return [Part(given, given.place, spans, spans.size)]
    if kind == layout.ZIP4:
        rows, unit = read_zip4(path, kind, tables)
        return [Part(given, given.place, rows, rows.size, unit)]
    if kind == layout.CODES:
        rows, unit = read_codes(path, kind, tables)
        return [Part(given, given.place, rows, rows.size, unit)]
    if kind == layout.ADDRESSES:
        rows, count = read_addresses(path, kind)
        return [Part(given, given.place, rows, count)]
    simple = read_simple(path, tables)
    return [
        Part(given, place, rows, rows.size, "percent", sources=_few(simple.sources[place]))
        for place, rows in simple.spans.items()
    ]


def _few(sources: list[str]) -> list[str]:
    """Name some sources, and count the others."""
    more = len(sources) - MOST_SOURCES
    return [*sources[:MOST_SOURCES], f"and {more} more"] if more > 0 else sources
