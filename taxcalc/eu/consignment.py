"""The value of an import consignment: does it pass the limit of the import scheme.

Intrinsic value: the price of the goods without VAT, transport and insurance when these are stated apart; all lines of an
order to one place are one consignment (Directive 2006/112/EC art. 369l and 143(1)(ca), limit in eu/thresholds).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Entry
from taxcalc.eu.place import in_vat_territory, rules_of
from taxcalc.eu.rates import ppm, rate_rows
from taxcalc.exchange import convert
from taxcalc.money import PPM, round_half_away

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.cases import Settled
    from taxcalc.facts import Facts
    from taxcalc.spool import Lines


def over_import_limit(
    lines: Lines,
    settled: Settled,
    order: npt.NDArray[np.int32],
    facts: Facts,
) -> npt.NDArray[np.bool_]:
    """Tell for each line whether its consignment comes from outside the VAT territory and is worth more than the limit."""
    over = np.zeros(lines.size, bool)
    every = np.arange(len(places.codes()), dtype=np.int16)
    inside = in_vat_territory(rules_of(every, facts), facts)
    imports = np.flatnonzero(
        inside[lines["destination"]] & ~inside[settled.ship_from] & (lines["entry"] != Entry.REFUND)
    )
    if imports.size == 0:
        return over
    days = lines["day"][imports]
    place = rules_of(lines["destination"][imports], facts)
    rate = ppm(rate_rows(place, lines["product_class"][imports], settled.rule_day[imports], facts), facts)
    gross = lines["item_amount"][imports]
    net = np.where(settled.included[imports], round_half_away(gross * PPM, PPM + rate), gross)
    value = convert(net, lines["currency"][imports], "EUR", days)
    parcel, group = np.unique(
        order[imports].astype(np.int64) * len(every) + lines["destination"][imports], return_inverse=True
    )
    total = np.zeros(parcel.size, np.int64)
    np.add.at(total, group, value)
    table = facts.tables["eu/thresholds"]
    union = np.full(imports.size, places.index("EU"), np.int16)
    row = table.lookup(days, measure=np.full(imports.size, "import_consignment", object), place=union)
    over[imports] = (row >= 0) & (total[group] > table["amount"][row])
    return over
