"""What the record shows of VAT that the fulfiller charges: numbers worth giving, and the ways on which it may come back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.money import CURRENCY_CODE, write_amount
from taxcalc.own_rows import own_among
from taxcalc.purchases.vat_numbers import FORM, giving_numbers
from taxcalc.routes import COMES_BACK, ROUTES
from taxcalc.tables.schema import BASES, NO_VALUE

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.purchases.split import Split, Way
    from taxcalc.purchases.vat_numbers import NumberWorth

CONSEQUENCE = (
    "With a VAT number of another member state the fulfiller's sale is exempt, if the number is valid and the transport is "
    "proven. You then account for the purchase where the goods arrive, and your own sale is local there: a registration in each "
    "such state, not the one-stop shop. A number of the state from which the goods leave does not stop the VAT, but lets you "
    "deduct it in a return there. Weigh both with a professional."
)
"""What follows from giving a number (Directive 2006/112/EC art. 36a, 40, 138, 168); chain rows 5, 6 and 15."""

PROCEDURE = ("last_month", "last_day", "least_amount", "reciprocity", "law")


def numbers_worth_giving(assessment: Assessment, window: dict[str, Any]) -> list[dict[str, Any]]:
    """Give the entries of `certificates` that are VAT numbers, without their rank."""
    return [
        {
            "form": FORM,
            "needs": one.needs,
            "saved": write_amount(one.saved, assessment.currency),
            **window,
            "first_expiry": None,
            "consequence": CONSEQUENCE,
            "states": [_state(assessment, state) for state in one.states],
            "caution": CAUTION,
        }
        for one in giving_numbers(assessment)
    ]


def _state(assessment: Assessment, state: NumberWorth) -> dict[str, Any]:
    """Write one state of dispatch."""
    code = places.code(state.place)
    name = places.name(code)
    table, union = assessment.run.facts.tables["eu/chain"], "zero_if_article_138_else_vat_of_dispatch"
    rows = table.rows(fulfiller_charges=union)[:1]
    row_ids = " ".join(table.row_ids(rows).tolist())
    return {
        "place": code,
        "name": name,
        "saved": write_amount(state.saved, assessment.currency),
        "rests_on": state.rests_on,
        "document": f"On goods that leave {name} for other member states",
        "number": "",
        "registration_due": False,
        "lasts": "while_number_is_valid",
        "expires_on": None,
        "renew_by": None,
        "days_to_obtain": None,
        "basis": BASES[int(table.basis(rows, "fulfiller_charges").max())],
        "row_ids": row_ids,
        "own_rows": own_among(row_ids),
        "caution": CAUTION,
    }


def ways(assessment: Assessment, split: Split) -> list[dict[str, Any]]:
    """Write how the tax of one place may come back, and why the rest does not."""
    return [_way(assessment, way) for way in split.ways]


def _way(assessment: Assessment, way: Way) -> dict[str, Any]:
    """Write one way; the least sum is that of the procedure for a whole calendar year."""
    table = assessment.run.facts.tables["eu/refund_procedures"]
    row = np.array([way.row])
    row_ids = str(table.row_ids(row)[0])
    least = int(table["least_amount"][way.row])
    currency = str(table["currency"][way.row])
    known = way.row >= 0 and least != NO_VALUE and currency in CURRENCY_CODE
    return {
        "route": way.route,
        "words": ROUTES[way.route],
        "comes_back": way.route in COMES_BACK,
        "expected": write_amount(way.expected, assessment.currency),
        "charged": write_amount(way.charged, assessment.currency),
        "year": way.year or None,
        "ask_by": way.ask_by.isoformat() if way.ask_by else None,
        "least": f"{write_amount(least, currency)} {currency}" if known else None,
        "law": str(table["law"][way.row]) or None if way.row >= 0 else None,
        "basis": BASES[int(table.basis(row, *PROCEDURE)[0])] if way.row >= 0 else None,
        "row_ids": row_ids,
        "own_rows": own_among(row_ids),
        "caution": CAUTION,
    }
