"""What is assumed where a seller of the Union is, or may be, exempt as a small business."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.eu.small_business import RULES, SCHEME, rule_row, walked
from taxcalc.eu.small_business_rules import rules_of
from taxcalc.regime import DUTY

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.facts import Facts

COUNTED = (
    "Small-business turnover is what is supplied in the member state, through marketplaces and to businesses too, with exports "
    "from it: as charged while you are exempt, without VAT otherwise, by the day of the order. Sales before the files count "
    "for the state that [[prior_sales]] names. Other supplies of yours, in no file, may count too and are not seen; a sale of "
    "property or equipment on the side does not count."
)
OTHER_YEARS = "tax_year", "accounting_period", "unknown"
DIGITAL = PRODUCT_CLASSES.index("digital")


def eu_assumptions(assessment: Assessment) -> list[str]:
    """Give the sentences on the small-business scheme; none for a seller whom it does not concern."""
    facts = assessment.run.facts
    states = walked(facts)
    if not states:
        return []
    found = [COUNTED]
    for state in states:
        found += _of_state(state, facts)
    split = _with_services(assessment, states)
    return found + split


def _of_state(state: int, facts: Facts) -> list[str]:
    """Say what the row of a state leaves to the seller, and for which days nothing is held of its limit."""
    table, code = facts.tables[RULES], places.code(state)
    rules, found = rules_of(state, facts), []
    if not rules or rules[0].first > facts.first_order_day:
        until = f" before {_day(rules[0].first)}" if rules else ""
        found.append(
            f"{code}: no limit of the small-business scheme is held{until}; your profile's word is taken that you were exempt."
        )
    silent = (
        r.scheme == SCHEME and r.place == code and not r.identified_in for r in facts.seller.registrations
    )
    if state != facts.home and any(silent):
        found.append(
            f"{code}: identified_in is not given; your exempt number (EX) is taken to be one of your home state."
        )
    row = rule_row(state, facts.as_of_day, facts)
    if row >= 0 and table["natural_persons_only"][row]:
        found.append(
            f"{code}: the small-business scheme is open to natural persons only; you are taken to be one."
        )
    if row >= 0 and table["window"][row] in OTHER_YEARS:
        found.append(f"{code}: turnover is added up over calendar years; the law may take another year.")
    if row >= 0 and table["first_year_pro_rata"][row]:
        found.append(
            f"{code}: in the year in which you were established the limit is a part of it, by days from established_on."
        )
    return found


def _with_services(assessment: Assessment, states: list[int]) -> list[str]:
    """Name the states with a lower limit for services in which digital supplies were exempt: that one is not tested."""
    terms, facts = assessment.run.terms, assessment.run.facts
    table = facts.tables[RULES]
    digital = (terms.cases.product_class == DIGITAL) & (terms.duty == DUTY["exempt_small_business"])
    found = []
    for state in states:
        lower = table.row(facts.as_of_day, place=state, sales="services")
        if lower >= 0 and table["amount"][lower] > 0 and (terms.placed.place[digital] == state).any():
            found.append(
                f"{places.code(state)}: digital supplies are services, with a lower small-business limit of their own that is "
                "not tested here; ask a professional."
            )
    return found


def _day(number: int) -> str:
    """Write a day."""
    return str(np.datetime64(number, "D"))
