"""Which registrations serve which sales: a scheme serves only the supplies that it is made for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.days import number
from taxcalc.eu.place import DIGITAL
from taxcalc.facts import OPEN
from taxcalc.reasons import BY_IMPORT_ONE_STOP_SHOP, BY_ONE_STOP_SHOP

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.terms import AllTerms

SCHEMES = ("", "union_oss", "non_union_oss", "ioss")
"""What can serve a sale besides a registration on the spot; "" is nothing."""


def served_since(terms: AllTerms, facts: Facts) -> npt.NDArray[np.int32]:
    """Give per case the day since which a registration held on the day of the review serves its sales; OPEN: none does."""
    scheme = schemes_of(terms, facts)
    pairs, of_case = np.unique(
        terms.placed.place.astype(np.int64) * len(SCHEMES) + scheme, return_inverse=True
    )
    days = [_since(int(pair) // len(SCHEMES), SCHEMES[int(pair) % len(SCHEMES)], facts) for pair in pairs]
    since: npt.NDArray[np.int32] = np.array(days, np.int32)[of_case.reshape(-1)]
    return since


def schemes_of(terms: AllTerms, facts: Facts) -> npt.NDArray[np.int8]:
    """Choose the scheme that can serve each case, as a position in SCHEMES.

    Directive 2006/112/EC: art. 358a-369 (services of sellers outside the Union), 369a-369k (goods and services inside
    it), 369l-369x (imports).
    """
    by_shop = np.isin(terms.collect.reason, BY_ONE_STOP_SHOP)
    outsider = not facts.established_member_states
    services_of_outsider = by_shop & (terms.cases.product_class == DIGITAL) & outsider
    imports = np.isin(terms.collect.reason, BY_IMPORT_ONE_STOP_SHOP)
    choices = [SCHEMES.index(name) for name in ("ioss", "non_union_oss", "union_oss")]
    return np.select([imports, services_of_outsider, by_shop], choices, 0).astype(np.int8)


def _since(place: int, scheme: str, facts: Facts) -> int:
    """Give the first day of the registrations on the spot, or in the scheme, that hold on the day of the review."""
    here = {places.code(place), places.code(int(places.countries()[place]))}
    held = [r for p in here for r in facts.registrations_on(p, facts.as_of_day, "standard")]
    if scheme:
        held += facts.registrations_on("EU", facts.as_of_day, scheme)
    return min((number(r.from_day) for r in held), default=OPEN)
