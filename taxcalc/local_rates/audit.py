"""Findings about a store of local rates: an index that cannot be read, damaged files, states not added to for long."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc.errors import Refusal
from taxcalc.local_rates.index import FOLDER, NAME, PARTS, read_index
from taxcalc.local_rates.store import read_part
from taxcalc.messages import complain

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc.errors import Complaint
    from taxcalc.local_rates.index import AddedState


def audited(own: Path, oldest: str) -> tuple[list[AddedState], list[Complaint]]:
    """Give the states of the store among own rows and every finding about it; nothing of both where there is no store.

    `oldest`: states of which the newest file was added before this ISO day are found; "" finds none too old.
    """
    path = own / FOLDER / NAME
    if not path.is_file():
        return [], []
    try:
        states = read_index(path)
    except Refusal as refusal:
        return [], [refusal.complaint]
    found = []
    for state in states:
        found += _damage(path.parent, state)
        newest = max(file.added_on for file in state.files)
        if newest < oldest:
            found.append(complain("E582", file=str(path), value=newest, place=state.place, day=oldest))
    return states, found


def _damage(where: Path, state: AddedState) -> list[Complaint]:
    """Look at every file of a state, and at how many rows the index says there are."""
    expected = {"where": state.spans, "held": state.held}
    found = []
    for part in PARTS:
        try:
            rows = read_part(where, state, part).num_rows
        except Refusal as refusal:
            found.append(refusal.complaint)
            continue
        if rows != expected.get(part, rows):
            detail = f"it has {rows} rows, and the index says {expected[part]}"
            found.append(complain("E573", file=str(where / state.folder / f"{part}.parquet"), detail=detail))
    return found
