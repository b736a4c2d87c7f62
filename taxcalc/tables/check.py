"""What no single cell shows: blanks, duplicates, references, the weakness of memory, runs of ZIP codes."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.tables.read import fields_of

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from taxcalc.tables.read import Cells

MEMORY = "memory"
"""The source of a fact that no document stands behind; it needs no row in sources.csv."""

_NOT_IN_A_COUNTRY = ("places", "country")  # the Union and the unknown place have none
_PART_OF_A_ROW_THAT_ENDS = frozenset({"valid_from", "source", "basis", "checked_on"})


def check_cells(cells: Cells, known: Mapping[str, Collection[str]]) -> None:
    """Add every complaint about one file; `known` holds the keys of the tables that others refer to and that could be read."""
    if not cells.rows:
        return
    _required(cells)
    _references(cells, known)
    _duplicates(cells)
    _memory(cells)
    _unconfirmed(cells)
    _regime(cells)
    _endings(cells)
    if "zip_to" in cells.text:
        _zip_runs(cells)


def _required(cells: Cells) -> None:
    """Complain about required cells left blank, except where a row ends something or goes back."""
    ended, back = cells.flag("ended"), cells.flag("back_to_shipped")
    for field in fields_of(cells.schema):
        texts = cells.text[field.name]
        may_be_blank = not field.required or (cells.schema.name, field.name) == _NOT_IN_A_COUNTRY
        if may_be_blank or "" not in texts:
            continue
        for at, text in enumerate(texts):
            always = field.key or field.name == "valid_from"
            excused = back[at] or (ended[at] and field.name not in _PART_OF_A_ROW_THAT_ENDS)
            if not text and (always or not excused):
                cells.blame("E528", at, field.name)


def _references(cells: Cells, known: Mapping[str, Collection[str]]) -> None:
    """Complain about sources and keys of other tables that are not there."""
    for field in fields_of(cells.schema):
        if field.refers_to is None or field.refers_to not in known:
            continue
        there = known[field.refers_to]
        for at, text in enumerate(cells.text[field.name]):
            if text and text not in there:
                cells.blame("E526", at, field.name, table=field.refers_to)


def _duplicates(cells: Cells) -> None:
    """Complain where two rows of one key hold from the same day."""
    names = [field.name for field in cells.schema.fields if field.key]
    last = "valid_from" if cells.schema.dated else names[-1]
    keys = zip(*(cells.text[name] for name in (*names, last)), strict=True)
    first: dict[tuple[str, ...], int] = {}
    for at, key in enumerate(keys):
        if key in first:
            cells.blame(
                "E527",
                at,
                last,
                other=cells.rows[first[key]],
                key="/".join(part for part in key[:-1] if part),
            )
        else:
            first[key] = at


def _memory(cells: Cells) -> None:
    """Complain where a fact from memory is not called unconfirmed."""
    if not cells.schema.sourced:
        return
    for at, (source, basis) in enumerate(zip(cells.text["source"], cells.text["basis"], strict=True)):
        if source == MEMORY and basis and basis != "unconfirmed":
            cells.blame("E532", at, "basis")


def _unconfirmed(cells: Cells) -> None:
    """Complain where a column named as unconfirmed does not exist."""
    if not cells.schema.sourced:
        return
    names = {field.name for field in fields_of(cells.schema)}
    for at, text in enumerate(cells.text["unconfirmed_columns"]):
        for name in text.split():
            if name not in names:
                cells.blame("E536", at, "unconfirmed_columns", name=name)


def _regime(cells: Cells) -> None:
    """Complain about US places in other tables and the reverse: DE is Germany, Delaware is US-DE."""
    region = cells.schema.name.partition("/")[0]
    if region not in {"us", "eu"} or "place" not in cells.text or "zip_to" in cells.text:
        return
    for at, code in enumerate(cells.text["place"]):
        if code in places.codes() and (code == "US" or code.startswith("US-")) != (region == "us"):
            state = f"US-{code}"
            cells.blame(
                "E525", at, "place", because=f" A US state is written {state}." if region == "us" else ""
            )


def _endings(cells: Cells) -> None:
    """Complain where a row that ends something holds values, or goes back to the shipped rows too."""
    values = [field.name for field in cells.schema.fields if not field.key]
    for at, (ended, back) in enumerate(zip(cells.flag("ended"), cells.flag("back_to_shipped"), strict=True)):
        if ended and back:
            cells.blame("E538", at, "back_to_shipped")
        for name in values if ended else ():
            if cells.text[name][at]:
                cells.blame("E538", at, name)


def _zip_runs(cells: Cells) -> None:
    """Complain where runs of ZIP codes lack digits, run backwards or overlap."""
    runs = []
    for at, pair in enumerate(zip(cells.text["zip_from"], cells.text["zip_to"], strict=True)):
        if (
            not all(len(code) == len("00000") and code.isascii() and code.isdigit() for code in pair)
            or pair[0] > pair[1]
        ):
            cells.blame("E537", at, "zip_from")
        else:
            runs.append((*pair, at))
    runs.sort()
    ends = accumulate((int(run[1]) for run in runs), max)
    for end, (start, _, at) in zip(ends, runs[1:], strict=False):
        if int(start) <= end:
            cells.blame("E537", at, "zip_from")
