"""VAT numbers: which one the fulfiller has of the seller, which the seller held, and when it is only an exempt business.

An exempt supply to another member state needs a number of a member state other than that of dispatch (Directive
2006/112/EC art. 138(1)(b)), and it has to hold on the day of the supply. Its form is not its validity. The number of a
small business under the cross-border scheme ("EX") is no such number (art. 284(3)); the profile refuses its form. Where the
seller is only an exempt small business in that state, its number may be one for acquisitions or none: that is unclear.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.facts import holds

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases
    from taxcalc.seller import Certificate, Registration

FORM = "vat_number"
GREECE, GREEK_PREFIX = "GR", "EL"
STANDARD, SMALL, UNION_SHOP = "standard", "small_business", "union_oss"


class Given(IntEnum):
    """What the fulfiller has: no number that counts, one of which that is not known, or one that counts if it is valid."""

    NONE = 0
    UNCLEAR = 1
    NUMBER = 2


def numbers_given(
    cases: Cases, state: npt.NDArray[np.int16], facts: Facts
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.bool_]]:
    """Tell per case what the fulfiller has of member states other than `state`, and whether the seller could have given one.

    The second is a standard registration in such a state on the day of the case.
    """
    distinct, back = distinct_rows((state, cases.day, cases.fulfiller))
    given = [given_on(s, d, f, facts) for s, d, f in distinct]
    held = [holds_another(s, d, facts) for s, d, _ in distinct]
    return np.array(given, np.int8)[back], np.array(held, bool)[back]


def given_on(state: int, day: int, fulfiller_code: int, facts: Facts) -> Given:
    """Give the best number of a member state other than `state` that the fulfiller has on a day."""
    papers = (c for c in facts.certificates_on(fulfiller_code, day) if c.form == FORM)
    return max((_worth(c, state, day, facts) for c in papers), default=Given.NONE)


def dispatch_number_given(state: int, day: int, fulfiller_code: int, facts: Facts) -> bool:
    """Tell whether the fulfiller has the seller's number of the state of dispatch itself (art. 36a(2))."""
    papers = facts.certificates_on(fulfiller_code, day)
    return any(c.form == FORM and issuer_of(c) == places.code(state) for c in papers)


def holds_another(state: int, day: int, facts: Facts) -> bool:
    """Look for a standard VAT registration of a member state other than `state` on a day."""
    return any(code != state for code in standard_states(day, facts))


def standard_states(day: int, facts: Facts) -> list[int]:
    """Give the member states (place codes) in which the seller has a VAT number of its own on a day.

    The Union one-stop shop runs under the national number of the state of identification.
    """
    held = {state for state, scheme in _union_registrations(facts, day) if scheme == STANDARD}
    return sorted(places.index(state) for state in held)


def exempt_only(day: int, facts: Facts) -> bool:
    """Tell whether all registrations of the seller in member states are those of exempt small businesses on a day."""
    schemes = {scheme for _, scheme in _union_registrations(facts, day)}
    return SMALL in schemes and STANDARD not in schemes


def issuer_of(paper: Certificate) -> str | None:
    """Give who issued the number in a document; None where nothing says so.

    As the profile says; else the member state where it is to work, or the one that the number begins with (art. 215).
    """
    if paper.number_of or paper.place != "EU":
        return paper.number_of or paper.place
    prefix = str(paper.number or "")[:2].upper()
    return GREECE if prefix == GREEK_PREFIX else prefix if prefix in places.codes() else None


def _worth(paper: Certificate, state: int, day: int, facts: Facts) -> Given:
    """Judge one document that holds a VAT number."""
    issuer = issuer_of(paper)
    if issuer is None:
        return Given.UNCLEAR
    code = places.index(issuer) if issuer in places.codes() else 0
    if not facts.eu_states[code] or code == state:
        return Given.NONE
    named = any(_state_of(r) == issuer for r in facts.seller.registrations)
    schemes = {scheme for held, scheme in _union_registrations(facts, day) if held == issuer}
    if not named or STANDARD in schemes:
        return Given.NUMBER
    return Given.UNCLEAR if SMALL in schemes else Given.NONE


def _union_registrations(facts: Facts, day: int) -> list[tuple[str, str]]:
    """Give the member states in which the seller is registered on a day, each with `standard` or `small_business`."""
    found = [
        (state, SMALL if r.scheme == SMALL else STANDARD)
        for r in facts.seller.registrations
        if (state := _state_of(r)) and holds(r.from_day, r.until_day, day)
    ]
    return [(state, scheme) for state, scheme in found if facts.eu_states[places.index(state)]]


def _state_of(registration: Registration) -> str | None:
    """Give the place whose number a registration stands for; None for schemes with numbers of their own kind."""
    if registration.scheme == UNION_SHOP:
        return registration.identified_in
    return registration.place if registration.scheme in (STANDARD, SMALL) else None
