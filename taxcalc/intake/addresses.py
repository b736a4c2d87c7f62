"""Addresses of a block to places: each distinct (country, region, postal code) is looked up once in a run."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import arrow
from taxcalc.intake.texts import bytes_of, matrix_of
from taxcalc.set_aside import REASON_CODE

if TYPE_CHECKING:
    from collections.abc import Callable

    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.intake.texts import Coded
    from taxcalc.places_find import PlaceFinder

    Ints = NDArray[np.int64]

_DIGITS, _FIVE_DIGIT_CODES = 5, 100_000
_MOST_KNOWN = 2_000_000
_PAIR_SHIFT = 32


class Found(NamedTuple):
    """Place, local zone and reason code (or GOOD), one an address."""

    place: NDArray[np.int16]
    zone: NDArray[np.int16]
    fault: NDArray[np.int8]


def _nothing() -> Found:
    """Nothing found yet."""
    return Found(np.zeros(0, np.int16), np.zeros(0, np.int16), np.zeros(0, np.int8))


@dataclass
class Addresses:
    """Remembers which addresses were found where; safe to use from several threads at once."""

    make_finder: Callable[[], PlaceFinder]
    _lock: Lock = field(default_factory=Lock)
    _pairs: dict[tuple[str, str], int] = field(default_factory=dict)
    _postals: dict[str, int] = field(default_factory=dict)
    _keys: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    _known: Found = field(default_factory=_nothing)

    @cached_property
    def _finder(self) -> PlaceFinder:
        """What knows the places; made when the first addresses are asked for."""
        return self.make_finder()

    def find(self, country: Coded, region: Coded, postal: Coded) -> Found:
        """Find the places of all rows of a block; arrays have one entry a row."""
        pair = country.codes.astype(np.int64) * len(region.texts) + region.codes
        pairs, pair_of_row = arrow.distinct(pair, len(country.texts) * len(region.texts))
        key = pair_of_row * len(postal.texts) + postal.codes
        keys, key_of_row = arrow.distinct(key, len(pairs) * len(postal.texts))
        c, r = np.divmod(pairs[keys // len(postal.texts)], len(region.texts))
        p = keys % len(postal.texts)
        with self._lock:
            found = self._find(country.texts, region.texts, postal.texts, (c, r, p))
        return _at(found, key_of_row)

    def _find(
        self, country: pa.Array, region: pa.Array, postal: pa.Array, at: tuple[Ints, Ints, Ints]
    ) -> Found:
        """Find distinct addresses, given as positions in three lists of texts."""
        c, r, p = at
        both = self._pair_numbers(country.to_pylist(), region.to_pylist(), c * len(region) + r)
        numbers = self._postal_numbers(postal)[p]
        keys = (both << _PAIR_SHIFT) + numbers
        rising = np.argsort(keys)
        place = self._positions(keys, rising)
        new = np.flatnonzero(np.append(self._keys, -1)[place] != keys)
        if new.size:
            fresh, first = np.unique(keys[new], return_index=True)
            new = new[first]
            codes = [
                f"{number:05d}" if number < _FIVE_DIGIT_CODES else text
                for number, text in zip(numbers[new].tolist(), arrow.picked(postal, p[new]), strict=True)
            ]
            self._learn(fresh, arrow.picked(country, c[new]), arrow.picked(region, r[new]), codes)
            place = self._positions(keys, rising)
        return _at(self._known, place)

    def _positions(self, keys: Ints, rising: Ints) -> Ints:
        """Find where keys stand among those known; they are looked for in rising order, because memory is near then."""
        at = np.empty(keys.size, np.int64)
        at[rising] = np.searchsorted(self._keys, keys[rising])
        return at

    def _learn(self, keys: Ints, country: list[str], region: list[str], postal: list[str]) -> None:
        """Ask the finder for addresses that are new, and remember its answers in the order of their keys."""
        place, zone, problem = self._finder.find(country, region, postal)
        reasons = [REASON_CODE[name] if name else -1 for name in problem.tolist()]
        fresh = Found(place.astype(np.int16), zone.astype(np.int16), np.array(reasons, np.int8))
        at = np.searchsorted(self._keys, keys)
        self._keys = np.insert(self._keys, at, keys)
        known = self._known
        self._known = Found(
            np.insert(known.place, at, fresh.place),
            np.insert(known.zone, at, fresh.zone),
            np.insert(known.fault, at, fresh.fault),
        )

    def _pair_numbers(self, country: list[str], region: list[str], pairs: Ints) -> Ints:
        """Give a number to each (country, region) pair of distinct addresses."""
        if self._keys.size > _MOST_KNOWN:
            self._pairs, self._postals, self._keys, self._known = {}, {}, np.zeros(0, np.int64), _nothing()
        distinct, of_address = arrow.distinct(pairs, len(country) * len(region))
        texts = [(country[pair // len(region)], region[pair % len(region)]) for pair in distinct.tolist()]
        return np.array([self._pairs.setdefault(text, len(self._pairs)) for text in texts], np.int64)[
            of_address
        ]

    def _postal_numbers(self, postal: pa.Array) -> Ints:
        """Give a number to each postal code: five digits are their own, others are numbered as they come.

        Nine digits with a hyphen (ZIP+4) count as their first five: no table is finer than that.
        """
        raw = bytes_of(postal)
        chars, _ = matrix_of(raw, len("12345-6789"))
        digit = chars - np.uint8(48) < 10  # noqa: PLR2004 - the ten digits
        own = (raw.lengths == _DIGITS) & digit[:, :_DIGITS].all(axis=1)
        if chars.shape[1] == len("12345-6789"):
            digit[:, _DIGITS] = chars[:, _DIGITS] == ord("-")
            own |= (raw.lengths == len("12345-6789")) & digit.all(axis=1)
        width = min(_DIGITS, chars.shape[1])
        powers = 10 ** np.arange(width - 1, -1, -1, dtype=np.int64)
        numbers: Ints = (chars[:, :width].astype(np.int64) - 48) @ powers
        others = np.flatnonzero(~own)
        for at, text in zip(others.tolist(), arrow.picked(postal, others), strict=True):
            numbers[at] = self._postals.setdefault(text, _FIVE_DIGIT_CODES + len(self._postals))
        return numbers


def _at(found: Found, positions: Ints) -> Found:
    """Pick answers by position."""
    return Found(found.place[positions], found.zone[positions], found.fault[positions])
