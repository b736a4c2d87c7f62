"""Cells of these files as numbers: each distinct text is read once, strictly; one that is wrong refuses the file."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc.days import first_of_quarter, number
from taxcalc.errors import Refusal
from taxcalc.messages import complain

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from taxcalc.errors import Complaint
    from taxcalc.local_rates.files import Block

    Ints = NDArray[np.int64]

OPEN: Final = 2**31 - 1
"""Last day of a period without an end."""

NONE: Final = -1
"""A blank code or extension."""

SHOWN: Final = 3
"""Lines of a file that a refusal shows."""

_OPEN_FROM_YEAR: Final = 2900
_EIGHT: Final = re.compile(r"(\d{4})(\d\d)(\d\d)", re.ASCII)
_ISO: Final = re.compile(r"(\d{4})-(\d\d)-(\d\d)", re.ASCII)
_AMERICAN: Final = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})", re.ASCII)
_RATE: Final = re.compile(r"\d{1,4}|\d{0,4}\.\d{1,9}", re.ASCII)
_DIGITS: Final = re.compile(r"\d+", re.ASCII)


class Column:
    """One column of a block: its distinct texts, and which of them each record has."""

    def __init__(self, block: Block, at: int, name: str, file: str) -> None:
        """Take the column at a position; `name` is how a complaint calls it."""
        coded = block.columns[at].dictionary_encode()
        self.texts: list[str] = [text.strip() for text in coded.dictionary.to_pylist()]
        self.codes: NDArray[np.int32] = np.asarray(coded.indices)
        self.block, self.name, self.file = block, name, file

    def read(
        self,
        read: Callable[[str], int | None],
        expected: str,
        instead: str,
        where: Any = None,  # noqa: ANN401 - a mask
    ) -> Ints:
        """Read every cell (those of the mask `where`); raises E563 with the first three that `read` gives None for."""
        values = [read(text) for text in self.texts]
        wrong = np.array([value is None for value in values], bool)[self.codes]
        if where is not None:
            wrong &= where
        if wrong.any():
            raise refused(
                self._complaint(at, expected, instead) for at in np.flatnonzero(wrong)[:SHOWN].tolist()
            )
        return np.array([NONE if value is None else value for value in values], np.int64)[self.codes]

    def _complaint(self, at: int, expected: str, instead: str) -> Complaint:
        """Say what is wrong with the cell of one record."""
        return complain(
            "E563", file=self.file, row=int(self.block.rows[at]), column=self.name,
            value=self.texts[int(self.codes[at])], expected=expected, instead=instead,
        )  # fmt: skip

    @property
    def blank(self) -> NDArray[np.bool_]:
        """Tell which cells are blank."""
        return np.array([not text for text in self.texts], bool)[self.codes]

    def days(self, *, end: bool = False) -> Ints:
        """Read days: `20260701`, `2026-07-01` or, where that falls on a quarter, `7/1/2026`; an end may be open."""
        expected = "a day" if not end else "the last day of a period"
        return self.read(_end_day if end else _first_day, expected, "Write it as 20260701.")

    def digits(self, count: int, *, blank: bool = False, where: Any = None) -> Ints:  # noqa: ANN401 - a mask
        """Read a code of so many digits as a number, -1 for a blank one where that is allowed."""

        def read(text: str) -> int | None:
            if not text and blank:
                return NONE
            return int(text) if len(text) == count and _DIGITS.fullmatch(text) else None

        instead = f"Write all {count} digits, zeros in front included; a spreadsheet may have taken them."
        return self.read(read, f"a code of {count} digits", instead, where)

    def words(self, pattern: str, expected: str, instead: str) -> list[str]:
        """Give the distinct texts once all of them fit the pattern."""
        form = re.compile(pattern, re.ASCII)
        self.read(lambda text: 0 if form.fullmatch(text) else None, expected, instead)
        return self.texts


def refused(complaints: Any) -> Refusal:  # noqa: ANN401 - any iterable of complaints
    """Make one refusal of several complaints."""
    first, *more = complaints
    return Refusal(first, tuple(more))


def rate(text: str) -> Decimal | None:
    """Read a rate as written, None where it is none."""
    return Decimal(text) if _RATE.fullmatch(text) else None


def ppm(value: Decimal, unit: int) -> int | None:
    """Turn a rate into parts per million, None where that is not exact; `unit` is ppm per one of the rate's unit."""
    exact = value * unit
    return int(exact) if exact == exact.to_integral_value() else None


def _first_day(text: str) -> int | None:
    """Read the first day of a period."""
    found, american = _day(text)
    if found is None or (american and found != first_of_quarter(found)):
        return None
    return number(found)


def _end_day(text: str) -> int | None:
    """Read the last day of a period; blank, or a year that nobody means, is open."""
    if not text:
        return OPEN
    found, american = _day(text)
    if found is None:
        return None
    if found.year >= _OPEN_FROM_YEAR:
        return OPEN
    after = date.fromordinal(found.toordinal() + 1)
    return number(found) if not american or after == first_of_quarter(after) else None


def _day(text: str) -> tuple[date | None, bool]:
    """Read a day, and tell whether it was written month first."""
    match = _EIGHT.fullmatch(text) or _ISO.fullmatch(text)
    american = None if match else _AMERICAN.fullmatch(text)
    parts = match.groups() if match else american.group(3, 1, 2) if american else None
    if parts is None:
        return None, False
    try:
        return date(*(int(part) for part in parts)), american is not None
    except ValueError:
        return None, False
