"""Files in the published layouts, made up for the tests: the layouts are real, the places and rates in them are invented.

Layouts: rate and boundary file of the Streamlined Sales Tax technical standard (columns of the rate file as West Virginia
and the Ohio Department of Taxation describe them; positions 22, 23 and 29 of the boundary file by the Ohio Department of
Taxation, the rest from memory), the files of the Washington State Department of Revenue, and our own simple CSV.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc.local_rates.add import add_local
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


def rate_row(
    kind: str,
    code: str,
    rate: str,
    begin: str = "20200101",
    end: str = OPEN,
    state: str = "20",
    inside: str = "",
) -> str:
    """Write one row of a rate file; the rate from outside is `rate`."""
    return f"{state},{kind},{code},{inside or rate},{rate},0,0,{begin},{end}"


def boundary_row(  # noqa: PLR0913 - the fields of the layout
    kind: str,
    low: str,
    high: str,
    *,
    county: str = "",
    city: str = "",
    districts: Sequence[str] = (),
    begin: str = "20200101",
    end: str = OPEN,
    state: str = "20",
    later: bool = False,
    street: str = "",
) -> str:
    """Write one row of a boundary file: `low` and `high` are ZIP codes or ZIP+4; `later` is the later numbering."""
    fields = [""] * 21
    fields[:3] = [kind, begin, end]
    if kind == "A":
        fields[3:6], fields[7] = ["1", "99", "B"], street
        fields[14], (fields[15], _, fields[16]) = "TOWN", low.partition("-")
    else:
        (fields[17], _, fields[18]), (fields[19], _, fields[20]) = low.partition("-"), high.partition("-")
    fields += ["SHACO", state, "20"] if later else [state]
    fields += [county, city, "C1" if city else "", "", ""]
    for code in districts:
        fields += ["20", code, "63"]
    return ",".join(fields)


def plain_boundary(**more: bool) -> list[str]:
    """Write a small boundary: a ZIP code with the county alone, and two ranges of ZIP+4 in it."""
    return [
        boundary_row("Z", "66044", "66044", county="045", **more),
        boundary_row("4", "66044-1000", "66044-1999", county="045", city="36000", **more),
        boundary_row(
            "4", "66044-2000", "66044-2999", county="045", city="36000", districts=("00123",), **more
        ),
        boundary_row("Z", "66045", "66049", county="045", **more),
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
    return write(folder, name, ["state,postal_code,rate_percent,valid_from,valid_to,source", *rows])
