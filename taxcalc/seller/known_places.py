"""Which codes of places the profile may use, and of what kind each is.

Places come from `rate_tables/places.csv`; only the region of a seller abroad is looked up in ISO 3166-2.
"""

from __future__ import annotations

from functools import cache
from typing import Final, Literal

Kind = Literal["us", "state", "union", "member_state", "country", "territory", "military"]

_KINDS: Final[dict[str, Kind]] = {
    "state": "state",
    "district": "state",
    "military": "military",
    "member_state": "member_state",
    "country": "country",
    "union": "union",
}


@cache
def kind_of(code: str) -> Kind | None:
    """Give the kind of a place code, or None for a code that is not known."""
    from taxcalc.places import codes, index, kinds  # noqa: PLC0415 - loads numpy and the table

    if code == "unknown" or code not in codes():
        return None
    if code == "US":
        return "us"
    kind = kinds()[index(code)]
    return _KINDS.get(kind, "state" if code.startswith("US-") else "territory")


@cache
def follows_eu_rules(code: str) -> bool:
    """Tell whether the place stands under the rules of the Union: member states and their territories."""
    from taxcalc.places import EU, codes, index, regimes  # noqa: PLC0415 - loads numpy and the table

    return code in codes() and int(regimes()[index(code)]) == EU


@cache
def is_subdivision(code: str) -> bool:
    """Tell whether the code is a state or region in ISO 3166-2; states of the US are known without the whole list."""
    if kind_of(code) == "state" and code.startswith("US-"):
        return True
    import pycountry  # noqa: PLC0415 - heavy

    return pycountry.subdivisions.get(code=code) is not None  # type: ignore[no-untyped-call]
