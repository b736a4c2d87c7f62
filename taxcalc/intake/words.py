"""Words from text: what each distinct cell of a column of words means, as a number."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple
from zlib import crc32

import numpy as np

from taxcalc import places
from taxcalc.columns import (
    BAD_NUMBER,
    NO_NUMBER,
    PRODUCT_CLASSES,
    PRODUCT_WORDS,
    TAX_INCLUDED_BY_PROFILE,
    Buyer,
    Channel,
    Entry,
)
from taxcalc.intake.texts import GOOD
from taxcalc.money import CURRENCY_CODE
from taxcalc.set_aside import REASON_CODE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

BLANK_CURRENCY, UNREADABLE_CURRENCY = -2, -1

_YES = dict.fromkeys(("yes", "true", "y", "1"), 1)
_NO = dict.fromkeys(("no", "false", "n", "0"), 0)
_CLASS_OF = {name: code for code, name in enumerate(PRODUCT_CLASSES)}
_CLASSES = {
    **{name.replace("_", " "): code for name, code in _CLASS_OF.items()},
    **{PRODUCT_WORDS[name]: code for name, code in _CLASS_OF.items()},
    "wall art posters": _CLASS_OF["wall_art"],
    "drinkware homeware": _CLASS_OF["homeware"],
}

# column → (words, value of a blank cell, reason where the word is not known)
WORDS: dict[str, tuple[Mapping[str, int], int, str]] = {
    "entry": ({entry.name.lower(): int(entry) for entry in Entry}, int(Entry.SALE), "unknown_entry"),
    "channel": (
        {channel.name.lower(): int(channel) for channel in Channel},
        int(Channel.OWN),
        "unknown_channel",
    ),
    "tax_included": ({**_YES, **_NO}, TAX_INCLUDED_BY_PROFILE, "unknown_yes_no"),
    "buyer_exempt": (
        {
            **dict.fromkeys(_NO, int(Buyer.CONSUMER)),
            **dict.fromkeys(_YES, int(Buyer.EXEMPT)),
            "resale": int(Buyer.RESALE),
            "exempt": int(Buyer.EXEMPT),
        },
        int(Buyer.CONSUMER),
        "unknown_buyer_exempt",
    ),
    "product_class": (_CLASSES, _CLASS_OF["other"], "unknown_product_class"),
}

_OTHER_CURRENCY_WORDS = {"RMB": "CNY", "UKP": "GBP"}
_WHOLE = re.compile(r"-?[0-9]{1,9}(?:\.0+)?", re.ASCII)


class Meanings(NamedTuple):
    """One number a distinct text, and a reason code or GOOD."""

    numbers: NDArray[np.int64]
    fault: NDArray[np.int8]


def read_words(column: str, texts: Sequence[str]) -> Meanings:
    """Read the distinct texts of a column of words; case and outer blanks do not matter."""
    words, blank, reason = WORDS[column]
    read = [words.get(key, None) if (key := _plain(text)) else blank for text in texts]
    return _meanings(read, REASON_CODE[reason], blank)


def read_currencies(texts: Sequence[str]) -> NDArray[np.int16]:
    """Read currency codes; BLANK_CURRENCY and UNREADABLE_CURRENCY stand for what is none."""
    keys = [text.strip().upper() for text in texts]
    read = [
        CURRENCY_CODE.get(_OTHER_CURRENCY_WORDS.get(key, key), UNREADABLE_CURRENCY) if key else BLANK_CURRENCY
        for key in keys
    ]
    return np.array(read, np.int16)


def read_quantities(texts: Sequence[str]) -> Meanings:
    """Read whole numbers, negative ones too; blank is 1, anything else (and zero) is `bad_quantity`."""
    read = [1 if not text.strip() else _whole(text) or None for text in texts]
    return _meanings(read, REASON_CODE["bad_quantity"], 1)


def read_buyer_numbers(texts: Sequence[str]) -> NDArray[np.int16]:
    """Give the place code of the country in each VAT number.

    BAD_NUMBER stands for a wrong form, NO_NUMBER for a blank cell. Only the form is proved (check digits
    where the member state has them).
    """
    numbers = [_place_of_number(text) if text.strip() else NO_NUMBER for text in texts]
    return np.array(numbers, np.int16)


def mark_texts_apart(texts: Sequence[str]) -> NDArray[np.int32]:
    """Give different texts different numbers, the same in every block and run; blank ones 0. Outer blanks do not matter."""
    marks = [crc32(text.strip().encode("utf-8", "surrogatepass")) for text in texts]
    return np.array(marks, np.uint32).view(np.int32)


@lru_cache(maxsize=100_000)
def _place_of_number(text: str) -> int:
    """Read one VAT number. Greek numbers begin with EL; Northern Ireland's, XI, follow the British form."""
    from stdnum.eu import vat  # noqa: PLC0415 - only where a file has such numbers
    from stdnum.gb import vat as british  # noqa: PLC0415 - as above

    number = re.sub(r"[\s.-]", "", text).upper()
    prefix = number[:2]
    valid = british.is_valid(number[2:]) if prefix == "XI" else vat.is_valid(number)
    country = {"EL": "GR"}.get(prefix, prefix)
    return places.index(country) if valid and country in places.codes() else BAD_NUMBER


def _plain(text: str) -> str:
    """Fold case, outer blanks, and the marks between words."""
    return " ".join(text.replace("_", " ").replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").casefold().split())


def _whole(text: str) -> int:
    """Read one whole number, also written as 2.0; 0 for anything else."""
    return int(text.partition(".")[0]) if _WHOLE.fullmatch(text) else 0


def _meanings(read: Sequence[int | None], reason: int, instead: int) -> Meanings:
    """Turn what was read into arrays; None is a fault."""
    numbers = np.array([instead if number is None else number for number in read], np.int64)
    fault = np.array([GOOD if number is not None else reason for number in read], np.int8)
    return Meanings(numbers, fault)
