"""What a store of local rates holds, and what was just added to it, as text and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.reports.layout import Column, bullets, figures, heading, paragraph, stacked
from taxcalc.reports.words import count, place, printable, several

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.local_rates.add import AddedTo
    from taxcalc.local_rates.index import AddedFile, AddedState
    from taxcalc.reports.layout import Cell, Pieces
    from taxcalc.tables.load import Tables

Row = dict[str, Any]

FEW: Final = 3
USE: Final = (
    "A review with these tables takes the rate of the ZIP+4 where the order has one and it is known, else the range of "
    "its ZIP code, else the average of the state; record.json says which, and from which file. Rates are whole: state "
    "and local together."
)
LOWEST: Final = (
    "Where a ZIP code has several rates, the lowest is expected in {states}: by section 305 of the Streamlined Agreement, "
    "which protects a seller who could not find the ZIP+4. The highest is the high end."
)
STANDARD: Final = (
    "The layout of the boundary file is known in part from memory; it was taken because it proved itself by its own "
    "contents. Compare some of your addresses with the state's own look-up."
)


def states_data(states: Iterable[AddedState], tables: Tables) -> list[Row]:
    """Give the states of a store as plain data."""
    return [_state(state, tables) for state in states]


def _state(state: AddedState, tables: Tables) -> Row:
    """Write one state."""
    table = tables["us/streamlined_states"]
    rows = table.rows(place=state.place)
    return {
        "place": state.place,
        "name": places.name(state.place),
        "zones": state.zones,
        "ranges": state.spans,
        "rates": state.held,
        "first_valid_from": state.first_day or None,
        "last_valid_from": state.last_change or None,
        "oldest_added_on": min(file.added_on for file in state.files),
        "lowest_rate_in_zip": bool(table["lowest_rate_in_zip"][rows].any()),
        "files": [file_data(file) for file in state.files],
        "caution": CAUTION,
    }


def file_data(file: AddedFile) -> Row:
    """Write one file behind rates."""
    return {
        "name": file.name,
        "layout": file.layout,
        "sha256": file.sha256,
        "rows": file.rows,
        "set_aside": file.set_aside,
        "change_file": file.change,
        "unit": file.unit or None,
        "valid_from": file.first_day or None,
        "added_on": file.added_on,
        "sources": file.sources,
        "caution": CAUTION,
    }


def added_data(added: list[AddedTo], tables: Tables) -> Row:
    """Give what was added, with what the checks said."""
    states = []
    for each in added:
        checks = each.checks
        states.append(
            {
                **_state(each.state, tables),
                "added": [file_data(file) for file in each.new],
                "rows_without_a_rate": int(checks.orphans.size),
                "without_a_rate": checks.orphan_words,
                "zip_codes_known": checks.known_zips if checks.known_zips >= 0 else None,
                "zip_codes_covered": checks.covered_zips if checks.known_zips >= 0 else None,
                "zip_codes_not_the_lowest": len(checks.disputed),
                "not_the_lowest": checks.disputed[:FEW],
                "notes": checks.notes,
            }
        )
    return {"caution": CAUTION, "states": states}


def added_pieces(data: Row) -> Pieces:
    """Draw what was added."""
    states = data["states"]
    notes = [words for state in states for words in _notes(state)]
    words = [USE, *_lowest(states)]
    if any(file["layout"].startswith("standard boundary") for state in states for file in state["files"]):
        words.append(STANDARD)
    return [
        *heading("Local rates added"),
        *figures(_COLUMNS, [_cells(state, state["added"]) for state in states], data["caution"], gaps=True),
        *(heading("What the checks say") if notes else []),
        *bullets(printable(each) for each in notes),
        *heading("How they are used"),
        *bullets(words),
    ]


def stored_pieces(states: list[Row], caution: str) -> Pieces:
    """Draw what a store holds, nothing for none."""
    if not states:
        return []
    rows = [_cells(state, state["files"]) for state in states]
    words = "Whole rates by ZIP code that you added; `taxcalc tables add-local` adds more."
    return [
        *heading("Local rates of your own"),
        paragraph(words),
        *figures(_COLUMNS, rows, caution, gaps=True),
    ]


_COLUMNS: Final = (
    Column("State"),
    Column("Ranges", number=True),
    Column("Zones", number=True),
    Column("Holds from"),
    Column("Files"),
)


def _cells(state: Row, files: list[Row]) -> list[Cell]:
    """Write one state."""
    span = [day for day in (state["first_valid_from"], state["last_valid_from"]) if day]
    named = []
    for file in files:
        kind = f"{file['layout']}{', change' if file['change_file'] else ''}"
        rates = f", in {file['unit']}" if file["unit"] else ""
        named.append(f"{printable(file['name'])}: {kind}, {several(file['rows'], 'row')}{rates}")
    return [
        stacked(place(state)),
        count(state["ranges"]),
        count(state["zones"]),
        "\n".join(dict.fromkeys(span)) or "nothing yet",
        "\n".join(named),
    ]


def _lowest(states: list[Row]) -> list[str]:
    """Say where the lowest rate of a ZIP code is expected."""
    named = [state["name"] for state in states if state["lowest_rate_in_zip"]]
    return [LOWEST.format(states=", ".join(named))] if named else []


def _notes(state: Row) -> list[str]:
    """Write what the checks of one state said."""
    found = []
    name = state["name"]
    if state["rows_without_a_rate"]:
        codes = "; ".join(state["without_a_rate"])
        rows = several(state["rows_without_a_rate"], "row")
        found.append(f"{name}: {rows} set aside, because no rate is known on all their days for: {codes}.")
    if state["zip_codes_known"] is not None:
        share = f"{count(state['zip_codes_covered'])} of {count(state['zip_codes_known'])}"
        found.append(
            f"{name}: rows of type Z cover {share} ZIP codes between its first and its last; not every one of them exists."
        )
    if state["zip_codes_not_the_lowest"]:
        codes = ", ".join(state["not_the_lowest"])
        number = several(state["zip_codes_not_the_lowest"], "ZIP code")
        found.append(
            f"{name}: the row of {number} has another rate than the lowest in it, among them {codes}."
        )
    return found + [f"{name}: {words}" for words in state["notes"]]
