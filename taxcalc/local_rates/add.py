"""Add files of local rates to the store: read, merged with what is there, checked, resolved and written."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY
from taxcalc.days import day as to_day
from taxcalc.local_rates import layout
from taxcalc.local_rates.checks import Checked, checked
from taxcalc.local_rates.given import RATES_OF, SPANS_OF, Rows, changed, joined, nothing
from taxcalc.local_rates.index import FOLDER, NAME, AddedFile, AddedState, read_index
from taxcalc.local_rates.layout import GIVES_CODES, NEEDS, Given, recognised
from taxcalc.local_rates.reading import Part, read_file
from taxcalc.local_rates.resolve import ALWAYS
from taxcalc.local_rates.store import read_part
from taxcalc.local_rates.write import NewState, read_rows, write_states
from taxcalc.local_rates.zones import zones_of
from taxcalc.messages import refuse
from taxcalc.zone_numbers import most_zones

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date
    from pathlib import Path

    from taxcalc.tables.load import Tables

MOST_FILES: Final = 60
"""Files that the rows of one state may come from: each is one bit of a mask."""

_FAMILY: Final = {
    layout.RATES: "standard",
    layout.BOUNDARY: "standard",
    layout.CODES: "codes",
    layout.ADDRESSES: "codes",
}
"""Layouts that belong together; the others stand alone."""


@dataclass(frozen=True)
class AddedTo:
    """What was added to one state, and what the checks said."""

    state: AddedState
    new: list[AddedFile]
    checks: Checked


@dataclass
class _Before:
    """What the store holds of a state."""

    rates: Rows = field(default_factory=lambda: nothing(RATES_OF))
    spans: Rows = field(default_factory=lambda: nothing(SPANS_OF))
    files: list[AddedFile] = field(default_factory=list)


def add_local(
    paths: Sequence[Path],
    into: Path,
    tables: Tables,
    added_on: date,
    *,
    change: bool = False,
    overwrite: bool = False,
    tell: Callable[[str], None] = lambda _: None,
) -> tuple[list[AddedTo], list[Path]]:
    """Add files to the store in the folder of own rows `into`; give what was added by state, and the paths written.

    `change`: the files hold only rows that are new or altered since those in the store; a row of the same key and first
    day replaces the earlier one. `overwrite`: the files stand in the place of those in the store. `tell` is told what
    is being done. Raises `Refusal`: E562 to E585 for what is wrong in files or store, E602 and E609 where it cannot be
    written, E610 where the store holds the state and neither `change` nor `overwrite` is set. Then nothing is changed.
    """
    where = into / FOLDER
    before = read_index(where / NAME) if (where / NAME).is_file() else []
    known = {state.place: state for state in before}
    given = [recognised(path) for path in paths]
    _require_new(given, before)
    parts: dict[str, list[Part]] = {}
    for each in given:
        tell(f"reading {each.name}: {each.layout}")
        for part in read_file(each, tables, _unit(known.get(each.place)) if change else ""):
            parts.setdefault(part.place, []).append(part)
    found = []
    for place, some in sorted(parts.items()):
        tell(f"working out {places.name(place)}")
        held = _before(where, known.get(place))
        found.append(_state(place, some, held, tables, added_on, change=change, overwrite=overwrite))
    written = write_states(where, before, [new for new, _ in found])
    after = {state.place: state for state in read_index(where / NAME)}
    return [replace(added, state=after[added.state.place]) for _, added in found], written


def _unit(state: AddedState | None) -> str:
    """Give the unit of the rates of a state in the store."""
    return next((file.unit for file in state.files if file.unit), "") if state else ""


def _require_new(given: list[Given], before: list[AddedState]) -> None:
    """Refuse a file that is given twice or that rows in the store come from already (E570)."""
    seen = {file.sha256: file.name for state in before for file in state.files}
    for each in given:
        if each.sha256 in seen:
            raise refuse("E570", file=str(each.path), value=seen[each.sha256])
        seen[each.sha256] = each.name


def _before(where: Path, state: AddedState | None) -> _Before:
    """Read what the store holds of a state."""
    if state is None:
        return _Before()
    rates = read_rows(read_part(where, state, "rates"), RATES_OF)
    return _Before(rates, read_rows(read_part(where, state, "spans"), SPANS_OF), list(state.files))


def _state(
    place: str,
    parts: list[Part],
    before: _Before,
    tables: Tables,
    added_on: date,
    *,
    change: bool,
    overwrite: bool,
) -> tuple[NewState, AddedTo]:
    """Merge, check and resolve one state."""
    before = _what_stays(place, parts, before, change=change, overwrite=overwrite)
    bits = iter(bit for bit in range(MOST_FILES) if bit not in {file.bit for file in before.files})
    labels = {file.bit: file.name for file in before.files}
    new: list[tuple[Part, int]] = []
    for part in parts:
        bit = next(bits, None)
        if bit is None:
            raise refuse("E580", file=str(part.given.path), most=MOST_FILES)
        labels[bit] = str(part.given.path)
        new.append((part, bit))
    rates = _merged(
        before.rates, [p.rows.with_file(bit) for p, bit in new if p.gives_codes], RATES_OF, change=change
    )
    spans = _merged(
        before.spans, [p.rows.with_file(bit) for p, bit in new if not p.gives_codes], SPANS_OF, change=change
    )
    for part in parts:
        if part.given.layout in NEEDS and not rates.size:
            raise refuse("E579", file=str(part.given.path), value=NEEDS[part.given.layout])
    names = [labels.get(bit, "") for bit in range(MOST_FILES)]
    resolved, checks = checked(place, rates, spans, names, parts, tables)
    zones = zones_of(resolved, most_zones(tables, place))
    added = [_added_file(part, bit, added_on, checks, spans, change=change) for part, bit in new]
    used = set(np.unique(np.concatenate([rates["file"], spans["file"]])).tolist())
    files = [file for file in before.files if file.bit in used] + added
    state = AddedState(
        place=place,
        folder="",
        sha256={},
        zones=zones.count,
        held=int(zones.held["zone"].size),
        spans=int(zones.where["zone"].size),
        first_day=_iso(zones.held["start"].min()) if zones.count else "",
        last_change=_iso(zones.held["start"].max()) if zones.count else "",
        files=files,
    )
    return NewState(state, zones, rates, spans), AddedTo(state, added, checks)


def _what_stays(place: str, parts: list[Part], before: _Before, *, change: bool, overwrite: bool) -> _Before:
    """Drop what the files stand in the place of; refuse to do so unasked (E610), or to change what is not there (E571)."""
    families = {_FAMILY.get(part.given.layout, part.given.layout) for part in parts}
    first = parts[0].given.path
    if len(families) > 1:
        raise refuse("E581", file=str(first), value=places.name(place))
    held = {_FAMILY.get(file.layout, file.layout) for file in before.files}
    kinds = {part.gives_codes for part in parts}
    if change:
        missing = [part for part in parts if not (before.rates if part.gives_codes else before.spans).size]
        if missing or held != families:
            raise refuse("E571", file=str((missing or parts)[0].given.path), value=places.name(place))
        return before
    clash = any((before.rates if gives_codes else before.spans).size for gives_codes in kinds)
    if (clash or held - families) and not overwrite:
        raise refuse("E610", file=str(first), value=places.name(place))
    if held - families:
        return _Before()
    return _Before(
        nothing(RATES_OF) if True in kinds else before.rates,
        nothing(SPANS_OF) if False in kinds else before.spans,
        [file for file in before.files if (file.layout in GIVES_CODES) not in kinds],
    )


def _merged(before: Rows, new: list[Rows], columns: tuple[str, ...], *, change: bool) -> Rows:
    """Lay new rows over earlier ones, or beside them."""
    added = joined(new, columns)
    return changed(before, added, columns) if change else joined([before, added], columns)


def _added_file(
    part: Part, bit: int, added_on: date, checks: Checked, spans: Rows, *, change: bool
) -> AddedFile:
    """Describe one file for the index."""
    start = part.rows["start"]
    return AddedFile(
        bit=bit,
        name=part.given.name,
        layout=part.given.layout,
        sha256=part.given.sha256,
        change=change,
        unit=part.unit,
        rows=part.read,
        set_aside=int((spans["file"][checks.orphans] == bit).sum()),
        first_day=_iso(start.min()) if start.size else "",
        added_on=added_on.isoformat(),
        sources=part.sources,
    )


def _iso(day: Any) -> str:  # noqa: ANN401 - a number of NumPy
    """Write a day."""
    return "" if int(day) in (ALWAYS, NO_DAY) else to_day(int(day)).isoformat()
