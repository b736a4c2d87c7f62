"""One block of cells to canonical lines: every column is checked and read by its distinct texts.

The first thing wrong with a row, in the order of the steps here, is the reason it is set aside for. What
cannot be read as an amount counts as 0 in the tie-out's amounts; its row is set aside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import AMOUNT_CURRENCY, AMOUNTS, BY_NAME, NO_DAY, NO_PLACE, Blank, Entry
from taxcalc.intake.amounts import read_decimals, to_minor
from taxcalc.intake.dates import read_days
from taxcalc.intake.texts import GOOD, Coded, bucket_of, bytes_of, damaged_id
from taxcalc.intake.words import (
    BLANK_CURRENCY,
    UNREADABLE_CURRENCY,
    WORDS,
    read_buyer_numbers,
    read_currencies,
    read_quantities,
    read_words,
)
from taxcalc.money import EXPONENTS
from taxcalc.set_aside import COLUMN_CODE, REASON_CODE, REASON_NAMES, Slips, shortened
from taxcalc.tie_out import sums_by_currency

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.intake.addresses import Addresses
    from taxcalc.intake.amounts import Decimals
    from taxcalc.intake.dates import Days
    from taxcalc.spool import Column

NAMED = ("marketplace", "fulfiller")
"""Columns whose numbers point into a list of names of the whole run."""

_INSTEAD = {"marketplace": "", "fulfiller": "main"}
_NOTHING_MINOR = 2


@dataclass(frozen=True)
class Setup:
    """What the reading of every block of a file needs."""

    file: int
    time_zone: str
    buckets: int
    addresses: Addresses
    constants: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


@dataclass
class Block:
    """Cells of some records, as text. `ordinal` numbers the rows among the records of the block, from 0."""

    columns: dict[str, pa.Array]
    ordinal: NDArray[np.int32]
    records: int
    misfits: list[tuple[int, str]] = field(default_factory=list)
    damaged: NDArray[np.bool_] | None = None
    repeated: NDArray[np.bool_] | None = None


@dataclass
class Outcome:
    """Lines of a block ordered by bucket (`bounds` says where each begins), and what was set aside of it.

    Rows and names are those of the block; whoever collects the blocks moves them to those of the run.
    """

    order_id: pa.Array
    line_id: pa.Array | None
    numbers: dict[str, Column]
    bounds: NDArray[np.int64]
    names: dict[str, list[str]]
    records: int
    rows: int
    slips: Slips
    reasons: dict[str, int]
    read: dict[tuple[int, str], int]
    set_aside: dict[tuple[int, str], int]
    damaged_id: tuple[int, str] | None = None


class _Reading:
    """The state of reading one block."""

    def __init__(self, block: Block, setup: Setup) -> None:
        """Begin with no line at fault."""
        self.block, self.setup = block, setup
        self.size = len(block.ordinal)
        self.numbers: dict[str, Column] = {"file": setup.file, "row": block.ordinal}
        self.names: dict[str, list[str]] = {}
        self.reason = np.full(self.size, GOOD, np.int8)
        self.column = np.zeros(self.size, np.int8)
        self._no_codes = np.zeros(self.size, np.int32)

    def coded(self, name: str) -> Coded:
        """Give a column as distinct texts and codes; an absent column is blank or its constant throughout."""
        import pyarrow as pa  # noqa: PLC0415 - heavy

        cells = self.block.columns.get(name)
        if cells is None:
            return Coded(pa.array([self.setup.constants.get(name, "")], pa.string()), self._no_codes)
        texts, ours = cells.dictionary, self.setup.values.get(name)
        if ours is not None:
            texts = pa.array([ours.get(text.strip(), text) for text in texts.to_pylist()], pa.string())
        return Coded(texts, cells.indices.to_numpy())

    def mark(self, rows: NDArray[np.bool_], reason: str, column: str) -> None:
        """Set rows aside that are not set aside yet."""
        new = rows & (self.reason == GOOD)
        self.reason[new] = REASON_CODE[reason]
        self.column[new] = COLUMN_CODE[column]

    def mark_texts(self, coded: Coded, fault: NDArray[np.int8], column: str) -> None:
        """Set rows aside whose text is at fault: `fault` has a reason code or GOOD for each distinct text."""
        for code in np.unique(fault[fault != GOOD]).tolist():
            self.mark(coded.rows(fault == code), REASON_NAMES[code], column)

    def is_entry(self, entry: Entry) -> NDArray[np.bool_]:
        """Say which rows are of one kind of entry."""
        return np.broadcast_to(np.equal(self.numbers["entry"], int(entry)), (self.size,))


def read_block(block: Block, setup: Setup) -> Outcome:
    """Read a block of cells into canonical lines."""
    reading = _Reading(block, setup)
    _damage(reading)
    _order(reading)
    _days(reading)
    _words(reading)
    _currencies(reading)
    _quantity(reading)
    for column in AMOUNTS:
        _amount(reading, column)
    _places(reading)
    _buyer_and_names(reading)
    return _outcome(reading)


def _damage(reading: _Reading) -> None:
    """Set aside rows with zero bytes and repeated headers."""
    if reading.block.damaged is not None:
        reading.mark(reading.block.damaged, "nul_in_cell", "")
    if reading.block.repeated is not None:
        reading.mark(reading.block.repeated, "repeated_header", "")


def _order(reading: _Reading) -> None:
    """Set aside rows without an order number."""
    import pyarrow.compute as pc  # noqa: PLC0415 - heavy

    ids = reading.block.columns["order_id"]
    raw = bytes_of(ids)
    if (
        raw.data.size
        and (raw.data[np.minimum(raw.starts, raw.data.size - 1)] > ord(" ")).all()
        and raw.lengths.all()
    ):
        return
    blank = pc.equal(pc.utf8_length(pc.utf8_trim_whitespace(ids)), 0).to_numpy(zero_copy_only=False)
    reading.mark(blank, "no_order_id", "order_id")


def _days(reading: _Reading) -> None:
    """Read the three days."""
    coded = reading.coded("ordered_on")
    read = _day(reading, coded, "ordered_on")
    missing = np.where(read.blank, REASON_CODE["no_date"], GOOD).astype(np.int8)
    reading.mark_texts(coded, missing, "ordered_on")
    day = reading.numbers["day"] = coded.spread(read.day)
    reading.numbers["second"] = coded.spread(read.second)
    for column, name, instead in (
        ("supplied_on", "tax_day", day),
        ("original_ordered_on", "original_day", NO_DAY),
    ):
        coded = reading.coded(column)
        read = _day(reading, coded, column)
        if read.blank.all():
            reading.numbers[name] = instead
        else:
            rows = np.where(coded.rows(read.blank), instead, coded.rows(read.day))
            reading.numbers[name] = rows.astype(np.int32)


def _day(reading: _Reading, coded: Coded, column: str) -> Days:
    """Read one column of days and set aside what is none."""
    read = read_days(coded.texts, reading.setup.time_zone)
    reading.mark_texts(coded, read.fault, column)
    return read


def _words(reading: _Reading) -> None:
    """Read the columns of words."""
    for column in WORDS:
        coded = reading.coded(column)
        read = read_words(column, coded.texts.to_pylist())
        reading.mark_texts(coded, read.fault, column)
        name = "buyer" if column == "buyer_exempt" else column
        reading.numbers[name] = coded.spread(read.numbers.astype(np.int8))


def _currencies(reading: _Reading) -> None:
    """Read the currency of the line and of the fulfiller, which is the line's where blank."""
    codes = {"no_currency": BLANK_CURRENCY, "unknown_currency": UNREADABLE_CURRENCY}
    coded = reading.coded("currency")
    read = read_currencies(coded.texts.to_pylist())
    for reason, code in codes.items():
        reading.mark_texts(
            coded, np.where(read == code, REASON_CODE[reason], GOOD).astype(np.int8), "currency"
        )
    line = reading.numbers["currency"] = coded.spread(np.maximum(read, UNREADABLE_CURRENCY))
    coded = reading.coded("fulfiller_currency")
    read = read_currencies(coded.texts.to_pylist())
    bad = np.where(read == UNREADABLE_CURRENCY, REASON_CODE["unknown_currency"], GOOD).astype(np.int8)
    reading.mark_texts(coded, bad, "fulfiller_currency")
    blank = coded.rows(read == BLANK_CURRENCY)
    all_blank = bool((read == BLANK_CURRENCY).all())
    own = line if all_blank else np.where(blank, line, coded.rows(read)).astype(np.int16)
    reading.numbers["fulfiller_currency"] = own


def _quantity(reading: _Reading) -> None:
    """Read the quantity; on a refund it may be negative and is kept without its sign."""
    coded = reading.coded("quantity")
    read = read_quantities(coded.texts.to_pylist())
    reading.mark_texts(coded, read.fault, "quantity")
    if (read.numbers < 0).any():
        negative = coded.rows(read.numbers < 0) & ~reading.is_entry(Entry.REFUND)
        reading.mark(negative, "bad_quantity", "quantity")
    reading.numbers["quantity"] = coded.spread(np.abs(read.numbers).astype(np.int32))


def _amount(reading: _Reading, column: str) -> None:
    """Read one column of amounts into minor units of its currency, negative on refunds."""
    coded = reading.coded(column)
    read = read_decimals(coded.texts)
    if BY_NAME[column].required:
        missing = np.where(read.blank, REASON_CODE["no_amount"], GOOD).astype(np.int8)
        reading.mark_texts(coded, missing, column)
    else:
        _note_blank(reading, column, coded, read.blank)
    if read.blank.all():
        reading.numbers[column] = 0
        return
    minor = _minor(reading, column, coded, read)
    refund = reading.is_entry(Entry.REFUND)
    if (read.digits < 0).any():
        reading.mark((minor < 0) & ~refund, "negative_sale", column)
    at = np.flatnonzero(refund)
    minor[at] = -np.abs(minor[at])
    reading.numbers[column] = minor


def _note_blank(reading: _Reading, column: str, coded: Coded, blank: NDArray[np.bool_]) -> None:
    """Set the bit of a blank optional amount in `blanks`."""
    bits = reading.numbers.get("blanks", 0)
    bit = np.int8(Blank[column.upper()])
    if blank.all():
        reading.numbers["blanks"] = bits | int(bit)
    elif blank.any():
        reading.numbers["blanks"] = np.bitwise_or(bits, coded.rows(blank) * bit).astype(np.int8)
    else:
        reading.numbers["blanks"] = bits


def _minor(reading: _Reading, column: str, coded: Coded, read: Decimals) -> NDArray[np.int64]:
    """Scale to minor units: once where all currencies of the block have the same number of decimals."""
    currency = reading.numbers[AMOUNT_CURRENCY[column]]
    exponents = np.where(np.less(currency, 0), _NOTHING_MINOR, EXPONENTS[currency])
    present = np.flatnonzero(np.bincount(exponents.reshape(-1))).tolist()
    whole: NDArray[np.int64] = np.zeros(0, np.int64)
    for exponent in present:
        of_text, fault = to_minor(read, exponent)
        if len(present) == 1:
            reading.mark_texts(coded, fault, column)
            return coded.rows(of_text)
        here = exponents == exponent
        for code in np.unique(fault[fault != GOOD]).tolist():
            reading.mark(coded.rows(fault == code) & here, REASON_NAMES[code], column)
        whole = np.where(here, coded.rows(of_text), whole if whole.size else 0)
    return whole


def _places(reading: _Reading) -> None:
    """Find where the goods arrive and where they started."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    to = [reading.coded(name) for name in ("ship_to_country", "ship_to_region", "ship_to_postal_code")]
    found = reading.setup.addresses.find(*to)
    column = {"no_country": "ship_to_country", "zip_state_conflict": "ship_to_postal_code"}
    for code in np.unique(found.fault[found.fault != GOOD]).tolist():
        reading.mark(found.fault == code, REASON_NAMES[code], column[REASON_NAMES[code]])
    reading.numbers["destination"], reading.numbers["zone"] = found.place, found.zone
    country, region = (reading.coded(name) for name in ("ship_from_country", "ship_from_region"))
    if not any(text.strip() for coded in (country, region) for text in coded.texts.to_pylist()):
        reading.numbers["ship_from"] = NO_PLACE
        return
    no_postal = Coded(pa.array([""], pa.string()), np.zeros(reading.size, np.int32))
    found = reading.setup.addresses.find(country, region, no_postal)
    blank = country.rows(_blank(country)) & region.rows(_blank(region))
    reading.mark((found.fault != GOOD) & ~blank, "bad_ship_from", "ship_from_country")
    reading.numbers["ship_from"] = np.where(blank, np.int16(NO_PLACE), found.place)


def _blank(coded: Coded) -> NDArray[np.bool_]:
    """Say which distinct texts are blank."""
    return np.array([not text.strip() for text in coded.texts.to_pylist()], np.bool_)


def _buyer_and_names(reading: _Reading) -> None:
    """Read VAT numbers, and number the marketplaces and fulfillers of the block."""
    coded = reading.coded("buyer_tax_number")
    numbers = read_buyer_numbers(coded.texts.to_pylist())
    reading.numbers["buyer_number"] = coded.spread(numbers)
    for column in NAMED:
        coded = reading.coded(column)
        names = [text.strip() or _INSTEAD[column] for text in coded.texts.to_pylist()]
        reading.names[column] = names
        reading.numbers[column] = coded.spread(np.arange(len(names), dtype=np.int32))


def _outcome(reading: _Reading) -> Outcome:
    """Order good lines by bucket, list the others, and sum both for the tie-out."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    ids, line = reading.block.columns["order_id"], reading.coded("line_id")
    good = reading.reason == GOOD
    buckets = bucket_of(ids, reading.setup.buckets)
    order = np.argsort(buckets, kind="stable")
    if not good.all():
        order = order[good[order]]
    rows = pa.array(order)
    counts = np.bincount(buckets[order], minlength=reading.setup.buckets)
    moved = {name: one if isinstance(one, int) else one[order] for name, one in reading.numbers.items()}
    bad = np.flatnonzero(~good)
    misfits = reading.block.misfits
    codes, many = np.unique(reading.reason[bad], return_counts=True)
    reasons = {
        REASON_NAMES[code]: int(count) for code, count in zip(codes.tolist(), many.tolist(), strict=True)
    }
    if misfits:
        reasons["wrong_number_of_fields"] = len(misfits)
    has_lines = len(line.texts) > 1 or line.texts[0].as_py() != ""
    return Outcome(
        order_id=ids.take(rows),
        line_id=line.texts.take(pa.array(line.codes[order])) if has_lines else None,
        numbers=moved,
        bounds=np.concatenate(([0], np.cumsum(counts))),
        names=reading.names,
        records=reading.block.records,
        rows=reading.size + len(misfits),
        slips=_slips(reading, bad),
        reasons=reasons,
        read=_sums(reading, None),
        set_aside=_sums(reading, bad) if bad.size else {},
        damaged_id=damaged_id(ids),
    )


def _sums(reading: _Reading, rows: NDArray[np.int64] | None) -> dict[tuple[int, str], int]:
    """Sum the amounts of all or of some rows by currency and column."""
    names = {*AMOUNTS, *AMOUNT_CURRENCY.values()}
    columns = {name: reading.numbers[name] for name in names}
    if rows is not None:
        columns = {name: one if isinstance(one, int) else one[rows] for name, one in columns.items()}
    return sums_by_currency(columns, reading.size if rows is None else rows.size)


def _slips(reading: _Reading, bad: NDArray[np.int64]) -> Slips:
    """List the rows set aside with the text that was wrong."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    misfits = reading.block.misfits
    values = np.full(len(bad), "", dtype=object)
    for code in np.unique(reading.column[bad]).tolist():
        here = np.flatnonzero(reading.column[bad] == code)
        values[here] = _texts(reading, code, bad[here])
    ordinals = [ordinal for ordinal, _ in misfits]
    mis = np.full(len(misfits), REASON_CODE["wrong_number_of_fields"], np.int8)
    texts = pa.array([*values.tolist(), *(text for _, text in misfits)], pa.string())
    return Slips(
        np.full(len(texts), reading.setup.file, np.int16),
        np.concatenate((reading.block.ordinal[bad], np.array(ordinals, np.int32))),
        np.concatenate((reading.column[bad], np.zeros(len(misfits), np.int8))),
        np.concatenate((reading.reason[bad], mis)),
        shortened(texts),
    )


def _texts(reading: _Reading, code: int, rows: NDArray[np.int64]) -> list[str]:
    """Give the texts of one column, by its code, in some rows."""
    from taxcalc.set_aside import COLUMN_NAMES  # noqa: PLC0415

    name = COLUMN_NAMES[code]
    if not name:
        return [""] * len(rows)
    if name == "order_id":
        texts: list[str] = reading.block.columns[name].take(rows).to_pylist()
        return texts
    coded = reading.coded(name)
    found: list[str] = coded.texts.take(coded.codes[rows]).to_pylist()
    return found
