"""What the record shows of documents: those worth giving, where only registering helps, and what becomes of the tax."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.money import write_amount
from taxcalc.own_rows import own_among
from taxcalc.purchases.claims import NOT_HELD
from taxcalc.purchases.shown_union import numbers_worth_giving, ways
from taxcalc.purchases.split import PARTS, splits
from taxcalc.purchases.worth import actions, state_worths, strict_states
from taxcalc.tables.schema import BASES
from taxcalc.terms import regime_name
from taxcalc.us.asked_for import (
    HOME_NUMBER,
    NOTHING,
    OWN_NUMBER,
    STATE,
    forms_of_other_states,
    holds_a_state_number,
)

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.assessment import Assessment
    from taxcalc.purchases.split import Split
    from taxcalc.purchases.worth import Action, StateWorth

RULE_COLUMNS = ("rule", "home_number", "multistate_form", "multistate_needs_own_number", "streamlined_form")


def documents(assessment: Assessment) -> dict[str, Any]:
    """Give the parts `certificates`, `break_even` and `fulfiller_tax_split` of the record; amounts are decimal texts.

    All are sums of the last four completed quarters (`from`, `to`); `whole` tells whether the files cover them.
    """
    worths = state_worths(assessment)
    window = _window(assessment)
    found = [_action(assessment, action, window) for action in actions(worths)]
    found += numbers_worth_giving(assessment, window)
    found.sort(key=lambda action: -Decimal(action["saved"]))
    return {
        "certificates": [
            {"rank": rank, "consequence": "", **action} for rank, action in enumerate(found, start=1)
        ],
        "break_even": [_break_even(assessment, state, window) for state in strict_states(worths)],
        "fulfiller_tax_split": [_split(assessment, part, window) for part in splits(assessment)],
    }


def _window(assessment: Assessment) -> dict[str, Any]:
    """Name the four quarters, and whether the files begin before them."""
    year = assessment.run.frame.year
    first, last = to_day(year.first), to_day(year.last)
    return {
        "from": first.isoformat(),
        "to": last.isoformat(),
        "whole": assessment.run.covers[0] <= first and assessment.run.covers[1] >= last,
    }


def _iso(day: date | None) -> str | None:
    """Write a day, None where there is none."""
    return day.isoformat() if day else None


def _action(assessment: Assessment, action: Action, window: dict[str, Any]) -> dict[str, Any]:
    """Write one action."""
    ends = [state.lasts.last_day for state in action.states if state.lasts.last_day is not None]
    return {
        "form": action.form,
        "needs": action.needs,
        "saved": write_amount(action.saved, assessment.currency),
        **window,
        "first_expiry": _iso(min(ends, default=None)),
        "states": [_state(assessment, state, action.form) for state in action.states],
        "caution": CAUTION,
    }


def _state(assessment: Assessment, state: StateWorth, form: str) -> dict[str, Any]:
    """Write one state of an action: what it asks for and how long it lasts."""
    facts = assessment.run.facts
    table, row, lasts = facts.tables["us/resale_rules"], state.asks.row, state.lasts
    certificates = facts.tables["us/certificates"]
    code = places.code(state.place)
    ids = [table.row_ids(np.array([row]))[0], certificates.row_ids(np.array([lasts.row]))[0]]
    basis = max(
        int(table.basis(np.array([row]), *RULE_COLUMNS)[0]),
        int(certificates.basis(np.array([lasts.row]), "lasts", "months")[0]),
    )
    row_ids = " ".join(filter(None, ids))
    own_form = form == OWN_NUMBER and not forms_of_other_states(table, row)
    return {
        "place": code,
        "name": places.name(code),
        "saved": write_amount(state.saved, assessment.currency),
        "rests_on": state.rests_on,
        "document": str(table["preferred_document"][row]) if form == STATE or own_form else "",
        "number": _number_words(assessment, state, form),
        "registration_due": state.obliged and form == OWN_NUMBER and state.asks.needs != NOTHING,
        "lasts": lasts.lasts,
        "expires_on": _iso(lasts.last_day),
        "renew_by": _iso(lasts.renew_by),
        "days_to_obtain": lasts.days_to_obtain,
        "basis": BASES[basis],
        "row_ids": row_ids,
        "own_rows": own_among(row_ids),
        "caution": CAUTION,
    }


def _number_words(assessment: Assessment, state: StateWorth, form: str) -> str:
    """Quote what the table says of a seller without any number of a state, where that is the seller's case."""
    facts = assessment.run.facts
    if form == OWN_NUMBER or holds_a_state_number(facts, facts.as_of_day):
        return ""
    table = facts.tables["us/resale_rules"]
    answer, words = (
        str(table[name][state.asks.row]) for name in ("without_us_number", "without_us_number_words")
    )
    return words if state.asks.needs in (NOTHING, HOME_NUMBER) and words != answer else ""


def _break_even(assessment: Assessment, state: StateWorth, window: dict[str, Any]) -> dict[str, Any]:
    """Write what registering in a strict state would have saved in a year; costs of returns are not invented."""
    code = places.code(state.place)
    return {
        "place": code,
        "name": places.name(code),
        "saved": write_amount(state.saved, assessment.currency),
        "rests_on": state.rests_on,
        **window,
        "row_ids": str(assessment.run.facts.tables["us/resale_rules"].row_ids(np.array([state.asks.row]))[0]),
        "caution": CAUTION,
    }


def _split(assessment: Assessment, split: Split, window: dict[str, Any]) -> dict[str, Any]:
    """Write the parts of one state: what was to be expected, and below it what was charged of each."""
    code, currency = places.code(split.place), assessment.currency
    return {
        "place": code,
        "name": places.name(code),
        "regime": regime_name(split.place),
        "expected": write_amount(sum(split.expected.values()), currency),
        **{name: write_amount(split.expected[name], currency) for name in PARTS},
        **{f"{name}_charged": write_amount(split.charged[name], currency) for name in PARTS},
        "charged_with_document": write_amount(split.charged_with_document, currency),
        **(split.ask_by.shown() if split.ask_by else NOT_HELD),
        "ways": ways(assessment, split),
        **window,
        "caution": CAUTION,
    }
