"""The boundary file of the Streamlined Sales Tax technical standard: which jurisdictions apply to which ZIP codes.

Its layout could not be read to the end in any published text: two numberings of its fields are known, and the letters
of its record types, A (addresses), 4 (ZIP+4) and Z (ZIP), are from memory. So the file is believed only where it proves
itself: all rows have the state's code in the same one of two fields, counts of fields differ by whole groups of three,
counties are counties of the state. Otherwise it is refused, with lines of it. Streets are not kept; an address range
tells which rates occur in its ZIP code.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from taxcalc.local_rates.cells import NONE, SHOWN, Column, refused
from taxcalc.local_rates.files import blocks
from taxcalc.local_rates.given import ADDRESS, PLUS4, SPANS_OF, ZIP, ZIP4, Rows, joined, rows_of
from taxcalc.local_rates.standard_rates import STATE, numeric_code
from taxcalc.messages import complain, refuse

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from taxcalc.local_rates.files import Block
    from taxcalc.tables.load import Tables

    Ints = NDArray[np.int64]

COUNTY, CITY = "00", "01"
GROUP: Final = 3
MOST_GROUPS: Final = 20
LEVELS: Final = {"A": ADDRESS, "4": ZIP4, "Z": ZIP}
_TYPE, _BEGIN, _END, _ADDRESS_PARTS = 0, 1, 2, range(3, 17)
_ADDRESS_ZIP, _ADDRESS_PLUS4, _LOW, _LOW_PLUS4, _HIGH, _HIGH_PLUS4 = 15, 16, 17, 18, 19, 20


@dataclass(frozen=True)
class Numbering:
    """Where the fields behind the ZIP codes stand, counted from 0; `first_group` is the first special district."""

    state: int
    county: int
    place: int
    first_group: int


OLDER: Final = Numbering(state=21, county=22, place=23, first_group=27)
"""State is element 22, county 23, the first district's code 29 (Ohio Department of Taxation)."""
LATER: Final = Numbering(state=22, county=24, place=25, first_group=29)
"""With the composite code before the state and the state indicator behind it (from memory)."""


def read_boundary(path: Path, place: str, tables: Tables) -> Rows:
    """Read a boundary file of a state as spans; raises E562 to E564, E585 and E569 with the lines that do not fit."""
    numeric = numeric_code(tables, place)
    numbering = _numbering(path, numeric)
    codes = tables["us/state_codes"]
    counties = frozenset(str(codes["county_codes"][codes.lookup(place=place)]).split())
    return joined([_spans(block, path, numbering, counties) for block in blocks(path)], SPANS_OF)


def _numbering(path: Path, numeric: str) -> Numbering:
    """Find which numbering the whole file follows: the only one with the state's code in every row (E569)."""
    fits = {numbering.state: True for numbering in (OLDER, LATER)}
    shown: list[tuple[int, str]] = []
    left = None
    for block in blocks(path):
        left = block.counts[0] % GROUP if left is None else left
        odd = np.flatnonzero((block.counts % GROUP != left) | (block.counts <= LATER.state))
        if odd.size:
            raise _lines(block, path, odd, "the number of fields differs by other than whole groups of three")
        for field in fits:
            column = Column(block, field, "", str(path))
            fits[field] &= all(text == numeric for text in column.texts)
        shown = shown or [(int(block.rows[at]), block.line(at)) for at in range(min(SHOWN, block.size))]
    if left is None:
        raise refuse("E564", file=str(path))
    found = [numbering for numbering in (OLDER, LATER) if fits[numbering.state]]
    if len(found) != 1 or (found[0].first_group - left) % GROUP:
        which = (
            "both of the fields 22 and 23 hold" if len(found) > 1 else "neither field 22 nor field 23 holds"
        )
        because = f"{which} the state's code {numeric} in every row"
        if len(found) == 1:
            because = "the fields behind the state's code are no whole groups of three"
        raise refused(
            complain("E569", file=str(path), row=row, value=line[:160], because=because)
            for row, line in shown
        )
    return found[0]


def _lines(block: Block, path: Path, which: Ints, because: str) -> Exception:
    """Show lines that do not fit."""
    return refused(
        complain("E569", file=str(path), row=int(block.rows[at]), value=block.line(at)[:160], because=because)
        for at in which[:SHOWN].tolist()
    )


def _spans(block: Block, path: Path, numbering: Numbering, counties: frozenset[str]) -> Rows:
    """Read one block."""
    groups = (len(block.columns) - numbering.first_group) // GROUP
    short = np.flatnonzero(block.counts < numbering.first_group)
    if short.size or groups > MOST_GROUPS:
        raise _lines(
            block,
            path,
            short if short.size else np.arange(1),
            "the row ends before the districts or has too many",
        )

    def column(at: int, name: str) -> Column:
        return Column(block, at, name, str(path))

    kind = column(_TYPE, "record type")
    level = kind.read(LEVELS.get, "a record type", "Write A, 4 or Z.")
    first, last = _zip_codes(column, level)
    backwards = np.flatnonzero(first > last)
    if backwards.size:
        raise _lines(block, path, backwards, "the range of ZIP codes runs backwards")
    names, stack = _stacks(block, numbering, groups, column, counties)
    return rows_of(
        names,
        stack,
        level=level,
        first=first,
        last=last,
        key=_address_keys(block, level == ADDRESS),
        start=column(_BEGIN, "beginning effective date").days(),
        stop=column(_END, "ending effective date").days(end=True),
        file=np.zeros(block.size, np.int64),
        row=block.rows,
    )


def _zip_codes(column: Any, level: Ints) -> tuple[Ints, Ints]:  # noqa: ANN401 - a function
    """Read first and last ZIP+4 of every row as numbers of nine digits."""
    by_address, by_zip4, by_zip = level == ADDRESS, level == ZIP4, level == ZIP
    at_address = column(_ADDRESS_ZIP, "ZIP code").digits(5, where=by_address)
    column(_ADDRESS_PLUS4, "plus 4").digits(4, blank=True, where=by_address)
    low = np.where(by_address, at_address, column(_LOW, "ZIP code low").digits(5, where=~by_address))
    high = np.where(by_address, at_address, column(_HIGH, "ZIP code high").digits(5, where=~by_address))
    ends = []
    for at, name in ((_LOW_PLUS4, "ZIP extension low"), (_HIGH_PLUS4, "ZIP extension high")):
        extension = column(at, name)
        ends.append(extension.digits(4, where=by_zip4))
        extension.read(
            lambda text: None if text else NONE, "blank, as in a row of type Z", "Leave it out.", by_zip
        )
    first = low * PLUS4 + np.where(by_zip4, ends[0], 0)
    return first, high * PLUS4 + np.where(by_zip4, ends[1], PLUS4 - 1)


def _stacks(
    block: Block,
    numbering: Numbering,
    groups: int,
    column: Any,  # noqa: ANN401 - a function
    counties: frozenset[str],
) -> tuple[list[str], Ints]:
    """Name the jurisdictions of every row in one text, and give the distinct texts and the one of each row."""
    county, place = column(numbering.county, "county"), column(numbering.place, "place")
    county.read(
        lambda text: 0 if not text or text in counties else None,
        "a county of the state",
        "Three digits of the list in us/state_codes, or blank.",
    )
    place.digits(5, blank=True)
    parts = [
        _prefixed(block.columns[numbering.state], f"{STATE}/"),
        _prefixed(block.columns[numbering.county], f"{COUNTY}/"),
        _prefixed(block.columns[numbering.place], f"{CITY}/"),
    ]
    for group in range(groups):
        at = numbering.first_group + GROUP * group
        code, kind = (
            column(at + 1, "special tax district code"),
            column(at + 2, "type of taxing authority code"),
        )
        lonely = np.flatnonzero(code.blank != kind.blank)
        if lonely.size:
            raise _lines(
                block,
                column(_TYPE, "").file,
                lonely,
                "a district has a code without a type, or a type without a code",
            )
        code.words(r"[0-9A-Z]{0,5}", "a code of a district", "Up to five digits, or blank.")
        kind.words(r"(\d{2,3})?", "a type of taxing authority", "Two digits such as 63, or blank.")
        if not code.blank.all():
            full = pc.binary_join_element_wise(block.columns[at + 2], block.columns[at + 1], "/")
            parts.append(pc.if_else(pa.array(code.blank), None, full))
    texts = pc.binary_join_element_wise(*parts, " ", null_handling="skip").dictionary_encode()
    found = texts.dictionary.to_pylist()
    names = [" ".join(sorted(text.split())) for text in found]
    codes = np.asarray(texts.indices).astype(np.int64)
    twice = np.array([len(set(name.split())) != len(name.split()) for name in names], bool)[codes]
    if twice.any():
        raise _lines(
            block, column(_TYPE, "").file, np.flatnonzero(twice), "a jurisdiction stands in the row twice"
        )
    return names, codes


def _prefixed(texts: Any, prefix: str) -> Any:  # noqa: ANN401 - Arrow has no types of its own
    """Write the kind before each code, and nothing where there is no code."""
    stripped = pc.utf8_trim_whitespace(texts)
    blank = pc.equal(stripped, "")
    return pc.if_else(blank, None, pc.binary_join_element_wise(pa.scalar(prefix), stripped, ""))


def _address_keys(block: Block, of_address: NDArray[np.bool_]) -> Ints:
    """Give a number for the street and house numbers of address rows, so that the same address is recognised again."""
    keys = np.zeros(block.size, np.int64)
    if of_address.any():
        from pandas.util import hash_array  # noqa: PLC0415 - heavy, and few files have such rows

        mask = pa.array(of_address)
        parts = [block.columns[at].filter(mask) for at in _ADDRESS_PARTS]
        texts = pc.binary_join_element_wise(*parts, "\x1f").to_numpy(zero_copy_only=False)
        keys[of_address] = hash_array(texts, categorize=False).view(np.int64)
    return keys
