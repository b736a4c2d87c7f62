"""What the seller should collect on sales to other places: not known here.

Goods that leave one country for another are untaxed where they leave, if the export is proven (common practice, no
source); what the country of arrival asks is named as outside of what this program knows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.regime import DUTY, CollectTerms, no_rules

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed

CURRENCY = "USD"


def collect(cases: Cases, placed: Placed, facts: Facts) -> CollectTerms:
    """Answer per case: an export, or an open question where the goods stay in the country."""
    _ = placed, facts
    country = places.countries()
    leaves = country[cases.ship_from] != country[cases.destination]
    answers = (
        (cases.sample, "own_use", "elsewhere_own_use"),
        (cases.destination == places.index("unknown"), "unknown_place", "us_state_unknown"),
        (leaves, "zero_rated_export", "elsewhere_export"),
    )
    masks = [mask for mask, _, _ in answers]
    duty = np.select(masks, [DUTY[word] for _, word, _ in answers], DUTY["unknown_place"]).astype(np.int8)
    reason = np.select(masks, [word for _, _, word in answers], "elsewhere_no_rules").astype(object)
    rules = no_rules(cases.size)
    return CollectTerms(duty, reason, rules, rules, rules, CURRENCY)
