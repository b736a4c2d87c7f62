"""Places: the states, countries and territories that every other module speaks of by a small number.

The number of a place is its position in the shipped `rate_tables/places.csv`; 0 is `unknown`. Only that file
is read, once. Arrays have one entry a place.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from taxcalc.tables.where import folder

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

_T = TypeVar("_T", bound=np.generic)

US, EU, ELSEWHERE, NONE = 0, 1, 2, 3
"""Whose rules apply: values of `regimes()`."""

_REGIMES = {"us": US, "eu": EU, "elsewhere": ELSEWHERE, "none": NONE}
OWN_CODE = " (own code"
"""How the file marks names whose codes are no published ones."""
_UNKNOWN = 0
_SHORT = 3
_CANARY_ISLANDS = "IC"  # reserved in ISO 3166-1 at the request of customs administrations


class Understood(NamedTuple):
    """Other spellings, upper-cased → place code: one mapping for countries, one for US states."""

    countries: Mapping[str, str]
    states: Mapping[str, str]


@lru_cache(maxsize=1)
def _rows() -> tuple[dict[str, str], ...]:
    """Read the shipped file; cells are trimmed."""
    with (folder() / "places.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = csv.DictReader(file)
        return tuple({name: (cell or "").strip() for name, cell in row.items() if name} for row in rows)


@lru_cache(maxsize=1)
def _numbers() -> dict[str, int]:
    """Place code → number."""
    return {row["place"]: number for number, row in enumerate(_rows())}


@lru_cache(maxsize=1)
def codes() -> tuple[str, ...]:
    """All place codes in the order of their numbers; the first is `unknown`."""
    return tuple(row["place"] for row in _rows())


def index(code: str) -> int:
    """Give the number of a place code; raises `KeyError` for a code that is not in the file."""
    return _numbers()[code]


def code(number: int) -> str:
    """Give the place code of a number."""
    return codes()[number]


def name(code: str) -> str:
    """Give the English name of a place code; raises `KeyError` for a code that is not in the file.

    Without the mark of codes that are no published ones, which is for readers of the table.
    """
    return _rows()[index(code)]["name"].partition(OWN_CODE)[0]


@lru_cache(maxsize=1)
def kinds() -> tuple[str, ...]:
    """Kind of each place: state, district, member_state, country and so on."""
    return tuple(row["kind"] for row in _rows())


@lru_cache(maxsize=1)
def regimes() -> NDArray[np.int8]:
    """Whose rules apply in each place: US, EU, ELSEWHERE or NONE."""
    return _frozen(np.array([_REGIMES[row["regime"]] for row in _rows()], dtype=np.int8))


@lru_cache(maxsize=1)
def countries() -> NDArray[np.int16]:
    """Place number of the country under which each place is written in an address; 0 where there is none."""
    numbers = _numbers()
    return _frozen(np.array([numbers.get(row["country"], _UNKNOWN) for row in _rows()], dtype=np.int16))


@lru_cache(maxsize=1)
def is_member_state() -> NDArray[np.bool_]:
    """Whether each place is a member state of the Union, or Northern Ireland, which counts as one for goods.

    Source: Windsor Framework (Protocol on Ireland/Northern Ireland), Article 8 and Annex 3.
    """
    return _frozen(np.array([row["kind"] == "member_state" or row["place"] == "XI" for row in _rows()]))


@lru_cache(maxsize=1)
def states_of_us() -> NDArray[np.bool_]:
    """Whether each place is written after `US-`: states, the district, territories and military addresses."""
    return _frozen(np.array([row["place"].startswith("US-") for row in _rows()]))


@lru_cache(maxsize=1)
def understood() -> Understood:
    """Names and other spellings, upper-cased → place code; countries and US states apart."""
    countries: dict[str, str] = {}
    states: dict[str, str] = {}
    for row in _rows():
        place, is_state = row["place"], row["place"].startswith("US-")
        for spelling in spellings(place):
            if is_state:
                states.setdefault(spelling, place)
            if _names_a_country(place, row["kind"], spelling):
                countries.setdefault(spelling, place)
    return Understood(countries, states)


def spellings(code: str) -> tuple[str, ...]:
    """Give the name and all other spellings of a place, upper-cased."""
    row = _rows()[index(code)]
    every = (row["name"], row["name"].partition(OWN_CODE)[0], *row.get("understood", "").split("|"))
    return tuple(spelling.strip().upper() for spelling in every if spelling.strip())


def _names_a_country(place: str, kind: str, spelling: str) -> bool:
    """Tell whether a spelling may stand as a country; `CN` is China there, not the Canary Islands."""
    if place.startswith("US-") or kind in {"union", "unknown"}:
        return kind == "territory"
    return "-" not in place or len(spelling) > _SHORT or spelling == _CANARY_ISLANDS


def _frozen(array: NDArray[_T]) -> NDArray[_T]:
    """Make a cached array read-only, since every caller shares it."""
    array.flags.writeable = False
    return array
