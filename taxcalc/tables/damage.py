"""What a spreadsheet leaves behind in a saved table: undone where only one reading is possible, else refused.

Undone: semicolons or tabs between the cells, a decimal comma, empty columns and cells at the end, capitals and
TRUE or FALSE for words of a fixed list, blanks that do not break. Refused elsewhere, with a mend: thousands marks,
percent signs, days in a local form, codes without their leading zeros. Nothing is ever guessed.
"""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from taxcalc.tables.schema import Field

SEPARATORS: Final = (",", ";", "\t")
THOUSANDS: Final = 3
"""Digits after a mark that may part thousands as well as decimals."""

_MINUS: Final = "\u2212"
_AROUND: Final = " \t\r\n\xa0\u2007\u202f\ufeff\u200b"
_DECIMAL_COMMA: Final = re.compile(r"-?[0-9]{1,15},([0-9]+)", re.ASCII)
_BOOLEANS: Final = {"true": "yes", "false": "no"}
_ERROR: Final = re.compile(r"#{3,}|#(?:NAME|REF|VALUE|DIV/0|N/A|NUM|NULL)[!?]?|Err:[0-9]{3}", re.ASCII)
_LOCAL_DAY: Final = re.compile(
    r"[0-9]{1,2}([./-] ?)[0-9]{1,2}\1[0-9]{4}|[0-9]{2}([./-])[0-9]{2}\2[0-9]{2}"
    r"|[0-9]{4}([./] ?)[0-9]{1,2}\3[0-9]{1,2}\.?",
    re.ASCII,
)
_TWO_FOR_ONE: Final = re.compile(r"[\xc2-\xf4][^\x00-\x7f]")
_LOST_SIGN: Final = re.compile(r"\w\?\w|(?<!\w)\?\w")
_PERHAPS: Final = re.compile(
    r"[\xc2-\xf4][^\x00-\x7f]|\ufffd|#|Err:|\w\?\w|\s\?\w|^[0-9][0-9./ -]+$", re.MULTILINE
)


def split(text: str, known: Collection[str]) -> list[list[str]]:
    """Split a file into records of trimmed cells, by the separator that gives the most known column names.

    Raises `csv.Error` for quotes that do not close.
    """
    first = text.partition("\n")[0]
    counts = {mark: sum(_trimmed(name) in known for name in _cells(first, mark)) for mark in SEPARATORS}
    mark = max(SEPARATORS, key=lambda each: counts[each])
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=mark)
    return _without_empty_end([[_trimmed(cell) for cell in record] for record in reader])


def _cells(line: str, mark: str) -> list[str]:
    """Split one line without caring for its quotes."""
    return [cell.strip().strip('"') for cell in line.split(mark)]


def _trimmed(cell: str) -> str:
    """Take blanks from both ends, those that do not break too."""
    return cell.strip() if cell.isascii() else cell.strip(_AROUND)


def _without_empty_end(records: list[list[str]]) -> list[list[str]]:
    """Drop the cells beyond the last column that has a name, as far as they are empty."""
    if not records:
        return records
    width = len(records[0])
    while width and not records[0][width - 1]:
        width -= 1
    return [record if any(record[width:]) else record[:width] for record in records]


def undone(field: Field, texts: Sequence[str]) -> list[str]:
    """Write the cells of a column as they were, where that is certain; leave all others as they are."""
    plain = _PLAIN.get(field.kind)
    if plain is None:
        return list(texts)
    known = {text: plain(text, field) if text else text for text in set(texts)}
    return [known[text] for text in texts]


def _number(text: str, field: Field) -> str:
    """Read a decimal comma and a typographic minus.

    A comma before three digits may part thousands; in a percentage thousands are out of bounds, so there it cannot.
    """
    text = text.replace(_MINUS, "-") if not text.isascii() else text
    match = _DECIMAL_COMMA.fullmatch(text)
    if match is None or (field.kind == "amount" and len(match.group(1)) == THOUSANDS):
        return text
    return text.replace(",", ".")


def _yes_no(text: str, _: Field) -> str:
    """Read Yes, NO, TRUE and False."""
    low = text.lower()
    return _BOOLEANS.get(low, low if low in {"yes", "no"} else text)


def _choice(text: str, field: Field) -> str:
    """Read a word of a list in any capitals; a sentence begins with one on its own."""
    low = text.lower()
    return low if text not in field.choices and low in field.choices else text


_PLAIN: Final = {"percent": _number, "amount": _number, "yes_no": _yes_no, "choice": _choice}


def spoilt(field: Field, texts: Sequence[str]) -> dict[str, str]:
    """Find texts that cannot be what was written, each with the reason in words; only texts need this.

    An error value, a day in a local form, letters read in the wrong encoding or lost in saving.
    """
    if not _PERHAPS.search("\n".join(set(texts))):
        return {}
    return {text: why for text in set(texts) if text and (why := _why_spoilt(field.name, text))}


def _why_spoilt(name: str, text: str) -> str:
    """Say what happened to one text, or nothing."""
    if _ERROR.search(text) and (_ERROR.fullmatch(text) or name != "note"):
        return "holds what a spreadsheet shows instead of a value"
    if _LOCAL_DAY.fullmatch(text):
        return "was turned into a day by a spreadsheet"
    if "\ufffd" in text or (_TWO_FOR_ONE.search(text) and _is_misread(text)):
        return "was read in the wrong encoding"
    if name not in {"link", "note", "postal_pattern"} and _LOST_SIGN.search(text):
        return "has lost a letter when it was saved"
    return ""


def _is_misread(text: str) -> bool:
    """Tell whether the text is UTF-8 that was read as Western European, so that each letter became two."""
    try:
        raw = b"".join(_western(sign) for sign in text)
        raw.decode("utf-8")
    except (UnicodeEncodeError, UnicodeDecodeError):
        return False
    return True


def _western(sign: str) -> bytes:
    """Encode one sign as it would stand in a Western European file."""
    try:
        return sign.encode("cp1252")
    except UnicodeEncodeError:
        return sign.encode("latin-1")
