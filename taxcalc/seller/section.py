"""Reading one table of the profile, key by key, with every fault noted rather than raised.

After a fault the reader gives a stand-in of the right type and goes on, so that all faults are found in one
go; the stand-ins never get out, because `Faults.refuse_if_any` ends the run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, datetime
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from taxcalc.errors import Complaint, Refusal
from taxcalc.messages import complain
from taxcalc.seller import keys
from taxcalc.seller.known_places import Kind, kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

STAND_IN_DAY = date.min
_AMOUNT = re.compile(r"[0-9]+(\.[0-9]+)?", re.ASCII)


@dataclass
class Faults:
    """The complaints about one profile, and where its tables and keys stand in the file."""

    file: str | None
    rows: Mapping[tuple[str, int, str], int] = field(default_factory=dict)
    found: list[Complaint] = field(default_factory=list)

    def note(self, message_id: str, spot: tuple[str, int, str], **fields: object) -> None:
        """Add a complaint about the key `spot` = (table, number, key)."""
        table, number, key = spot
        row = self.rows.get(spot) or self.rows.get((table, number, ""))
        named = {"table": keys.title(table, number), "column": key or None, **fields}
        self.found.append(complain(message_id, file=self.file, row=row, **named))  # type: ignore[arg-type]

    def refuse_if_any(self) -> None:
        """Raise one `Refusal` with everything found, in the order of the file."""
        if self.found:
            first, *more = sorted(self.found, key=lambda complaint: complaint.row or 0)
            raise Refusal(first, tuple(more))


def shown(value: object) -> str:
    """Write a value as the profile would, for a complaint."""
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)


def nearest_words(word: str, known: Iterable[str], what: str) -> str:
    """Name the nearest known word, and all of them."""
    known = tuple(known)
    close = get_close_matches(word.lower(), known, 1, cutoff=0.5)
    first = f"Did you mean `{close[0]}`? " if close else ""
    return f"{first}The {what} are: {', '.join(known)}."


@dataclass
class Section:
    """One table of the profile while it is read."""

    table: str
    number: int
    values: Mapping[str, Any]
    faults: Faults

    def __post_init__(self) -> None:
        """Note every key that the table does not have."""
        known = keys.EXAMPLES[self.table]
        for key in self.values:
            if key not in known:
                self.note("E502", str(key), value=key, nearest=nearest_words(str(key), known, "keys"))

    def note(self, message_id: str, key: str, **fields: object) -> None:
        """Note a fault of one key."""
        self.faults.note(message_id, (self.table, self.number, key), **fields)

    def _example(self, key: str) -> str:
        return keys.EXAMPLES[self.table][key]

    def has(self, key: str) -> bool:
        """Tell whether the key is written."""
        return key in self.values

    def require(self, *names: str) -> None:
        """Note each of the keys that is missing."""
        for key in names:
            if key not in self.values:
                self.note("E503", key, example=self._example(key))

    def wrong(self, key: str, expected: str) -> None:
        """Note a value that is not of the expected kind."""
        self.note("E504", key, value=shown(self.values[key]), expected=expected, example=self._example(key))

    def text(self, key: str) -> str | None:
        """Give a text without blanks around it; None where the key is missing; an empty one is a fault."""
        value = self.values.get(key)
        if value is None:
            return None
        if isinstance(value, str) and value.strip() and value.isprintable():
            return value.strip()
        self.wrong(key, "a text in double quotes")
        return ""

    def yes_no(self, key: str, default: bool) -> bool:  # noqa: FBT001 - the default of a yes/no key is a yes or no
        """Give true or false."""
        value = self.values.get(key, default)
        if isinstance(value, bool):
            return value
        self.wrong(key, "true or false, without quotes")
        return default

    def whole(self, key: str, default: int | None = None) -> int | None:
        """Give a whole number from 0 up."""
        value = self.values.get(key, default)
        if value is None or (isinstance(value, int) and not isinstance(value, bool) and value >= 0):
            return value
        self.wrong(key, "a whole number, without quotes")
        return default

    def choice(self, key: str, allowed: tuple[str, ...], default: str) -> str:
        """Give one of the allowed words."""
        word = self.text(key)
        if word is None or word == "":
            return default
        if word not in allowed:
            self.note("E505", key, value=word, allowed=", ".join(allowed))
        return word

    def day(self, key: str) -> date | None:
        """Give a day: a TOML date or an ISO text; a time of day is a fault."""
        value = self.values.get(key)
        if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
            return value
        if isinstance(value, str):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                pass
        self.note("E508", key, value=shown(value))
        return STAND_IN_DAY

    def span(self) -> tuple[date, date | None]:
        """Give `from` and `until`, and note an end before the beginning."""
        begin, end = self.day("from") or STAND_IN_DAY, self.day("until")
        if end is not None and end != STAND_IN_DAY and end < begin:
            self.note("E509", "until", value=end.isoformat(), begin=begin.isoformat())
        return begin, end

    def amount(self, key: str, currency: str) -> str:
        """Give an exact amount as text; a number with a decimal point outside quotes is refused."""
        value = self.values.get(key, "0")
        if isinstance(value, int) and not isinstance(value, bool) and value >= 0:
            return str(value)
        if isinstance(value, str) and _AMOUNT.fullmatch(value.strip()):
            return self._with_decimals_of(key, value.strip(), currency)
        detail = " (a number with a decimal point has to stand in quotes)" if isinstance(value, float) else ""
        self.note("E513", key, value=shown(value), detail=detail)
        return "0"

    def _with_decimals_of(self, key: str, value: str, currency: str) -> str:
        from taxcalc.money import CURRENCY_CODE, parse_amount  # noqa: PLC0415 - loads numpy

        if currency in CURRENCY_CODE:
            try:
                parse_amount(value, currency)
            except ValueError:
                self.note("E513", key, value=shown(value), detail=f" of {currency}, which has fewer decimals")
        return value

    def place(self, key: str, kinds: tuple[Kind, ...], expected: str) -> str | None:
        """Give the code of a known place of one of the kinds."""
        code = self.text(key)
        return code if not code else self._known(key, code, kinds, expected)

    def _known(self, key: str, code: str, kinds: tuple[Kind, ...], expected: str) -> str:
        kind = kind_of(code)
        if kind is None:
            self.note("E506", key, value=code)
        elif kind not in kinds:
            self.note("E507", key, value=code, expected=expected, example=self._example(key))
        return code

    def places(self, key: str, kinds: tuple[Kind, ...], expected: str) -> tuple[str, ...] | None:
        """Give a list of known places, in the order written and each once."""
        value = self.values.get(key)
        if value is None:
            return None
        if not isinstance(value, (list, tuple)) or not all(isinstance(code, str) for code in value):
            self.wrong(key, "a list of codes in double quotes")
            return ()
        return tuple(dict.fromkeys(self._known(key, code.strip(), kinds, expected) for code in value))
