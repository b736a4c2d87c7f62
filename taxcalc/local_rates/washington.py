"""The files of the Washington State Department of Revenue (dor.wa.gov), as it describes their columns.

The ZIP+4 file gives whole rates for ranges of ZIP+4. The code and rate file gives the rate of each location code, the
address file the code of each address in a quarter; of an address its ZIP+4 is kept where all addresses with that ZIP+4
have one code, else it only tells which rates occur in its ZIP code.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.days import number, quarter_days
from taxcalc.local_rates.cells import SHOWN, refused
from taxcalc.local_rates.given import ADDRESS, PLUS4, RATES_OF, SPANS_OF, WHOLE, ZIP4, Rows, joined, rows_of
from taxcalc.local_rates.headed import Headed
from taxcalc.local_rates.pieces import numbered
from taxcalc.local_rates.unit import differing, exact
from taxcalc.messages import complain

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from taxcalc.local_rates.files import Block
    from taxcalc.tables.load import Tables

    Ints = NDArray[np.int64]

PLACE: Final = "US-WA"
PREFIX: Final = "WA/"
_PERIOD: Final = re.compile(r"(\d{4})-?Q([1-4])|Q([1-4])-?(\d{4})", re.ASCII)


def read_zip4(path: Path, layout: str, tables: Tables) -> tuple[Rows, str]:
    """Read the ZIP+4 file: spans with whole rates, and the unit they were in. Raises E562 to E565, E585 and E578."""
    file, parts = Headed(path, layout), []
    unit = file.unit(tables, PLACE, "eff_start", "eff_end")
    for block in file.blocks():
        state, local, total = (
            exact(file.column(block, name), unit) for name in ("state", "local", "tot_rate")
        )
        _require_sum(file, block, state + local, total, "TOT_RATE")
        zip_code = file.column(block, "zip").digits(5)
        first, last = (file.column(block, name).digits(4) for name in ("plus4_low", "plus4_high"))
        backwards = np.flatnonzero(first > last)
        if backwards.size:
            raise refused(
                complain("E568", file=str(path), row=int(block.rows[at])) for at in backwards[:SHOWN].tolist()
            )
        rates, back = np.unique(total, return_inverse=True)
        spans = rows_of(
            [f"{WHOLE}{rate}" for rate in rates.tolist()],
            back.reshape(-1),
            level=np.full(block.size, ZIP4, np.int64),
            first=zip_code * PLUS4 + first,
            last=zip_code * PLUS4 + last,
            key=np.zeros(block.size, np.int64),
            start=file.column(block, "eff_start").days(),
            stop=file.column(block, "eff_end").days(end=True),
            file=np.zeros(block.size, np.int64),
            row=block.rows,
        )
        parts.append(spans)
    return joined(parts, SPANS_OF), unit


def _require_sum(file: Headed, block: Block, parts: Ints, total: Ints, column: str) -> None:
    """Refuse rows whose parts do not make their total (E578)."""
    wrong = np.flatnonzero(parts != total)
    if wrong.size:
        raise differing(str(file.path), block.rows[wrong], column, "the state's and the local part together")


def read_codes(path: Path, layout: str, tables: Tables) -> tuple[Rows, str]:
    """Read the code and rate file: the rate of each location code, and the unit. Raises E562 to E565, E585 and E578."""
    file, parts = Headed(path, layout), []
    unit = file.unit(tables, PLACE, "effective date", "expiration date")
    for block in file.blocks():
        state, local, transit, total = (
            exact(file.column(block, name), unit) for name in ("state", "local", "rta", "rate")
        )
        apart = state + local + transit == total
        _require_sum(file, block, np.where(apart, total, state + local), total, "RATE")
        code = file.column(block, "code")
        names = code.words(r"\d{1,5}", "a location code", "Write its digits.")
        rates = rows_of(
            [PREFIX + name.zfill(4) for name in names],
            code.codes.astype(np.int64),
            start=file.column(block, "effective date").days(),
            stop=file.column(block, "expiration date").days(end=True),
            ppm=total,
            file=np.zeros(block.size, np.int64),
            row=block.rows,
        )
        parts.append(rates)
    return joined(parts, RATES_OF), unit


def read_addresses(path: Path, layout: str) -> tuple[Rows, int]:
    """Read the address file: each ZIP+4, or ZIP code, with the codes that occur in it in a quarter, and the rows read.

    Raises E562 to E564, E585.
    """
    file, parts, count = Headed(path, layout), [], 0
    for block in file.blocks():
        expected, instead = "Washington", "The file is Washington's own."
        file.column(block, "state").read(lambda text: 0 if text == "WA" else None, expected, instead)
        quarter = file.column(block, "period").read(_quarter, "a quarter", "Write it as 2026Q3.")
        code = file.column(block, "code")
        names = code.words(r"\d{1,5}", "a location code", "Write its digits.")
        zip_code, plus4 = (
            file.column(block, "zip").digits(5),
            file.column(block, "plus4").digits(4, blank=True),
        )
        _, kept = numbered(zip_code, plus4, quarter, code.codes)
        kept = np.sort(kept)
        first = zip_code * PLUS4 + np.maximum(plus4, 0)
        rows = rows_of(
            [PREFIX + name.zfill(4) for name in names],
            code.codes[kept].astype(np.int64),
            level=np.where(plus4 >= 0, ZIP4, ADDRESS)[kept],
            first=first[kept],
            last=np.where(plus4 >= 0, first, first + PLUS4 - 1)[kept],
            key=np.zeros(kept.size, np.int64),
            start=quarter[kept],
            stop=quarter[kept],
            file=np.zeros(kept.size, np.int64),
            row=block.rows[kept],
        )
        parts.append(rows)
        count += block.size
    return _settled(joined(parts, SPANS_OF)), count


def _settled(rows: Rows) -> Rows:
    """Keep each code of a ZIP+4 once; where it has several codes, they only tell what occurs in the ZIP code."""
    _, kept = numbered(rows["level"], rows["first"], rows["start"], rows.name)
    rows = rows.take(np.sort(kept))
    spot, _ = numbered(rows["level"], rows["first"], rows["start"])
    alone = (np.bincount(spot)[spot] == 1) & (rows["level"] == ZIP4)
    zip_code = rows["first"] // PLUS4
    ends = {int(day): number(quarter_days(_name(int(day)))[1]) for day in np.unique(rows["start"]).tolist()}
    stop = np.array([ends[day] for day in rows["start"].tolist()], np.int64)
    key = (
        np.array([int(name[len(PREFIX) :]) for name in rows.names], np.int64)[rows.name]
        if rows.size
        else rows.name
    )
    columns = {
        **rows.columns,
        "level": np.where(alone, ZIP4, ADDRESS),
        "first": np.where(alone, rows["first"], zip_code * PLUS4),
        "last": np.where(alone, rows["last"], zip_code * PLUS4 + PLUS4 - 1),
        "key": np.where(alone, 0, key),
        "stop": stop,
    }
    settled = Rows(rows.names, rows.name, columns)
    _, kept = numbered(*(columns[name] for name in ("level", "first", "key", "start")))
    return settled.take(np.sort(kept))


def _name(day: int) -> str:
    """Name the quarter that begins on a day."""
    from taxcalc.days import day as to_day  # noqa: PLC0415 - only here

    first = to_day(day)
    return f"{first.year}-Q{(first.month + 2) // 3}"


def _quarter(text: str) -> int | None:
    """Read a quarter as its first day."""
    match = _PERIOD.fullmatch(text)
    if match is None:
        return None
    year, quarter = match.group(1) or match.group(4), match.group(2) or match.group(3)
    try:
        return number(quarter_days(f"{year}-Q{quarter}")[0])
    except ValueError:
        return None
