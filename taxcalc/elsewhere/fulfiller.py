"""What the fulfiller may charge where neither dispatch nor arrival has rules here: not known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc.regime import WHOLESALE, FulfillerTerms, no_rules

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed

CURRENCY = "USD"


def fulfiller(cases: Cases, placed: Placed, facts: Facts) -> FulfillerTerms:
    """Answer per case: nothing is computed."""
    _ = facts
    rules = no_rules(cases.size)
    own = np.full(cases.size, WHOLESALE, np.int8)
    return FulfillerTerms(
        place=placed.place,
        reason=np.full(cases.size, "elsewhere_fulfiller", object),
        low=rules,
        expected=rules,
        high=rules,
        base_low=own,
        base_expected=own,
        base_high=own,
        markup_ppm=np.zeros(cases.size, np.int64),
        avoidable=np.zeros(cases.size, bool),
        limit_currency=CURRENCY,
    )
