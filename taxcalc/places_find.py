"""Where an address is: country, region and postal code as written → place and local zone.

Texts are resolved once for each distinct country and region; ZIP codes lead to states and counties by a list of all of
them; postal codes of special territories are found by one pattern a country.
"""

from __future__ import annotations

import re
import unicodedata
from functools import partial
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
_ZIP_PLUS4 = re.compile(r"\d{5}[- ]?(\d{4})", re.ASCII)
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
        names = zones(tables)
        counties = [names.index(county) for county in tables["us/zip_counties"]["county"][:-1].tolist()]
        self._state_of_zip = _by_zip(tables["us/zip_states"], tables["us/zip_states"]["place"][:-1].tolist())
        self._county_of_zip = _by_zip(tables["us/zip_counties"], counties)
        self._of_us = places.index("US")
        self._us = places.states_of_us().copy()
        self._us[self._of_us] = True
        self._tables, self.local = tables, tables.local
        self._has_zones = np.isin(np.arange(len(places.codes())), tables["us/zip_counties"]["place"][:-1])

    def find(
        self, country: Sequence[str], region: Sequence[str], postal: Sequence[str]
    ) -> tuple[NDArray[np.int16], NDArray[np.int16], NDArray[np.object_]]:
        """Give the place number, the zone number and the problem ("" or a reason id) of each address.

        A blank or unreadable country is `no_country`; a ZIP code of another state than the region says is
        `zip_state_conflict`; in both cases, and for a US address that names no state, the place is 0.
        """
        pairs = list(zip(country, region, strict=True))
        place = _looked_up(pairs, lambda pair: self.named(*pair))
        problem = np.full(place.size, "", dtype=object)
        problem[place == _UNKNOWN] = NO_COUNTRY
        in_us = np.flatnonzero(self.is_us(place))
        for number in self._patterns:
            at = np.flatnonzero(place == number)
            place[at] = _looked_up([postal[row] for row in at.tolist()], partial(self.territory, number))
        zone = np.zeros(place.size, np.int16)
        zip_code, lost_zeros = _zip_codes([postal[row] for row in in_us.tolist()])
        place[in_us], zone[in_us], conflict = self.in_us(place[in_us], zip_code, lost_zeros)
        if self.local is not None:
            plus4 = _plus4([postal[row] for row in in_us.tolist()])
            zone[in_us] = self.with_local_rates(place[in_us], zone[in_us], zip_code, plus4)
        problem[in_us[conflict]] = ZIP_STATE_CONFLICT
        return place, zone, problem

    def named(self, country: str, region: str) -> int:
        """Give the place number that a country and a region as written name; 0 where the country is none."""
        plain = _plain(country)
        number = _AS_A_NUMBER.fullmatch(plain)
        of_country = self._countries.get(number.group(1).zfill(3) if number else plain, _UNKNOWN)
        return self._regions.get((of_country, _plain(region)), of_country)

    def is_us(self, place: NDArray[np.int16]) -> NDArray[np.bool_]:
        """Tell which places are the United States or a part of them, whose ZIP codes tell states and counties."""
        return self._us[place]

    def has_territories(self, place: NDArray[np.int16]) -> NDArray[np.bool_]:
        """Tell which places are countries whose postal codes tell special territories."""
        return np.isin(place, list(self._patterns))

    def territory(self, country: int, postal: str) -> int:
        """Give the special territory of a postal code, else the country itself."""
        return self._patterns[country].place_of(postal)

    def in_us(
        self,
        named: NDArray[np.int16],
        zip_code: NDArray[np.int32],
        lost_zeros: NDArray[np.bool_] | None = None,
    ) -> tuple[NDArray[np.int16], NDArray[np.int16], NDArray[np.bool_]]:
        """Give state, zone, and whether state and ZIP code disagree, of US addresses.

        `named` is the place that country and region name, `zip_code` five digits as a number (-1: none), `lost_zeros`
        where it stood without its leading zeros.
        """
        stated = np.where(named == self._of_us, np.int16(_UNKNOWN), named)
        by_zip = self._state_of_zip[zip_code]
        if lost_zeros is not None:
            by_zip = np.where(lost_zeros & (by_zip != stated), np.int16(_UNKNOWN), by_zip)
        conflict = (stated != _UNKNOWN) & (by_zip != _UNKNOWN) & (by_zip != stated)
        found = np.where(stated != _UNKNOWN, stated, by_zip)
        found[conflict] = _UNKNOWN
        zone = np.where(
            self._has_zones[found] & (by_zip == found), self._county_of_zip[zip_code], np.int16(0)
        )
        return found, zone, conflict

    def with_local_rates(
        self,
        place: NDArray[np.int16],
        zone: NDArray[np.int16],
        zip_code: NDArray[np.int32],
        plus4: NDArray[np.int32],
    ) -> NDArray[np.int16]:
        """Put the local-rate zones of US addresses beside their counties, with the user's store of local rates.

        `plus4` is the last four digits of a ZIP+4 as a number (-1: none).
        """
        if self.local is None:
            return zone
        from taxcalc.zone_numbers import joined  # noqa: PLC0415 - only with a store

        at = np.flatnonzero(self.local.has[place])
        local = self.local.zones(place[at], zip_code[at].astype(np.int64), plus4[at].astype(np.int64))
        both = zone.copy()
        both[at] = joined(self._tables, place[at], zone[at], local)
        return both


def _by_zip(table: Table, values: list[int]) -> NDArray[np.int16]:
    """Give the value of each of the 100 000 ZIP codes, 0 where no run of the table has it; entry -1 is no ZIP code."""
    of_code = np.zeros(10**_ZIP_DIGITS + 1, np.int16)
    runs = zip(table["zip_from"][:-1].tolist(), table["zip_to"][:-1].tolist(), values, strict=True)
    for first, last, value in runs:
        of_code[int(first) : int(last) + 1] = value
    return of_code


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


def _plus4(postal: Sequence[str]) -> NDArray[np.int32]:
    """Read the last four digits of ZIP+4 codes, -1 where there are none."""
    found = (_ZIP_PLUS4.fullmatch(text.strip()) for text in postal)
    return np.array([int(match.group(1)) if match else -1 for match in found], np.int32)


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
    of_place = places.countries().tolist()
    under = {(int(country), number) for number, country in enumerate(of_place)}
    names = {(country or of_place[place], place): [name] for name, country, place, _ in _newest(territories)}
    for country, number in sorted(under | set(names)):
        if country in {_UNKNOWN, number}:
            continue
        code, begins = places.code(number), f"{places.code(country)}-"
        for text in (code, *places.spellings(code), *names.get((country, number), ())):
            short = text.removeprefix(begins) if text.startswith(begins) else code.partition("-")[2]
            found.setdefault((country, _plain(text)), number)
            if short:
                found.setdefault((country, _plain(short)), number)
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
