"""The simple CSV of our own: whole rates (state and local together) by ZIP code or ZIP+4, for any state.

Header: `state,postal_code,rate_percent,valid_from,valid_to,source`. A blank `valid_to` is open. Every row names its source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc import places
from taxcalc.local_rates.cells import SHOWN, refused
from taxcalc.local_rates.given import PLUS4, SPANS_OF, WHOLE, ZIP, ZIP4, Rows, joined, rows_of
from taxcalc.local_rates.headed import Headed
from taxcalc.local_rates.layout import SIMPLE
from taxcalc.local_rates.unit import exact, percent
from taxcalc.messages import complain

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from taxcalc.local_rates.files import Block
    from taxcalc.tables.load import Tables

    Ints = NDArray[np.int64]

_CODE: Final = re.compile(r"(\d{5})(?:-?(\d{4}))?", re.ASCII)
HIGHEST: Final = 400_000
"""No whole rate of sales tax is near this, in parts per million; what is above lost its point."""


@dataclass(frozen=True)
class SimpleFile:
    """The spans by place, and the distinct sources that the rows name."""

    spans: dict[str, Rows]
    sources: dict[str, list[str]]


def read_simple(path: Path, tables: Tables) -> SimpleFile:
    """Read the simple CSV; raises E562 to E564, E585, E577 for a rate below the state's own."""
    file = Headed(path, SIMPLE)
    parts: dict[str, list[Rows]] = {}
    sources: dict[str, set[str]] = {}
    states = _states()
    for block in file.blocks():
        state = file.column(block, "state")
        found = state.read(states.get, "a state", "Write its two letters, such as CO.")
        source = file.column(block, "source")
        source.read(lambda text: 0 if text else None, "a source", "Say where the rate was read.")
        spans = _spans(file, block)
        _require_whole(file, block, found, spans, tables)
        for place in np.unique(found).tolist():
            here = found == place
            code = places.code(place)
            parts.setdefault(code, []).append(spans.take(here))
            said = np.unique(source.codes[here]).tolist()
            sources.setdefault(code, set()).update(source.texts[at] for at in said)
    spans_of = {place: joined(some, SPANS_OF) for place, some in sorted(parts.items())}
    return SimpleFile(spans_of, {place: sorted(some) for place, some in sources.items()})


def _states() -> dict[str, int]:
    """Every way to write a state here → place number."""
    codes = [code for code in places.codes() if places.states_of_us()[places.index(code)]]
    return {text: places.index(code) for code in codes for text in (code, code.removeprefix("US-"))}


def _spans(file: Headed, block: Block) -> Rows:
    """Read one block."""
    postal = file.column(block, "postal_code")
    first = postal.read(
        _first, "a ZIP code", "Write all five digits, or ZIP+4 as 80202-1234; zeros may be lost."
    )
    by_plus4 = np.array([len(text) > len("80202") for text in postal.texts], bool)[postal.codes]
    ppm = exact(file.column(block, "rate_percent"), "percent")
    rates, back = np.unique(ppm, return_inverse=True)
    return rows_of(
        [f"{WHOLE}{each}" for each in rates.tolist()],
        back.reshape(-1),
        level=np.where(by_plus4, ZIP4, ZIP),
        first=first,
        last=np.where(by_plus4, first, first + PLUS4 - 1),
        key=np.zeros(block.size, np.int64),
        start=file.column(block, "valid_from").days(),
        stop=file.column(block, "valid_to").days(end=True),
        file=np.zeros(block.size, np.int64),
        row=block.rows,
    )


def _first(text: str) -> int | None:
    """Read a ZIP code or ZIP+4 as nine digits."""
    match = _CODE.fullmatch(text)
    return None if match is None else int(match.group(1)) * PLUS4 + int(match.group(2) or 0)


def _require_whole(file: Headed, block: Block, place: Ints, spans: Rows, tables: Tables) -> None:
    """Refuse a rate below the state's own on its first day, or above any rate there is: it is not the whole rate."""
    table = tables["us/state_rates"]
    rows = table.lookup(spans["start"], place=place)
    least = np.where(rows >= 0, table["state_percent"][rows], 0)
    ppm = np.array([int(name[1:]) for name in spans.names], np.int64)[spans.name]
    wrong = np.flatnonzero((ppm < least) | (ppm > HIGHEST))
    if wrong.size:
        rate = file.column(block, "rate_percent")
        raise refused(
            complain(
                "E577", file=str(file.path), row=int(block.rows[at]), column="rate_percent",
                value=rate.texts[int(rate.codes[at])], least=percent(int(least[at])),
            )
            for at in wrong[:SHOWN].tolist()
        )  # fmt: skip
