"""Where an address is: country, region and postal code as written → place and local zone.

Asked for lists of distinct addresses. Texts are resolved once for each distinct country and region; ZIP codes
are found in runs by bisection; postal codes of special territories by one pattern a country.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from taxcalc import places

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    from numpy.typing import NDArray

    from taxcalc.tables.load import Tables
    from taxcalc.tables.table import Table

NO_COUNTRY = "no_country"
ZIP_STATE_CONFLICT = "zip_state_conflict"

_UNKNOWN = 0
_ZIP = re.compile(r"(\d{3,5})(?:\.0+|[- ]\d{4}|-)?|(\d{5})\d{4}", re.ASCII)
_NO_ZIP = -1
_ZIP_DIGITS = 5
_LOST_ZEROS = 100_000
_AS_A_NUMBER = re.compile(r"(\d{1,3})(?:\.0+)?", re.ASCII)
_AROUND_A_POSTAL_CODE = re.compile(r"^[A-Z]{1,3}-(?=\d)|\.0+$")
_LAST_DAY = np.iinfo(np.int32).max

_Key = TypeVar("_Key", bound="Hashable")


def zones(tables: Tables) -> tuple[str, ...]:
    """Name the local zones by number: "" for 0, then the counties of us/zip_counties, sorted."""
    return ("", *sorted(set(tables["us/zip_counties"]["county"][:-1].tolist())))


class PlaceFinder:
    """Finds places and zones of addresses with the loaded tables."""

    def __init__(self, tables: Tables) -> None:
        """Prepare the look-ups; takes a moment, so one finder serves a whole run."""
        self._countries = _country_spellings()
        self._regions = _region_spellings(tables["eu/territories"])
        self._patterns = _postal_patterns(tables["eu/territories"])
        self._states = _Runs(tables["us/zip_states"], tables["us/zip_states"]["place"][:-1])
        names = zones(tables)
        counties = [names.index(county) for county in tables["us/zip_counties"]["county"][:-1].tolist()]
        self._counties = _Runs(tables["us/zip_counties"], np.array(counties, dtype=np.int16))
        self._of_us = places.index("US")
        self._has_zones = np.isin(np.arange(len(places.codes())), tables["us/zip_counties"]["place"][:-1])

    def find(
        self, country: Sequence[str], region: Sequence[str], postal: Sequence[str]
    ) -> tuple[NDArray[np.int16], NDArray[np.int16], NDArray[np.object_]]:
        """Give the place number, the zone number and the problem ("" or a reason id) of each address.

        A blank or unreadable country is `no_country`; a ZIP code of another state than the region says is
        `zip_state_conflict`; in both cases, and for a US address that names no state, the place is 0.
        """
        named = _looked_up(country, self._country)
        problem = np.full(len(country), "", dtype=object)
        problem[named == _UNKNOWN] = NO_COUNTRY
        zone = np.zeros(len(country), dtype=np.int16)
        place = self._with_regions(named, region, postal)
        in_us = (named == self._of_us) | places.states_of_us()[named]
        at = np.flatnonzero(in_us)
        self._find_in_us(at, place, zone, problem, [postal[row] for row in at.tolist()])
        return place, zone, problem

    def _country(self, text: str) -> int:
        """Give the place number of a country as written, also as the number ISO 3166-1 gives it."""
        plain = _plain(text)
        number = _AS_A_NUMBER.fullmatch(plain)
        return self._countries.get(number.group(1).zfill(3) if number else plain, _UNKNOWN)

    def _with_regions(
        self, named: NDArray[np.int16], region: Sequence[str], postal: Sequence[str]
    ) -> NDArray[np.int16]:
        """Refine countries by their region, and what is then still a whole country by its postal code."""
        pairs = list(zip(named.tolist(), region, strict=True))
        place = _looked_up(pairs, lambda pair: self._regions.get((pair[0], _plain(pair[1])), pair[0]))
        for number, pattern in self._patterns.items():
            at = np.flatnonzero((place == number) & (named == number))
            place[at] = _looked_up([postal[row] for row in at.tolist()], pattern.place_of)
        return place

    def _find_in_us(
        self,
        at: NDArray[np.intp],
        place: NDArray[np.int16],
        zone: NDArray[np.int16],
        problem: NDArray[np.object_],
        postal: Sequence[str],
    ) -> None:
        """Find the states of the US addresses `at`, and write them into the three answers."""
        zip_code, lost_zeros = _zip_codes(postal)
        stated = np.where(place[at] == self._of_us, _UNKNOWN, place[at])
        by_zip = self._states.values(zip_code)
        by_zip = np.where(lost_zeros & (by_zip != stated), _UNKNOWN, by_zip)
        conflict = (stated != _UNKNOWN) & (by_zip != _UNKNOWN) & (by_zip != stated)
        found = np.where(conflict, _UNKNOWN, np.where(stated != _UNKNOWN, stated, by_zip))
        place[at] = found
        problem[at[conflict]] = ZIP_STATE_CONFLICT
        zone[at] = np.where(self._has_zones[found] & (by_zip == found), self._counties.values(zip_code), 0)


class _Runs:
    """Runs of ZIP codes with one value each."""

    def __init__(self, table: Table, values: NDArray[np.generic]) -> None:
        """Sort the runs of the table."""
        starts = np.array([int(code) for code in table["zip_from"][:-1].tolist()], dtype=np.int32)
        ends = np.array([int(code) for code in table["zip_to"][:-1].tolist()], dtype=np.int32)
        order = np.argsort(starts)
        self._starts = np.concatenate(([np.int32(-1)], starts[order]))
        self._ends = np.concatenate(([np.int32(-2)], ends[order]))
        self._values = np.concatenate(([0], values[order])).astype(np.int16)

    def values(self, zip_codes: NDArray[np.int32]) -> NDArray[np.int16]:
        """Give the value of the run each code is in, 0 for codes in none."""
        run = np.searchsorted(self._starts, zip_codes, side="right") - 1
        return np.where(zip_codes <= self._ends[run], self._values[run], np.int16(0))


class _PostalPattern:
    """The postal codes of all special territories of one country."""

    def __init__(self, country: int, patterns: dict[str, int]) -> None:
        """Join the patterns (→ place number), one named group a territory."""
        self._country = country
        self._places = {f"territory_{at}": place for at, place in enumerate(patterns.values())}
        groups = (f"(?P<territory_{at}>{pattern})" for at, pattern in enumerate(patterns))
        self._pattern = re.compile("|".join(groups))

    def place_of(self, code: str) -> int:
        """Give the territory of a postal code, or the country; `FI-22100` and `22100.0` read as `22100`."""
        plain = code if code.isdigit() else _AROUND_A_POSTAL_CODE.sub("", code.strip().upper())
        match = self._pattern.match(plain)
        return self._country if match is None else self._places[str(match.lastgroup)]


def _looked_up(keys: Sequence[_Key], resolve: Callable[[_Key], int]) -> NDArray[np.int16]:
    """Resolve each distinct key once."""
    known = {key: resolve(key) for key in set(keys)}
    return np.fromiter(map(known.__getitem__, keys), np.int16, len(keys))


def _plain(text: str) -> str:
    """Write a name in capitals, without accents and superfluous blanks."""
    if not text.isascii():
        text = "".join(
            mark for mark in unicodedata.normalize("NFKD", text) if not unicodedata.combining(mark)
        )
    return " ".join(text.upper().split())


def _zip_codes(postal: Sequence[str]) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
    """Read ZIP codes as numbers (-1: none), and tell which of them had lost their leading zeros."""
    numbers = np.array(
        [
            int(text) if len(text) == _ZIP_DIGITS and text.isascii() and text.isdigit() else _zip_number(text)
            for text in postal
        ],
        np.int32,
    )
    lost_zeros = numbers >= _LOST_ZEROS
    return np.where(lost_zeros, numbers - _LOST_ZEROS, numbers), lost_zeros


def _zip_number(text: str) -> int:
    """Read one ZIP code: ZIP+4, `.0` from a spreadsheet; 3 or 4 digits give _LOST_ZEROS more."""
    match = _ZIP.fullmatch(text.strip())
    if match is None:
        return _NO_ZIP
    digits = match.group(1) or match.group(2)
    return int(digits) + (_LOST_ZEROS if len(digits) < _ZIP_DIGITS else 0)


def _country_spellings() -> dict[str, int]:
    """Every way to write a country → place number; codes win over names."""
    found = {_plain(text): places.index(code) for text, code in places.understood().countries.items()}
    kinds = places.kinds()
    for number, code in enumerate(places.codes()):
        if kinds[number] == "territory":
            found[code.removeprefix("US-")] = number
        elif kinds[number] not in {"union", "unknown", "state", "district", "military"}:
            found[code] = number
    return found


def _region_spellings(territories: Table) -> dict[tuple[int, str], int]:
    """Every way to write a US state or a special territory under its country → place number."""
    found: dict[tuple[int, str], int] = {}
    under = {(int(country), number) for number, country in enumerate(places.countries().tolist())}
    names = {(country, place): [name] for name, country, place, _ in _newest(territories)}
    for country, number in sorted(under | set(names)):
        if country in {_UNKNOWN, number}:
            continue
        code = places.code(number)
        short = code.partition("-")[2]
        for text in (code, short, *places.spellings(code), *names.get((country, number), ())):
            if text:
                found.setdefault((country, _plain(text)), number)
    return found


def _postal_patterns(territories: Table) -> dict[int, _PostalPattern]:
    """Country → the postal codes of its special territories."""
    patterns: dict[int, dict[str, int]] = {}
    for _, country, place, pattern in _newest(territories):
        if pattern and country != _UNKNOWN:
            patterns.setdefault(country, {})[pattern] = place
    return {country: _PostalPattern(country, each) for country, each in patterns.items()}


def _newest(territories: Table) -> list[tuple[str, int, int, str]]:
    """List name, postal country, place and postal pattern of each territory, from its newest row."""
    names, numbers = territories["territory"][:-1], territories["place"][:-1]
    rows = np.unique(territories.lookup(_LAST_DAY, territory=names, place=numbers))
    known = set(places.codes())
    columns = (
        territories[name][rows[rows >= 0]].tolist()
        for name in ("territory", "postal_country", "place", "postal_pattern")
    )
    return [
        (name, places.index(country) if country in known else _UNKNOWN, place, pattern)
        for name, country, place, pattern in zip(*columns, strict=True)
    ]
