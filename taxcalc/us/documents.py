"""Which document the fulfiller holds for a state on a day, whose number is in it, and whether the state takes it.

Form and issuer of the number are different things: a state's own form may carry another state's number. The rules are
rows of `us/resale_rules`; each row names its source.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.us.asked_for import NOTHING, asked_for

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.seller import Certificate
    from taxcalc.tables.load import Table

ALL_STATES = "US"


class Shield(IntEnum):
    """How well the documents at hand keep the fulfiller from charging tax, best first."""

    ACCEPTED = 0
    TO_REPLACE = 1
    UNCLEAR = 2
    NONE = 3


_WORDS = {"yes": Shield.ACCEPTED, "accepted": Shield.ACCEPTED, "unclear": Shield.UNCLEAR}


def shield(place: int, day: int, fulfiller: int, *, obliged: bool, row: int, facts: Facts) -> Shield:
    """Give the best protection that the documents of the profile bring at a place on a day.

    `obliged`: the seller already had to register there, so that another state's number no longer fits (the document
    is expected to shield the fulfiller until it is replaced).
    """
    code = places.code(place)
    found = [
        _accepted(certificate, code, day, obliged=obliged, table=facts.tables["us/resale_rules"], row=row)
        for certificate in facts.certificates_on(fulfiller, day)
        if certificate.place in (code, ALL_STATES)
    ]
    return min(found, default=Shield.NONE)


def _accepted(
    certificate: Certificate, code: str, day: int, *, obliged: bool, table: Table, row: int
) -> Shield:
    """Judge one document by the state's rule: number of that state, of another state, of nobody known, or of none.

    A state without sales tax gives out no number; a seller that names it is one without any state's number.
    """
    issuer = certificate.number_of
    if issuer == code:
        return Shield.ACCEPTED if _form_taken(certificate, table, row) is not Shield.NONE else Shield.NONE
    if issuer is None:
        answer = Shield.UNCLEAR if table["rule"][row] != "own_number_needed" else Shield.NONE
    elif not issuer.startswith("US-") or _gives_no_number(issuer, day, table):
        answer = _WORDS.get(str(table["without_us_number"][row]), Shield.NONE)
    else:
        answer = _number_of_another_state(certificate, code, table, row)
    if answer is Shield.ACCEPTED and obliged and bool(table["only_if_not_obliged_here"][row]):
        return Shield.TO_REPLACE
    return answer


def _gives_no_number(issuer: str, day: int, table: Table) -> bool:
    """Tell whether a state has no sales tax, so that nobody is registered there."""
    return bool(table["rule"][table.row(day, place=places.index(issuer))] == "no_tax")


def _form_taken(certificate: Certificate, table: Table, row: int) -> Shield:
    """Tell whether the state takes the form itself."""
    column = {"multijurisdiction": "multistate_form", "streamlined": "streamlined_form"}.get(certificate.form)
    return Shield.ACCEPTED if column is None else _WORDS.get(str(table[column][row]), Shield.NONE)


def _number_of_another_state(certificate: Certificate, code: str, table: Table, row: int) -> Shield:
    """Judge a document with another state's number in it."""
    rule = str(table["rule"][row])
    if rule == "own_number_needed":
        return Shield.NONE
    if certificate.form == "state":
        particular_paper = rule == "paper_without_registration" and certificate.place == code
        return (
            Shield.ACCEPTED if particular_paper else _WORDS.get(str(table["home_number"][row]), Shield.NONE)
        )
    if certificate.form == "multijurisdiction" and bool(table["multistate_needs_own_number"][row]):
        return Shield.NONE
    return _form_taken(certificate, table, row)


def obtainable(place: int, day: int, *, obliged: bool, facts: Facts) -> bool:
    """Tell whether a document that the state takes could have been given that day, with the numbers then held."""
    asks = asked_for(place, day, obliged=obliged, facts=facts)
    return asks is not None and asks.needs == NOTHING
