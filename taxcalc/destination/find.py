"""Which places are meant: a code, a name in English or in the place's own language, or a group such as the Union.

A country is a place even where no rules are held of it; the answer then says so.
"""

from __future__ import annotations

import difflib
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.tables.names import UnknownNameError

if TYPE_CHECKING:
    from taxcalc.tables.load import Tables

GROUPS: Final = ("US", "EU")
"""Places that stand for all their members: the states, and the member states with the territories of the Union."""
NEAREST: Final = 3


def find(text: str) -> str:
    """Give the code of the place meant: US state or country, or `US` or `EU` for the group.

    Raises `UnknownNameError`, whose text offers the nearest names.
    """
    plain = " ".join(text.split()).upper()
    known = places.understood()
    if plain in places.codes():
        return plain
    group = next((one for one in GROUPS if plain in places.spellings(one)), None)
    if group:
        return group
    found = known.states.get(plain) if len(plain) > len("XX") else None
    found = found or known.countries.get(plain) or known.states.get(plain) or _in_own_language().get(plain)
    if found:
        return found
    raise UnknownNameError(_unknown(text, plain))


def _unknown(text: str, plain: str) -> str:
    """Say that a name is none, and offer the nearest."""
    known = {**places.understood().countries, **places.understood().states, **_in_own_language()}
    near = difflib.get_close_matches(plain, list(known), n=NEAREST * 2)
    offered = list(dict.fromkeys(f"{places.name(known[each])} ({known[each]})" for each in near))[:NEAREST]
    nearest = f" The nearest: {', '.join(offered)}." if offered else ""
    return f"'{text}' is no place.{nearest} `taxcalc tables show places` names all of them."


@lru_cache(maxsize=1)
def _in_own_language() -> dict[str, str]:
    """Names of countries in their official languages (Unicode CLDR, through Babel), upper-cased → place code."""
    from babel import Locale, UnknownLocaleError  # noqa: PLC0415 - heavy, and only where English names do not help
    from babel.languages import get_official_languages  # noqa: PLC0415 - same

    found: dict[str, str] = {}
    for code in places.codes():
        if len(code) != len("XX"):
            continue
        for language in get_official_languages(code, de_facto=True):
            try:
                name = Locale.parse(language).territories.get(code)
            except (UnknownLocaleError, ValueError):
                continue
            if name:
                found.setdefault(name.upper(), code)
    return found


def members(group: str, tables: Tables) -> list[str]:
    """List the places of a group that tax such sales by rules of their own, by code.

    The states, the district and the territory with rules; the member states, and the territories of the Union that belong
    to its VAT territory.
    """
    regime = places.US if group == "US" else places.EU
    kinds = dict(zip(places.codes(), places.kinds(), strict=True))
    territories = tables["eu/territories"]
    inside = set(territories["place"][territories["treatment"] != "outside"].tolist())
    return sorted(
        code
        for code, kind in kinds.items()
        if int(places.regimes()[places.index(code)]) == regime
        and kind not in ("military", "union", "unknown")
        and code not in GROUPS
        and (kind != "special_territory" or places.index(code) in inside)
    )


def has_rules(code: str) -> bool:
    """Tell whether rules of the place are held."""
    return int(places.regimes()[places.index(code)]) in {places.US, places.EU}


def address(code: str) -> tuple[str, str]:
    """Give country and region as an order would name them."""
    if code.startswith("US-"):
        return "US", code.removeprefix("US-")
    return (code if len(code) == len("XX") else places.name(code)), ""
