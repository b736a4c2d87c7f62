"""Cells of a rate table as text → values by kind, or a slip that says what is wrong with the cell."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY, PRODUCT_CLASSES
from taxcalc.money import CURRENCIES, EXPONENTS
from taxcalc.tables.damage import THOUSANDS
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from taxcalc.tables.schema import Field, Kind

EVERY_CLASS = -1
"""Number of the product class `*`."""

EPOCH = date(1970, 1, 1).toordinal()

BLANKS: dict[Kind, object] = {
    "place": 0, "product_class": EVERY_CLASS, "product_classes": 0, "day": NO_DAY, "percent": NO_VALUE,
    "amount": NO_VALUE, "count": NO_VALUE, "yes_no": False, "text": "", "choice": "", "code": "", "currency": "", "pattern": "",
}  # fmt: skip
"""Value of a blank cell, and of the entry that row number -1 answers."""

DTYPES: dict[Kind, type] = {
    "place": np.int16, "product_class": np.int8, "product_classes": np.int64, "day": np.int32,
    "percent": np.int64, "amount": np.int64, "count": np.int64, "yes_no": np.bool_,
}  # fmt: skip
"""NumPy type of a kind; all others are object arrays of str."""

MINOR_DIGITS: dict[str, int] = dict(zip(CURRENCIES, EXPONENTS.tolist(), strict=True))

_DAY = re.compile(r"[12]\d{3}-\d\d-\d\d", re.ASCII)
_NUMBER = re.compile(r"(-?)(0|[1-9]\d{0,14})(?:\.(\d+))?", re.ASCII)  # 027 is a 0.27 that lost its point
_COUNT = re.compile(r"0|[1-9]\d{0,14}", re.ASCII)
_PPM_DIGITS = 4
_PERCENT_RANGE = (0, 400_000)
_LEAST_NEGATIVE = -10_000  # an average below zero comes from zones at a lower rate and is tiny
_MAY_BE_NEGATIVE = frozenset({"average_percent"})
_MAY_BE_SMALL = frozenset({"average_percent"})
_LEAST_RATE = 3_000  # 0.3 %: a smaller rate is a fraction written by mistake (0.0725 for 7.25)


@dataclass(frozen=True)
class Slip:
    """What is wrong with one cell: the id of the wording and what fills its braces."""

    id: str
    because: str = ""


def parse_column(field: Field, texts: Sequence[str], currencies: Sequence[str]) -> list[object]:
    """Parse each distinct cell once; an unreadable cell becomes a `Slip`, a blank one its blank value.

    `currencies` are the cells of the column `currency` (amounts are counted in its minor units).
    """
    blank = BLANKS[field.kind]
    if field.kind == "amount":
        pairs = list(zip(texts, currencies, strict=True))
        amounts = {pair: _amount(*pair) if pair[0] else blank for pair in set(pairs)}
        return [amounts[pair] for pair in pairs]
    read = _READERS.get(field.kind, _text)
    known = {text: read(text, field) if text else blank for text in set(texts)}
    return [known[text] for text in texts]


def to_array(kind: Kind, values: Sequence[object]) -> NDArray[np.generic]:
    """Make the array of a column, with the blank as one entry more at its end."""
    with_blank = [*values, BLANKS[kind]]
    if kind in DTYPES:
        return np.array(with_blank, dtype=DTYPES[kind])
    array = np.empty(len(with_blank), dtype=object)
    array[:] = with_blank
    return array


def _text(text: str, _: Field) -> str:
    """Take the text as it is."""
    return text


def _place(text: str, _: Field) -> int | Slip:
    """Read a place code."""
    try:
        return places.index(text)
    except KeyError:
        state = f"US-{text}"
        near = f" A US state is written {state}." if state in places.codes() else ""
        return Slip("E525", near)


def _product_class(text: str, _: Field) -> int | Slip:
    """Read a product class or `*`."""
    if text == "*":
        return EVERY_CLASS
    return PRODUCT_CLASSES.index(text) if text in PRODUCT_CLASSES else _no_choice((*PRODUCT_CLASSES, "*"))


def _product_classes(text: str, _: Field) -> int | Slip:
    """Read classes separated by spaces, or `*` for all, as a number whose bit n stands for class n."""
    if text == "*":
        return (1 << len(PRODUCT_CLASSES)) - 1
    names = set(text.split())
    if not names <= set(PRODUCT_CLASSES):
        return _no_choice((*PRODUCT_CLASSES, "*"))
    return sum(1 << PRODUCT_CLASSES.index(name) for name in names)


def _choice(text: str, field: Field) -> str | Slip:
    """Read one of the field's choices."""
    return text if text in field.choices else _no_choice(field.choices)


def _yes_no(text: str, _: Field) -> bool | Slip:
    """Read yes or no."""
    return text == "yes" if text in {"yes", "no"} else _no_choice(("yes", "no"))


def _no_choice(choices: Sequence[str]) -> Slip:
    """Say which values there are."""
    return Slip("E524", ", ".join(choices))


def _day(text: str, _: Field) -> int | Slip:
    """Read an ISO day as days since 1970-01-01."""
    if not _DAY.fullmatch(text):
        return Slip("E521")
    try:
        return date.fromisoformat(text).toordinal() - EPOCH
    except ValueError:
        return Slip("E521")


def _percent(text: str, field: Field) -> int | Slip:
    """Read a percentage as parts per million."""
    ppm = _scaled(text, _PPM_DIGITS)
    if ppm is None:
        return Slip("E522")
    least, most = _PERCENT_RANGE
    if ppm > most or ppm < (_LEAST_NEGATIVE if field.name in _MAY_BE_NEGATIVE else least):
        return Slip("E534")
    return Slip("E539") if 0 < ppm < _LEAST_RATE and field.name not in _MAY_BE_SMALL else ppm


def _amount(text: str, currency: str) -> int | Slip:
    """Read an amount as minor units of its currency."""
    if not currency:
        return Slip("E523", "has no currency beside it")
    if len(text.partition(".")[2]) == THOUSANDS:
        return Slip("E523", "could be thousands or decimals")
    minor = _scaled(text, MINOR_DIGITS.get(currency, 2))
    if minor is None or minor < 0:
        return Slip("E523", f"is no amount of {currency}")
    return minor


def _count(text: str, _: Field) -> int | Slip:
    """Read a whole number."""
    return int(text) if _COUNT.fullmatch(text) else Slip("E523", "is no whole number")


def _currency(text: str, _: Field) -> str | Slip:
    """Read an ISO 4217 code."""
    return text if text in MINOR_DIGITS else Slip("E524", "the three letters of ISO 4217, such as USD or EUR")


def _pattern(text: str, _: Field) -> str | Slip:
    """Read a regular expression."""
    try:
        re.compile(text)
    except re.error as error:
        return Slip("E524", f"a regular expression ({error})")
    return text


def _scaled(text: str, digits: int) -> int | None:
    """Read a decimal as a whole number of its `digits`-th decimal place; None where it is none or finer."""
    match = _NUMBER.fullmatch(text)
    if match is None:
        return None
    sign, whole, fraction = match.group(1), match.group(2), (match.group(3) or "").rstrip("0")
    if len(fraction) > digits:
        return None
    number = int(whole + fraction.ljust(digits, "0"))
    return -number if sign else number


_READERS: dict[Kind, Callable[[str, Field], object]] = {
    "place": _place, "product_class": _product_class, "product_classes": _product_classes, "choice": _choice,
    "day": _day, "percent": _percent, "count": _count, "currency": _currency, "yes_no": _yes_no, "pattern": _pattern,
}  # fmt: skip
