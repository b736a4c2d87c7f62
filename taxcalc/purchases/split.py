"""What becomes of the fulfiller's expected tax in a year: avoidable, perhaps given back, or final cost; by state.

Avoidable: a document that could be had that day brings it to nothing. Recoverable: the seller had a duty of its own
there, should have taxed its customer, and may ask for a credit of the tax paid on goods that it resold (New York State,
tax bulletin "Sales Tax Credits"; elsewhere common practice, no source). Final: the rest, samples among it. What was
charged although a document that the state accepts was on file is no expected tax; it stands apart, to be asked back
from the fulfiller. No part of the last four quarters can be past the state's last day to ask, where it gives a year or more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import quarter_of
from taxcalc.purchases.claims import last_day_to_ask
from taxcalc.purchases.worth import us_cases
from taxcalc.regime import DUTY
from taxcalc.us.fulfiller import OBLIGED

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.purchases.claims import LastDay

PARTS = ("avoidable", "recoverable", "final")


class Split(NamedTuple):
    """The parts of one state, minor units of the reporting currency.

    `expected` and `charged` hold the three parts each; `charged_with_document` stands beside them. `ask_by` is the last day
    to ask for the tax of the first of the four quarters (None: not held).
    """

    place: int
    expected: dict[str, int]
    charged: dict[str, int]
    charged_with_document: int
    ask_by: LastDay | None


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
            by = last_day_to_ask(run.facts, code, quarter_of(to_day(run.frame.year.first)))
            found.append(Split(code, sums["expected"], sums["charged"], wrongly, by))
    return sorted(found, key=lambda split: (-sum(split.expected.values()), places.code(split.place)))
