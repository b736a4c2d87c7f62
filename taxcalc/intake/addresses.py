"""Addresses of a block to places, a column at a time: few texts are looked at one by one, and each only once in a run."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from threading import Lock
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from taxcalc import arrow
from taxcalc.intake.texts import GOOD, bytes_of, matrix_of
from taxcalc.places_find import NO_COUNTRY, ZIP_STATE_CONFLICT
from taxcalc.set_aside import REASON_CODE

if TYPE_CHECKING:
    from collections.abc import Callable

    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.intake.texts import Coded
    from taxcalc.places_find import PlaceFinder

    Ints = NDArray[np.int64]

_DIGITS, _CODES = 5, 100_000
_MOST_KNOWN = 1_000_000
_NOT_ASKED = np.int16(-1)


class Found(NamedTuple):
    """Place, local zone and reason code (or GOOD), one an address."""

    place: NDArray[np.int16]
    zone: NDArray[np.int16]
    fault: NDArray[np.int8]


@dataclass
class Addresses:
    """Finds places for block after block and remembers texts; safe to use from several threads at once."""

    make_finder: Callable[[], PlaceFinder]
    _lock: Lock = field(default_factory=Lock)
    _named: dict[tuple[str, str], int] = field(default_factory=dict)
    _territories: dict[int, NDArray[np.int16]] = field(default_factory=dict)
    _known: dict[tuple[str, str, str], tuple[int, int, int]] = field(default_factory=dict)

    @cached_property
    def _finder(self) -> PlaceFinder:
        """What knows the places; made when the first addresses are asked for."""
        return self.make_finder()

    def find(self, country: Coded, region: Coded, postal: Coded) -> Found:
        """Find the places of all rows of a block; arrays have one entry a row.

        Country and region name a place, once for each pair. Five digits lead on from there by number, of a ZIP+4 the first
        five, as only a store of local rates is finer; what else stands for a postal code is looked at as text where it
        matters.
        """
        pair = country.codes.astype(np.int64) * len(region.texts) + region.codes
        pairs, pair_of_row = arrow.distinct(pair, len(country.texts) * len(region.texts))
        names = self._names(country.texts.to_pylist(), region.texts.to_pylist(), pairs)
        with self._lock:
            finder = self._finder
            named = np.array([self._named_by(finder, name) for name in names], np.int16)
        place = named.take(pair_of_row)
        fault = np.where(named == 0, np.int8(REASON_CODE[NO_COUNTRY]), GOOD).take(pair_of_row)
        found = Found(place, np.zeros(place.size, np.int16), fault)
        us, territorial = finder.is_us(named), finder.has_territories(named)
        asked = us | territorial
        if asked.any():
            number = _numbers(postal.texts)
            code = number.take(postal.codes)
            kinds = us[pair_of_row], territorial[pair_of_row]
            self._by_number(found, kinds, code)
            if finder.local is not None:
                self._with_local_rates(found, kinds[0], code, _last_four(postal.texts).take(postal.codes))
            if (number < 0).any():
                rest = np.flatnonzero((code < 0) & asked[pair_of_row])
                self._by_text(found, rest, (names, pair_of_row[rest]), (postal.texts, postal.codes[rest]))
        return found

    @staticmethod
    def _names(country: list[str], region: list[str], pairs: Ints) -> list[tuple[str, str]]:
        """Give the texts of each distinct (country, region) pair."""
        return [(country[pair // len(region)], region[pair % len(region)]) for pair in pairs.tolist()]

    def _named_by(self, finder: PlaceFinder, name: tuple[str, str]) -> int:
        """Give the place that country and region name."""
        if name not in self._named:
            self._forget_if_many(self._named)
            self._named[name] = finder.named(*name)
        return self._named[name]

    def _by_number(
        self,
        found: Found,
        kinds: tuple[NDArray[np.bool_], NDArray[np.bool_]],
        code: NDArray[np.int32],
    ) -> None:
        """Go on with the rows whose postal code is a number: ZIP codes, and those of countries with territories."""
        us, territorial = (np.flatnonzero(kind & (code >= 0)) for kind in kinds)
        if us.size:
            found.place[us], found.zone[us], conflict = self._finder.in_us(found.place[us], code[us])
            found.fault[us[conflict]] = REASON_CODE[ZIP_STATE_CONFLICT]
        if territorial.size:
            for country in np.flatnonzero(np.bincount(found.place[territorial])).tolist():
                at = territorial[found.place[territorial] == country]
                found.place[at] = self._territory(country, code[at])

    def _with_local_rates(
        self, found: Found, us: NDArray[np.bool_], code: NDArray[np.int32], plus4: NDArray[np.int32]
    ) -> None:
        """Find the local-rate zones of the rows whose ZIP code is a number."""
        at = np.flatnonzero(us & (code >= 0))
        found.zone[at] = self._finder.with_local_rates(found.place[at], found.zone[at], code[at], plus4[at])

    def _territory(self, country: int, code: NDArray[np.int32]) -> NDArray[np.int16]:
        """Give the special territories, or the country, of postal codes of five digits; each is looked at once."""
        with self._lock:
            known = self._territories.setdefault(country, np.full(_CODES, _NOT_ASKED, np.int16))
            new = code[known[code] == _NOT_ASKED]
            for number in set(new.tolist()):
                known[number] = self._finder.territory(country, f"{number:05d}")
            return known[code]

    def _by_text(
        self,
        found: Found,
        rows: Ints,
        names: tuple[list[tuple[str, str]], Ints],
        postal: tuple[pa.Array, NDArray[np.int32]],
    ) -> None:
        """Look at the postal codes of some rows as texts; each distinct address is looked at once."""
        distinct, of_row = arrow.distinct_rows((names[1], postal[1]))
        texts = arrow.picked(postal[0], np.array([code for _, code in distinct], np.int32))
        keys = [(*names[0][pair], text) for (pair, _), text in zip(distinct, texts, strict=True)]
        with self._lock:
            self._forget_if_many(self._known)
            if new := [key for key in dict.fromkeys(keys) if key not in self._known]:
                self._learn(new)
            answers = np.array([self._known[key] for key in keys], np.int16).reshape(-1, len(Found._fields))
        found.place[rows], found.zone[rows], found.fault[rows] = answers[of_row].T

    def _learn(self, keys: list[tuple[str, str, str]]) -> None:
        """Ask the finder for addresses that are new, and remember its answers."""
        place, zone, problem = self._finder.find(*(list(column) for column in zip(*keys, strict=True)))
        reasons = [REASON_CODE[name] if name else int(GOOD) for name in problem.tolist()]
        self._known.update(zip(keys, zip(place.tolist(), zone.tolist(), reasons, strict=True), strict=True))

    @staticmethod
    def _forget_if_many(known: dict[Any, Any]) -> None:
        """Keep the memory bounded."""
        if len(known) > _MOST_KNOWN:
            known.clear()


def _numbers(postal: pa.Array) -> NDArray[np.int32]:
    """Read distinct postal codes of five digits, or of nine with a hyphen (ZIP+4), as the number of the first five; else -1."""
    raw = bytes_of(postal)
    chars, _ = matrix_of(raw, len("12345-6789"))
    digit = chars - np.uint8(ord("0")) < 10  # noqa: PLR2004 - the ten digits
    plain = (raw.lengths == _DIGITS) & digit[:, :_DIGITS].all(axis=1)
    if chars.shape[1] == len("12345-6789"):
        digit[:, _DIGITS] = chars[:, _DIGITS] == ord("-")
        plain |= (raw.lengths == len("12345-6789")) & digit.all(axis=1)
    width = min(_DIGITS, chars.shape[1])
    powers = 10 ** np.arange(width - 1, -1, -1, dtype=np.int32)
    numbers = (chars[:, :width].astype(np.int32) - ord("0")) @ powers
    return np.where(plain, numbers, np.int32(-1))


def _last_four(postal: pa.Array) -> NDArray[np.int32]:
    """Read the last four digits of distinct postal codes of nine digits with a hyphen (ZIP+4); else -1."""
    raw = bytes_of(postal)
    chars, _ = matrix_of(raw, len("12345-6789"))
    if chars.shape[1] < len("12345-6789"):
        return np.full(raw.lengths.size, -1, np.int32)
    powers = 10 ** np.arange(3, -1, -1, dtype=np.int32)
    numbers = (chars[:, _DIGITS + 1 :].astype(np.int32) - ord("0")) @ powers
    return np.where(
        (raw.lengths == len("12345-6789")) & (chars[:, _DIGITS] == ord("-")), numbers, np.int32(-1)
    )
