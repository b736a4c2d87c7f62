"""What becomes of the fulfiller's expected tax in a year: avoidable, perhaps given back, or final cost; by state.

Avoidable: a document that could be had that day brings it to nothing. Recoverable: the seller had a duty of its own
there, should have taxed its customer, and may ask for a credit of the tax paid on goods that it resold (New York State,
tax bulletin "Sales Tax Credits"; elsewhere common practice, no source). Final: the rest, samples among it. What was
charged although a document that the state accepts was on file is no expected tax; it stands apart, to be asked back
from the fulfiller.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import plus_months
from taxcalc.purchases.worth import us_cases
from taxcalc.regime import DUTY
from taxcalc.us.fulfiller import OBLIGED

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.assessment import Assessment
    from taxcalc.facts import Facts

PARTS = ("avoidable", "recoverable", "final")
MONTHS_A_YEAR = 12


class Split(NamedTuple):
    """The parts of one state, minor units of the reporting currency, and the last day to ask for a refund (None: not held).

    `expected` and `charged` hold the three parts each; `charged_with_document` stands beside them.
    """

    place: int
    expected: dict[str, int]
    charged: dict[str, int]
    charged_with_document: int
    ask_by: date | None


def splits(assessment: Assessment) -> list[Split]:
    """Split the fulfiller's tax of the last four completed quarters by state, the largest first."""
    run, year = assessment.run, assessment.sums.year
    terms = run.terms
    taxed = us_cases(assessment) & ((year["expected"] != 0) | (year["charged"] != 0))
    documented = terms.fulfiller.reason == "us_fulfiller_document"
    own_duty = np.isin(terms.cases.state, OBLIGED) & (terms.duty == DUTY["collect"])
    recoverable = ~terms.avoidable & own_duty & ~terms.cases.sample
    masks = {
        "avoidable": terms.avoidable,
        "recoverable": recoverable,
        "final": ~terms.avoidable & ~recoverable,
    }
    found = []
    for code in np.unique(terms.placed.place[taxed]).tolist():
        here = taxed & (terms.placed.place == code)
        sums = {
            of: {name: max(int(year[of][here & ~documented & mask].sum()), 0) for name, mask in masks.items()}
            for of in ("expected", "charged")
        }
        wrongly = max(int(year["charged"][here & documented].sum()), 0)
        if any(sums["expected"].values()) or any(sums["charged"].values()) or wrongly:
            by = ask_by(run.facts, code, run.frame.year.first)
            found.append(Split(code, sums["expected"], sums["charged"], wrongly, by))
    return sorted(found, key=lambda split: (-sum(split.expected.values()), places.code(split.place)))


def ask_by(facts: Facts, place: int, first_day: int) -> date | None:
    """Give the last day to ask for tax paid from some day on, by us/time_limits; None where no limit is held.

    Counted from the day itself, which is never later than the day from which the law counts (a return's due day).
    """
    table = facts.tables["us/time_limits"]
    row = table.row(facts.as_of_day, place=place, limit="refund")
    if row < 0:
        return None
    years = int(table["years"][row])
    return plus_months(to_day(first_day), years * MONTHS_A_YEAR) - timedelta(days=1)
