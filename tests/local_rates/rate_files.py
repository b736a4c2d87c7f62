"""Files in the published layouts, made up for the tests: the layouts are real, the districts and rates are invented.

Layouts: rate and boundary file of the Streamlined Sales Tax technical standard (columns of the rate file as West Virginia
and the Ohio Department of Taxation describe them; elements 22, 23 and 29 of the boundary file by the Ohio Department of
Taxation, the rest from memory), the files of the Washington State Department of Revenue, and our own simple CSV.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.days import number
from taxcalc.local_rates.add import add_local
from taxcalc.local_rates.store import store_in
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from taxcalc.local_rates.add import AddedTo
    from taxcalc.tables.load import Tables

OPEN = "29991231"
RATES, BOUNDARY = "KSR2026Q3MAY28", "KSB2026Q3MAY28"
STATE = ("45", "20", "0.065")
COUNTY = ("00", "045", "0.0125")
CITY = ("01", "36000", "0.0155")
DISTRICT = ("63", "00123", "0.01")
JURISDICTIONS = (STATE, COUNTY, CITY, DISTRICT)
ADDED_ON = date(2026, 11, 25)
DAY = date(2026, 8, 1)
ZIP4_HEADER = "ZIP,PLUS4_LOW,PLUS4_HIGH,CODE,STATE,LOCAL,TOT_RATE,EFF_START,EFF_END"
CODES_HEADER = "NAME,CODE,STATE,LOCAL,RTA,RATE,EFFECTIVE DATE,EXPIRATION DATE"
ADDRESS_HEADER = "ADDR_LOW,ADDR_HIG,ODD_EVEN,STREET,STATE,ZIP,PLUS4,PERIOD,CODE,RTA,PTBA_NAME,CEZ_NAME"
SIMPLE_HEADER = "state,postal_code,rate_percent,valid_from,valid_to,source"


def rate_row(
    kind: str, code: str, rate: str, begin: str = "20200101", end: str = OPEN, inside: str = ""
) -> str:
    """Write one row of a rate file of Kansas; `rate` is the one of sales from outside the state."""
    return f"20,{kind},{code},{inside or rate},{rate},0,0,{begin},{end}"


def boundary_row(  # noqa: PLR0913 - the fields of the layout
    kind: str,
    low: str,
    high: str = "",
    *,
    county: str = "045",
    city: str = "",
    districts: Sequence[str] = (),
    begin: str = "20200101",
    end: str = OPEN,
    state: str = "20",
    later: bool = False,
    street: str = "MAIN",
) -> str:
    """Write one row of a boundary file: `low` and `high` are ZIP codes or ZIP+4; `later` is the later numbering."""
    fields = [kind, begin, end, *[""] * 18]
    if kind == "A":
        fields[3:6], fields[7], fields[14] = ["1", "99", "B"], street, "TOWN"
        fields[15], _, fields[16] = low.partition("-")
    else:
        (fields[17], _, fields[18]), (fields[19], _, fields[20]) = (
            low.partition("-"),
            (high or low).partition("-"),
        )
    fields += ["SHACO", state, "20", county, city, "C1" if city else "", "", ""] if later else []
    fields += [] if later else [state, county, city, "C1" if city else "", "", ""]
    for code in districts:
        fields += ["20", code, "63"]
    return ",".join(fields)


def plain_boundary(*, later: bool = False) -> list[str]:
    """Write a small boundary: a ZIP code with the county alone, two ranges of ZIP+4 in it, and five more ZIP codes."""
    return [
        boundary_row("Z", "66044", later=later),
        boundary_row("4", "66044-1000", "66044-1999", city="36000", later=later),
        boundary_row("4", "66044-2000", "66044-2999", city="36000", districts=("00123",), later=later),
        boundary_row("Z", "66045", "66049", later=later),
    ]


def plain_rates() -> list[str]:
    """Write the rates of the plain boundary: 6.5 + 1.25, + 1.55, + 1 percent."""
    return [rate_row(*each) for each in JURISDICTIONS]


def write(folder: Path, name: str, rows: Iterable[str]) -> Path:
    """Write a file of rows."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_text("".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


def standard(
    folder: Path, rates: Iterable[str] | None = None, spans: Iterable[str] | None = None
) -> list[Path]:
    """Write a rate and a boundary file of Kansas."""
    return [
        write(folder, RATES, plain_rates() if rates is None else rates),
        write(folder, BOUNDARY, plain_boundary() if spans is None else spans),
    ]


def simple(folder: Path, *rows: str, name: str = "own.csv") -> Path:
    """Write our own simple CSV."""
    return write(folder, name, [SIMPLE_HEADER, *rows])


@lru_cache(maxsize=1)
def tables() -> Tables:
    """The shipped tables, loaded once."""
    return load_tables()


def add(own: Path, *files: Path, change: bool = False, overwrite: bool = False) -> list[AddedTo]:
    """Add files to the store in a folder of own rows."""
    found, _ = add_local(files, own, tables(), ADDED_ON, change=change, overwrite=overwrite)
    return found


def held(
    own: Path, codes: Sequence[str], day: date = DAY, state: str = "US-KS"
) -> list[tuple[int, ...] | None]:
    """Ask the store: level (4 ZIP+4, 5 ZIP), lowest and highest rate in ppm of each code on a day; None for nothing."""
    store = store_in(own)
    assert store is not None
    place = np.full(len(codes), places.index(state), np.int16)
    zips = np.array([int(code[:5]) for code in codes], np.int64)
    plus4 = np.array([int(code[6:]) if len(code) > 5 else -1 for code in codes], np.int64)
    rows = store.rows(place, store.zones(place, zips, plus4), np.full(len(codes), number(day)))
    columns = [store.column(name, rows).tolist() for name in ("level", "low", "high")]
    return [
        each if row >= 0 else None
        for row, each in zip(rows.tolist(), zip(*columns, strict=True), strict=True)
    ]
