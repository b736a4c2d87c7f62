"""Whether a seller needs a fiscal representative to register in a member state, or an intermediary for the import scheme.

Directive 2006/112/EC art. 204: a member state may ask sellers from outside the Union for one, but not where an instrument of
mutual assistance of similar scope exists with their country; sellers established in the Union may appoint one and never
must. Art. 369m: sellers from outside need an intermediary for the import scheme, but for countries named by the Commission
(goods sent from there). Rows: `eu/fiscal_representation`, `eu/representation_freed`; the state's own row goes before that of
the Union.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.tables.table import Table

LOCAL, IMPORTS = "local_registration", "ioss"
UNION = "EU"


class Answer(StrEnum):
    """What holds for this seller."""

    REQUIRED = "required"
    FREED = "freed"
    NOT_ASKED = "not_asked"
    OPTIONAL = "optional"
    ON_NOTICE = "on_notice"
    IN_SOME_CASES = "in_some_cases"
    UNCLEAR = "unclear"


NEEDED = {
    "yes": Answer.REQUIRED,
    "no": Answer.NOT_ASKED,
    "may_not_be_asked": Answer.NOT_ASKED,
    "on_notice": Answer.ON_NOTICE,
    "in_some_cases": Answer.IN_SOME_CASES,
}
FREES = (Answer.REQUIRED, Answer.ON_NOTICE, Answer.IN_SOME_CASES, Answer.UNCLEAR)
"""Answers that a row of `eu/representation_freed` turns into `freed`."""


class Representation(NamedTuple):
    """The answer, whether the representative is liable (`yes`, `no`, `unknown`), the law, basis and ids of its rows."""

    answer: Answer
    liable: str
    law: str
    basis: str
    row_ids: str


def representation(place: int, topic: str, day: int, facts: Facts) -> Representation:
    """Answer for a member state (or the whole Union, for the import scheme) on a day."""
    needs, frees = facts.tables["eu/fiscal_representation"], facts.tables["eu/representation_freed"]
    union = places.index(UNION)
    if facts.established_member_states:
        return _shown(Answer.OPTIONAL, needs, needs.row(day, place=union, topic=topic), frees, -1)
    row = _first(needs, day, [{"place": code, "topic": topic} for code in (place, union)])
    freed = _freed_row(frees, place, topic, day, facts)
    answer = NEEDED.get(str(needs["needed"][row]), Answer.UNCLEAR) if row >= 0 else Answer.UNCLEAR
    if answer in FREES and freed >= 0 and bool(frees["freed"][freed]):
        answer = Answer.FREED
    return _shown(answer, needs, row, frees, freed if answer in FREES or answer is Answer.FREED else -1)


def _freed_row(table: Table, place: int, topic: str, day: int, facts: Facts) -> int:
    """Find the row about the seller's own country: of the state, else of the Union."""
    homes = [code for code in (facts.seller.region, facts.seller.country) if code in places.codes()]
    asked = [
        {"place": code, "seller_country": places.index(str(home)), "topic": topic}
        for code in (place, places.index(UNION))
        for home in homes
    ]
    return _first(table, day, asked)


def _first(table: Table, day: int, asked: list[dict[str, object]]) -> int:
    """Give the first row that is in force; -1 where none is."""
    return next((row for keys in asked if (row := table.row(day, **keys)) >= 0), -1)


def _shown(answer: Answer, needs: Table, row: int, frees: Table, freed: int) -> Representation:
    """Put the answer together with what it rests on."""
    used = (needs, row, ("needed",)), (frees, freed, ("freed",))
    basis = max(int(table.basis(np.array([at]), *columns)[0]) for table, at, columns in used)
    ids = (str(table.row_ids(np.array([at]))[0]) for table, at, _ in used)
    return Representation(
        answer,
        str(needs["liable"][row]) if row >= 0 else "unknown",
        str(needs["law"][row]) if row >= 0 else "",
        BASES[basis],
        " ".join(filter(None, ids)),
    )
