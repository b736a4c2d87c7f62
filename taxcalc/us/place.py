"""Where a sale into the United States is taxed: in the state, district or territory where the parcel arrives.

Sales from outside a state are sourced to the destination (Streamlined Sales and Use Tax Agreement, sections 309 and
310, and the remote-seller rules of the states). A facilitator's sale counts for the seller's own threshold or not,
as the state says; that is decided with the thresholds, not here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Buyer
from taxcalc.regime import NO_LIMIT, Placed
from taxcalc.us.goods import EXEMPT, goods_rules

if TYPE_CHECKING:
    from taxcalc.facts import Facts
    from taxcalc.regime import Cases


def place(cases: Cases, facts: Facts) -> Placed:
    """Answer per case: the destination; a country without a readable state is `unknown`.

    `taxable` is False for goods that the state exempts at any price and for buyers recorded as exempt or reselling.
    """
    whole_country = cases.destination == places.index("US")
    where = np.where(whole_country, np.int16(places.index("unknown")), cases.destination).astype(np.int16)
    state_rule, _, _ = goods_rules(cases, facts.tables)
    taxable = (state_rule != EXEMPT) & (cases.buyer == Buyer.CONSUMER)
    counts = ~whole_country & ~cases.sample
    limit_place = np.where(counts, where, np.int16(NO_LIMIT)).astype(np.int16)
    return Placed(where, np.zeros(cases.size, np.int8), limit_place, taxable)
