"""Checks that only all files of a state together allow: what the boundary file proves of itself, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc import places
from taxcalc.local_rates import layout
from taxcalc.local_rates.cells import SHOWN, refused
from taxcalc.local_rates.given import PLUS4, ZIP, require_apart
from taxcalc.local_rates.resolve import Resolved, resolve
from taxcalc.local_rates.standard_rates import STATE
from taxcalc.local_rates.unit import held_rates, percent
from taxcalc.messages import complain, refuse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from taxcalc.local_rates.given import Rows
    from taxcalc.local_rates.reading import Part
    from taxcalc.tables.load import Tables

    Ints = NDArray[np.int64]

ORPHANS_AT_MOST: Final = 200
"""One row in so many may name a jurisdiction without a rate on its days; more refuse the file (0.5 %)."""


@dataclass(frozen=True)
class Checked:
    """What is said of the files of a state.

    `orphans` are rows of spans set aside, `orphan_words` the first of them in words, `known_zips` the ZIP codes that the
    state may have and `covered_zips` those of them in rows of type Z (-1: no boundary file), `disputed` ZIP codes whose
    own row is not the lowest rate in them, `notes` sentences for the person who adds the files.
    """

    orphans: Ints
    orphan_words: list[str] = field(default_factory=list)
    known_zips: int = -1
    covered_zips: int = -1
    disputed: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def checked(
    place: str, rates: Rows, spans: Rows, files: Sequence[str], parts: Sequence[Part], tables: Tables
) -> tuple[Resolved, Checked]:
    """Resolve the rows of a state; raises E567, E568 (periods), E569 (coverage), E572 (jurisdictions without a rate)."""
    require_apart(rates, files)
    require_apart(spans, files)
    found = resolve(rates, spans, files)
    words = [_orphan(rates, spans, at) for at in found.orphans[:SHOWN].tolist()]
    if found.orphans.size * ORPHANS_AT_MOST > spans.size:
        raise refused(
            complain(
                "E572", file=files[spans["file"][at]], row=int(spans["row"][at]), value=said,
                count=f"{found.orphans.size:,}", rows=f"{spans.size:,}",
            )
            for at, said in zip(found.orphans.tolist(), words, strict=False)
        )  # fmt: skip
    known = covered = -1
    if any(part.given.layout == layout.BOUNDARY for part in parts):
        known, covered = _coverage(place, spans, tables)
        if not covered:
            path = next(str(part.given.path) for part in parts if part.given.layout == layout.BOUNDARY)
            because = f"no row of type Z lies among the ZIP codes of {places.name(place)}"
            raise refuse("E569", file=path, because=because, value="")
    disputed = [f"{code:05}" for code in found.disputed.tolist()]
    return found, Checked(
        found.orphans, words, known, covered, disputed, _notes(place, rates, spans, parts, tables)
    )


def _orphan(rates: Rows, spans: Rows, at: int) -> str:
    """Name the codes of a row of which no rate is known on some of its days."""
    start, stop = int(spans["start"][at]), int(spans["stop"][at])
    missing = []
    for code in spans.names[spans.name[at]].split():
        rows = (
            np.flatnonzero(rates.name == rates.names.index(code)) if code in rates.names else np.zeros(0, int)
        )
        begin, end = np.maximum(rates["start"][rows], start), np.minimum(rates["stop"][rows], stop)
        if int(np.maximum(end - begin + 1, 0).sum()) < stop - start + 1:
            missing.append(code)
    return " ".join(missing)


def _coverage(place: str, spans: Rows, tables: Tables) -> tuple[int, int]:
    """Count the ZIP codes that the state may have, and those of them in rows of type Z on the newest first day."""
    table = tables["us/zip_states"]
    runs = table.rows(place=place)
    known = np.zeros(100_000, bool)
    for first, last in zip(table["zip_from"][runs].tolist(), table["zip_to"][runs].tolist(), strict=True):
        known[int(first) : int(last) + 1] = True
    day = int(spans["start"].max(initial=0))
    rows = np.flatnonzero((spans["level"] == ZIP) & (spans["start"] <= day) & (day <= spans["stop"]))
    edges = np.zeros(known.size + 1, np.int64)
    np.add.at(edges, spans["first"][rows] // PLUS4, 1)
    np.add.at(edges, spans["last"][rows] // PLUS4 + 1, -1)
    inside = np.cumsum(edges)[:-1] > 0
    return int(known.sum()), int((known & inside).sum())


def _notes(place: str, rates: Rows, spans: Rows, parts: Sequence[Part], tables: Tables) -> list[str]:
    """Say what a person who adds the files should know."""
    notes = []
    differ = sum(part.differ for part in parts)
    if differ:
        notes.append(
            f"{differ:,} rates differ for sellers inside the state; the rates of sales from outside are used."
        )
    if rates.size and not spans.size:
        notes.append(
            "No ZIP codes are known for these rates yet; add the boundary or address file of the state, too."
        )
    apart = _other_state_rate(place, rates, tables)
    if apart:
        notes.append(
            f"The state's own rate in the file is not the one in the tables: {'; '.join(apart[:SHOWN])}."
        )
    return notes


def _other_state_rate(place: str, rates: Rows, tables: Tables) -> list[str]:
    """List rates of the state in the file that are not the one held for their days."""
    names = [name for name in rates.names if name.startswith(f"{STATE}/")]
    rows = np.flatnonzero(np.isin(rates.name, [rates.names.index(name) for name in names]))
    held = held_rates(tables, place) if names else []
    return sorted(
        {
            f"{percent(int(rates['ppm'][row]))} percent in the file, {percent(ppm)} in the tables"
            for row in rows.tolist()
            for start, stop, ppm in held
            if rates["start"][row] <= stop and start <= rates["stop"][row] and rates["ppm"][row] != ppm
        }
    )
