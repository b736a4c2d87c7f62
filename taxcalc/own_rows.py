"""Which rows of the user's own the figures of a place rest on, so that every report can say so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.tables.table import Table

_MARK = "own:"
_REGIONS = {"us": places.US, "eu": places.EU}
_SIDES = ("place", "postal_country", "treated_as")
_EVERYWHERE = {places.US: "US", places.EU: "EU"}
"""The place whose rows hold in every place of a regime."""


def own_rows_of_place(assessment: Assessment, code: int) -> list[str]:
    """Name the own rows behind a place: of its sales in the whole history, of its limits, and what they end there."""
    if not assessment.run.facts.tables.own:
        return []
    cases = np.flatnonzero(assessment.run.terms.placed.place == code)
    found = set(own_rows_of_cases(assessment, cases))
    union = places.index("EU") if places.regimes()[code] == places.EU else code
    for row in assessment.threshold_rows:
        if row.place in {code, union}:
            found.update(own_among(row.row_ids))
    for table in assessment.run.facts.tables:
        found.update(_ended_or_defined(table, code))
    return sorted(found)


def _ended_or_defined(table: Table, code: int) -> list[str]:
    """Name own rows that no answer can name.

    Those end a rule of the place, say what a word means, or draw the border to a territory, on either side of it.
    """
    region = table.name.partition("/")[0]
    every = np.arange(table.size)
    mine = every[table.is_own(every)]
    if table.name == "eu/territories":
        mine = np.array([row for row in mine.tolist() if places.code(code) in _sides(table, row)], np.int64)
    elif table.schema.dated and any(field.name == "place" for field in table.schema.fields):
        wide = _EVERYWHERE.get(int(places.regimes()[code]))
        codes = [code] if wide is None else [code, places.index(wide)]
        mine = mine[np.isin(table["place"][mine], codes) & table["ended"][mine]]
    elif table.schema.dated or region not in _REGIONS or places.regimes()[code] != _REGIONS[region]:
        return []
    return [str(name) for name in table.row_ids(mine).tolist()]


def _sides(table: Table, row: int) -> set[str]:
    """Give the places on both sides of a territory's border, as its rows of any day name them."""
    same = [each for each, key in enumerate(table.keys) if key == table.keys[row]]
    return {table.printed(name)[each] for name in _SIDES for each in same}


def own_rows_of_cases(assessment: Assessment, cases: npt.NDArray[np.intp]) -> list[str]:
    """Name the own rows that the terms of some cases rest on."""
    if not assessment.run.facts.tables.own:
        return []
    found: set[str] = set()
    for side in (assessment.run.terms.collect, assessment.run.terms.fulfiller):
        for index, evidence in side.proofs:
            inside = np.flatnonzero(np.isin(index, cases))
            for table, rows, _ in evidence.used:
                chosen = np.unique(rows[inside])
                found.update(table.row_ids(chosen[table.is_own(chosen)]).tolist())
    return sorted(found)


def own_among(row_ids: str) -> list[str]:
    """Pick the own rows out of ids written one after the other."""
    return [name for name in row_ids.split() if name.startswith(_MARK)]
