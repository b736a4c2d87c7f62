"""The choice to be taxed on arrival below the limit: from its day on, and for as long as the law binds the seller to it.

Directive 2006/112/EC art. 59c(3): the choice covers goods and digital services together and holds for a number of calendar
years (eu/scheme_rules: option_for_destination), counted here from the year in which it begins.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import number
from taxcalc.duties import Interval, Position
from taxcalc.facts import OPEN

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.seller import Election

ELECTION = "eu_tax_at_destination"
UNION = "EU"


def elected(facts: Facts) -> list[Interval]:
    """Give the intervals in which sales under the limit are taxed on arrival by choice."""
    return [
        Interval(places.index(UNION), Position(number(e.from_day)), _last(e, facts), "election")
        for e in facts.seller.elections
        if e.name == ELECTION
    ]


def bound_until(election: Election, facts: Facts) -> int:
    """Give the last day of the calendar years for which a choice binds; the day before it where no row says so."""
    table = facts.tables["eu/scheme_rules"]
    start = number(election.from_day)
    asked = {"subject": "distance_sales", "rule": "option_for_destination"}
    row = table.row(start, place=places.index(UNION), **asked)
    if row < 0:
        return start - 1
    return number(date(election.from_day.year + int(table["years"][row]) - 1, 12, 31))


def _last(election: Election, facts: Facts) -> int:
    """Give the last day of a choice: the profile's, but not before it may end."""
    if election.until_day is None:
        return OPEN
    return max(number(election.until_day), bound_until(election, facts))
