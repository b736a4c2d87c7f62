"""Which layout a file has: by the name under which a state posts it, or by its header. Nothing is guessed."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.local_rates.files import beginning, sha256_of
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from pathlib import Path

RATES, BOUNDARY = "standard rate file", "standard boundary file"
ZIP4, CODES, ADDRESSES = "Washington ZIP+4 file", "Washington code and rate file", "Washington address file"
SIMPLE: Final = "simple CSV"

HEADERS: Final = {
    SIMPLE: ("state", "postal_code", "rate_percent", "valid_from", "valid_to", "source"),
    ZIP4: ("zip", "plus4_low", "plus4_high", "code", "state", "local", "tot_rate", "eff_start", "eff_end"),
    CODES: ("name", "code", "state", "local", "rta", "rate", "effective date", "expiration date"),
    ADDRESSES: (
        *("addr_low", "addr_hig", "odd_even", "street", "state", "zip", "plus4", "period", "code", "rta"),
        *("ptba_name", "cez_name"),
    ),
}
"""Headers by layout, in small letters: ours, and those of the Washington State Department of Revenue (dor.wa.gov)."""

PAPERS: Final = {
    RATES: "sst-rate-boundary-files",
    BOUNDARY: "sst-rate-boundary-files",
    ZIP4: "wa-dor-rate-files",
    CODES: "wa-dor-rate-files",
    ADDRESSES: "wa-dor-rate-files",
    SIMPLE: "",
}
"""Published source of each layout, an id of sources.csv; the simple CSV is ours."""

GIVES_CODES: Final = (RATES, CODES)
"""Layouts that give rates of jurisdictions; the others say where which rate applies."""

NEEDS: Final = {BOUNDARY: RATES, ADDRESSES: CODES}
"""Layouts that mean nothing without another one of the same state."""

_WASHINGTON: Final = "US-WA"
_NAME: Final = re.compile(
    r"(?P<state>[A-Z]{2})(?P<kind>[RB])(?P<quarter>\d{4}Q[1-4])(?P<posted>[A-Z]{3}\d{2})(?:\.[A-Z]+)*",
    re.ASCII,
)
"""File name of the standard: state, R or B, quarter from which it holds, month and day on which it was posted."""


@dataclass(frozen=True)
class Given:
    """One file as it was given: `place` is "" for a layout whose rows name their state."""

    path: Path
    layout: str
    place: str
    sha256: str

    @property
    def name(self) -> str:
        """The file's own name."""
        return self.path.name


def recognised(path: Path) -> Given:
    """Find the layout of a file; raises E585 (cannot be read), E584 (no known layout)."""
    digest = sha256_of(path)
    match = _NAME.fullmatch(path.name.upper())
    if match is not None and f"US-{match['state']}" in places.codes():
        return Given(path, RATES if match["kind"] == "R" else BOUNDARY, f"US-{match['state']}", digest)
    head = beginning(path)
    cells = tuple(cell.strip().lower() for cell in next(csv.reader([head]), []))
    for layout, header in HEADERS.items():
        if cells == header:
            return Given(path, layout, "" if layout == SIMPLE else _WASHINGTON, digest)
    raise refuse("E584", file=str(path), value=head[:80], header=",".join(HEADERS[SIMPLE]))
