"""The rate file of the Streamlined Sales Tax technical standard: one row a rate of a jurisdiction in a period.

Columns, as the Ohio Department of Taxation and West Virginia describe them: state, kind of jurisdiction, its code,
general rate inside the state and from outside, the two rates of food and drugs, first and last day. Taken is the rate of
sales from outside the state, a remote seller's. Food and drugs are not in any class of goods held here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.local_rates.cells import SHOWN, Column, refused
from taxcalc.local_rates.files import blocks
from taxcalc.local_rates.given import RATES_OF, Rows, joined, rows_of
from taxcalc.local_rates.layout import HEADERS, SIMPLE
from taxcalc.local_rates.unit import exact, held_rates, require_unit, unit_of, written
from taxcalc.messages import complain, refuse

if TYPE_CHECKING:
    from decimal import Decimal
    from pathlib import Path

    from taxcalc.local_rates.files import Block
    from taxcalc.tables.load import Tables

NAMES: Final = (
    *(
        "State",
        "JurisdictionType",
        "JurisdictionFIPSCode",
        "GeneralTaxRateIntrastate",
        "GeneralTaxRateInterstate",
    ),
    *("FoodDrugTaxRateIntrastate", "FoodDrugTaxRateInterstate", "EffectiveBeginDate", "EffectiveEndDate"),
)
STATE: Final = "45"
"""The kind of jurisdiction that is the state itself."""


@dataclass(frozen=True)
class RateFile:
    """The rates of a file, the unit they were in, and how many rows give another rate to sellers inside the state."""

    rates: Rows
    unit: str
    rows: int
    differ: int


def read_rates(path: Path, place: str, tables: Tables, unit_before: str = "") -> RateFile:
    """Read a rate file of a state; raises E562 to E566, E585.

    `unit_before` is the unit of the file that a change file changes: it is taken where the change file has no row of the
    state and its rates make sense in that unit only.
    """
    numeric = numeric_code(tables, place)
    header = int(_has_header(path))
    stated: set[tuple[int, int, Decimal]] = set()
    rates_seen: set[Decimal] = set()
    rows = 0
    for block in blocks(path, skip=header):
        rows += block.size
        _require_fields(block, path)
        stated |= _stated(block, path, numeric)
        rates_seen.update(written(_column(block, 4, path)))
    if not rows:
        raise refuse("E564", file=str(path))
    if stated or not unit_before:
        unit = unit_of(sorted(stated), held_rates(tables, place), place, str(path))
    else:
        unit = require_unit(unit_before, rates_seen, tables, place, str(path))
    parts = [_part(block, path, unit) for block in blocks(path, skip=header)]
    rates = joined([part for part, _ in parts], RATES_OF)
    return RateFile(rates, unit, rows, sum(differ for _, differ in parts))


def numeric_code(tables: Tables, place: str) -> str:
    """Give the two-digit code of a state that takes part in the standard; raises E566 for another one."""
    if not tables["us/streamlined_states"].rows(place=place).size:
        raise refuse("E566", value=place, header=",".join(HEADERS[SIMPLE]))
    return str(tables["us/state_codes"]["numeric_code"][tables["us/state_codes"].lookup(place=place)])


def _has_header(path: Path) -> bool:
    """Tell whether the first cell is no number, which makes the first record a header."""
    first = next((block.columns[0][0].as_py().strip() for block in blocks(path)), "")
    return bool(first) and not first.isdigit()


def _require_fields(block: Block, path: Path) -> None:
    """Refuse records with more or fewer fields than the layout has."""
    wrong = np.flatnonzero(block.counts != len(NAMES))
    if wrong.size:
        raise refused(
            complain(
                "E562", file=str(path), row=int(block.rows[at]), value=block.line(at)[:120],
                got=int(block.counts[at]), expected=len(NAMES),
            )
            for at in wrong[:SHOWN].tolist()
        )  # fmt: skip


def _column(block: Block, at: int, path: Path) -> Column:
    """Take a column by its position."""
    return Column(block, at, NAMES[at], str(path))


def _stated(block: Block, path: Path, numeric: str) -> set[tuple[int, int, Decimal]]:
    """Check that all rows are of the state, and give the rows of the state itself: days and rate as written."""
    expected, instead = (
        f"the code of the state in the file's name, {numeric}",
        "Give each state's file by itself.",
    )
    _column(block, 0, path).read(lambda text: 0 if text == numeric else None, expected, instead)
    kind, rate = _column(block, 1, path), _column(block, 4, path)
    start, stop = _column(block, 7, path).days(), _column(block, 8, path).days(end=True)
    values = written(rate)
    of_state = np.flatnonzero(np.array([text == STATE for text in kind.texts], bool)[kind.codes])
    return {(int(start[at]), int(stop[at]), values[int(rate.codes[at])]) for at in of_state.tolist()}


def _part(block: Block, path: Path, unit: str) -> tuple[Rows, int]:
    """Read one block, once the unit is known."""
    kind, code = _column(block, 1, path), _column(block, 2, path)
    kinds = kind.words(r"\d{2,3}", "a kind of jurisdiction", "Write its two digits: 45, 00, 01, 63.")
    codes = code.words(
        r"[0-9A-Z]{1,5}", "a code of a jurisdiction", "Write up to five digits, zeros included."
    )
    inside, outside = exact(_column(block, 3, path), unit), exact(_column(block, 4, path), unit)
    for at in (5, 6):
        written(_column(block, at, path))
    pair = kind.codes.astype(np.int64) * len(codes) + code.codes
    distinct, back = np.unique(pair, return_inverse=True)
    names = [f"{kinds[at // len(codes)]}/{codes[at % len(codes)]}" for at in distinct.tolist()]
    rows = rows_of(
        names,
        back.reshape(-1),
        start=_column(block, 7, path).days(),
        stop=_column(block, 8, path).days(end=True),
        ppm=outside,
        file=np.zeros(block.size, np.int64),
        row=block.rows,
    )
    return rows, int((inside != outside).sum())
