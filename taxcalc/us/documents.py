"""Which document the fulfiller holds for a state on a day, whose number is in it, and whether the state takes it.

Form and issuer of the number are different things: a state's own form may carry another state's number. The rules are
rows of `us/resale_rules`; each row names its source.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import number
from taxcalc.us.asked_for import NOTHING, asked_for

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.seller import Certificate
    from taxcalc.tables.load import Table

ALL_STATES = "US"


class Shield(IntEnum):
    """How well the documents at hand keep the fulfiller from charging tax, best first."""

    ACCEPTED = 0
    TO_CHECK = 1
    TO_REPLACE = 2
    UNCLEAR = 3
    RAN_OUT = 4
    NONE = 5


_WORDS = {"yes": Shield.ACCEPTED, "accepted": Shield.ACCEPTED, "unclear": Shield.UNCLEAR}


def shield(place: int, day: int, fulfiller: int, *, obliged: bool, row: int, facts: Facts) -> Shield:
    """Give the best protection that the documents of the profile bring at a place on a day.

    `obliged`: the seller already had to register there, so that another state's number no longer fits (the document
    is expected to shield the fulfiller until it is replaced).
    """
    code = places.code(place)
    found = [
        _on(certificate, place, day, obliged=obliged, row=row, facts=facts)
        for certificate in facts.certificates_on(fulfiller, day)
        if certificate.place in (code, ALL_STATES)
    ]
    return min(found, default=Shield.NONE)


def _on(certificate: Certificate, place: int, day: int, *, obliged: bool, row: int, facts: Facts) -> Shield:
    """Judge one document on a day: what the state says of it, unless it has run out or its number was given up by then."""
    answer = _accepted(certificate, places.code(place), day, facts.tables["us/resale_rules"], row)
    if _number_given_up(certificate, day, facts):
        answer = max(answer, Shield.UNCLEAR)
    if (
        answer in (Shield.ACCEPTED, Shield.TO_CHECK)
        and certificate.number_of != places.code(place)
        and obliged
    ):
        only_before = bool(facts.tables["us/resale_rules"]["only_if_not_obliged_here"][row])
        answer = Shield.TO_REPLACE if only_before else answer
    last = facts.last_day_of(certificate, place)
    return max(answer, Shield.RAN_OUT) if last is not None and day > last else answer


def _number_given_up(certificate: Certificate, day: int, facts: Facts) -> bool:
    """Tell whether the registration behind the number in a document ended before the day, by the profile.

    Whether the fulfiller may still rely on the document is not known then (common practice, no source).
    """
    given = [r for r in facts.seller.registrations if r.place == certificate.number_of]
    ends = [r.until_day for r in given]
    return bool(given) and all(end is not None and number(end) < day for end in ends)


def works(certificate: Certificate, place: int, day: int, facts: Facts) -> bool:
    """Tell whether a state takes, or may take, a document by its form and number; whether it has run out is not looked at."""
    table = facts.tables["us/resale_rules"]
    row = table.row(day, place=place)
    if (
        row < 0
        or certificate.form == "vat_number"
        or certificate.place not in (places.code(place), ALL_STATES)
    ):
        return False
    return _accepted(certificate, places.code(place), day, table, row) <= Shield.UNCLEAR


def _accepted(certificate: Certificate, code: str, day: int, table: Table, row: int) -> Shield:
    """Judge a document by its form and by whose number is in it: both have to be taken by the state.

    The number is the state's own, another state's, of nobody known (unclear, unless only the state's own works), or no
    state's at all: a federal or foreign number, or one of a state without a sales tax, which gives none.
    """
    issuer = certificate.number_of
    taken = _form_taken(certificate, table, row)
    if issuer == code:
        return Shield.NONE if taken is Shield.NONE else Shield.ACCEPTED
    if certificate.form == "multijurisdiction" and bool(table["multistate_needs_own_number"][row]):
        return Shield.NONE
    if issuer is None:
        return max(taken, Shield.NONE if table["rule"][row] == "own_number_needed" else Shield.UNCLEAR)
    if not issuer.startswith("US-") or table["rule"][table.row(day, place=issuer)] == "no_tax":
        return max(taken, _WORDS.get(str(table["without_us_number"][row]), Shield.NONE))
    return _number_of_another_state(certificate, code, table, row)


def _form_taken(certificate: Certificate, table: Table, row: int) -> Shield:
    """Tell whether the state takes the form itself."""
    column = {"multijurisdiction": "multistate_form", "streamlined": "streamlined_form"}.get(certificate.form)
    return Shield.ACCEPTED if column is None else _WORDS.get(str(table[column][row]), Shield.NONE)


def _number_of_another_state(certificate: Certificate, code: str, table: Table, row: int) -> Shield:
    """Judge a document with another state's number in it.

    A state that takes a particular paper without a registration does not always take a bare number of another state on
    its own form: where that is unclear the paper is to be checked.
    """
    rule = str(table["rule"][row])
    if rule == "own_number_needed":
        return Shield.NONE
    if certificate.form == "state":
        taken = _WORDS.get(str(table["home_number"][row]), Shield.NONE)
        particular_paper = rule == "paper_without_registration" and certificate.place == code
        return Shield.TO_CHECK if particular_paper and taken is not Shield.ACCEPTED else taken
    return _form_taken(certificate, table, row)


def obtainable(place: int, day: int, *, obliged: bool, facts: Facts) -> bool:
    """Tell whether a document that the state takes could have been given that day, with the numbers then held."""
    asks = asked_for(place, day, obliged=obliged, facts=facts)
    return asks is not None and asks.needs == NOTHING
