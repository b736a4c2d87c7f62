"""The steps in which the columns of a block are read, each by its distinct texts.

The first thing wrong with a row, in the order of the steps, is the reason it is set aside for. What cannot be
read as an amount counts as 0 in the amounts of the tie-out; its row is set aside.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import arrow
from taxcalc.columns import AMOUNT_CURRENCY, AMOUNTS, BY_NAME, NO_DAY, NO_PLACE, Blank, Entry
from taxcalc.intake.amounts import read_decimals, to_minor
from taxcalc.intake.dates import read_days
from taxcalc.intake.sizes import too_large
from taxcalc.intake.texts import GOOD, Coded, bytes_of
from taxcalc.intake.words import (
    BLANK_CURRENCY,
    UNREADABLE_CURRENCY,
    WORDS,
    mark_texts_apart,
    read_buyer_numbers,
    read_currencies,
    read_quantities,
    read_words,
)
from taxcalc.set_aside import REASON_CODE, REASON_NAMES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from taxcalc.intake.amounts import Decimals
    from taxcalc.intake.dates import Days
    from taxcalc.intake.reading import Reading

NAMED = ("marketplace", "fulfiller")
"""Columns whose numbers point into a list of names of the whole run."""

_INSTEAD = {"marketplace": "", "fulfiller": "main"}


def read_columns(reading: Reading) -> None:
    """Read all columns of a block into `reading.numbers`, and mark what is at fault."""
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


def _damage(reading: Reading) -> None:
    """Set aside rows with zero bytes and repeated headers."""
    if reading.block.damaged is not None:
        reading.mark(reading.block.damaged, "nul_in_cell", "")
    if reading.block.repeated is not None:
        reading.mark(reading.block.repeated, "repeated_header", "")


def _order(reading: Reading) -> None:
    """Set aside rows without an order number."""
    ids = reading.block.columns["order_id"]
    raw = bytes_of(ids)
    if (
        raw.data.size
        and (raw.data[np.minimum(raw.starts, raw.data.size - 1)] > ord(" ")).all()
        and raw.lengths.all()
    ):
        return
    import pyarrow.compute as pc  # noqa: PLC0415 - heavy

    blank = arrow.numbers(pc.equal(pc.utf8_length(pc.utf8_trim_whitespace(ids)), 0))
    reading.mark(blank, "no_order_id", "order_id")


def _days(reading: Reading) -> None:
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


def _day(reading: Reading, coded: Coded, column: str) -> Days:
    """Read one column of days and set aside what is none."""
    read = read_days(coded.texts, reading.setup.time_zone)
    reading.mark_texts(coded, read.fault, column)
    return read


def _words(reading: Reading) -> None:
    """Read the columns of words."""
    for column in WORDS:
        coded = reading.coded(column)
        read = read_words(column, coded.texts.to_pylist())
        reading.mark_texts(coded, read.fault, column)
        name = "buyer" if column == "buyer_exempt" else column
        reading.numbers[name] = coded.spread(read.numbers.astype(np.int8))


def _currencies(reading: Reading) -> None:
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


def _quantity(reading: Reading) -> None:
    """Read the quantity; on a refund it may be negative and is kept without its sign."""
    coded = reading.coded("quantity")
    read = read_quantities(coded.texts.to_pylist())
    reading.mark_texts(coded, read.fault, "quantity")
    if (read.numbers < 0).any():
        negative = coded.rows(read.numbers < 0) & ~reading.is_entry(Entry.REFUND)
        reading.mark(negative, "bad_quantity", "quantity")
    reading.numbers["quantity"] = coded.spread(np.abs(read.numbers).astype(np.int32))


def _amount(reading: Reading, column: str) -> None:
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
    large = too_large(minor, reading.numbers[AMOUNT_CURRENCY[column]])
    if large is not None:
        reading.mark(large, "amount_too_large", column)
    refund = reading.is_entry(Entry.REFUND)
    if (read.digits < 0).any():
        reading.mark((minor < 0) & ~refund, "negative_sale", column)
    at = np.flatnonzero(refund)
    minor[at] = -np.abs(minor[at])
    reading.numbers[column] = minor


def _note_blank(reading: Reading, column: str, coded: Coded, blank: NDArray[np.bool_]) -> None:
    """Set the bit of a blank optional amount in `blanks`."""
    bits = reading.numbers.get("blanks", 0)
    bit = np.int8(Blank[column.upper()])
    if blank.all():
        reading.numbers["blanks"] = bits | int(bit)
    elif blank.any():
        reading.numbers["blanks"] = np.bitwise_or(bits, coded.rows(blank) * bit).astype(np.int8)
    else:
        reading.numbers["blanks"] = bits


def _minor(reading: Reading, column: str, coded: Coded, read: Decimals) -> NDArray[np.int64]:
    """Scale to minor units: once where all currencies of the block have the same number of decimals."""
    present, exponents = reading.exponents(AMOUNT_CURRENCY[column])
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


def _places(reading: Reading) -> None:
    """Find where the goods arrive and where they started."""
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
    no_postal = Coded(arrow.texts([""]), np.zeros(reading.size, np.int32))
    found = reading.setup.addresses.find(country, region, no_postal)
    blank = country.rows(_blank(country)) & region.rows(_blank(region))
    reading.mark((found.fault != GOOD) & ~blank, "bad_ship_from", "ship_from_country")
    reading.numbers["ship_from"] = np.where(blank, np.int16(NO_PLACE), found.place)


def _blank(coded: Coded) -> NDArray[np.bool_]:
    """Say which distinct texts are blank."""
    return np.array([not text.strip() for text in coded.texts.to_pylist()], np.bool_)


def _buyer_and_names(reading: Reading) -> None:
    """Read VAT numbers, and number the marketplaces and fulfillers of the block."""
    coded = reading.coded("buyer_tax_number")
    texts = coded.texts.to_pylist()
    reading.numbers["buyer_number"] = coded.spread(read_buyer_numbers(texts))
    reading.numbers["buyer_mark"] = coded.spread(mark_texts_apart(texts))
    for column in NAMED:
        coded = reading.coded(column)
        names = [text.strip() or _INSTEAD[column] for text in coded.texts.to_pylist()]
        reading.names[column] = names
        reading.numbers[column] = coded.spread(np.arange(len(names), dtype=np.int32))
