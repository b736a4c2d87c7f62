"""An import consignment: does its value pass the limit of the import scheme, and on which day is its VAT chargeable.

Intrinsic value: the price of the goods without VAT, transport and insurance when these are stated apart; all lines of an
order to one place are one consignment (Directive 2006/112/EC art. 369l and 143(1)(ca), limit in eu/thresholds). VAT is
inside a price only where somebody charges it: the seller under its import scheme or as it says itself, or a marketplace.
Without that the customer pays the whole price for the goods, and the VAT comes on top at the border.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Channel, Entry
from taxcalc.eu.place import DIGITAL, in_vat_territory, rules_of, scheme_held
from taxcalc.eu.rates import ppm, rate_rows
from taxcalc.exchange import convert
from taxcalc.money import PPM, round_half_away

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.cases import Settled
    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.spool import Lines

    Index = npt.NDArray[np.intp]


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
    value = in_euro(lines["item_amount"][imports], lines, settled, imports, facts)
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


def chargeable_at_payment(
    lines: Lines,
    settled: Settled,
    over: npt.NDArray[np.bool_],
    facts: Facts,
) -> npt.NDArray[np.bool_]:
    """Tell which sales under the import scheme have a later dispatch day, though their VAT is chargeable at payment.

    Rates and periods of the scheme go by the day on which the payment is accepted (Directive 2006/112/EC art. 66a, 369n;
    eu/scheme_rules: chargeable_event of ioss), which is the day of the order.
    """
    found = np.zeros(lines.size, bool)
    inside = in_vat_territory(np.arange(len(places.codes()), dtype=np.int16), facts)
    later = (lines["tax_day"] != lines["day"]) & (lines["entry"] == Entry.SALE) & ~over
    at = np.flatnonzero(
        later
        & inside[rules_of(lines["destination"], facts)]
        & ~inside[rules_of(settled.ship_from, facts)]
        & (lines["product_class"] != DIGITAL)
        & (lines["buyer_number"] <= 0)
        & (lines["channel"] == Channel.OWN)
    )
    if at.size:
        days = lines["day"][at]
        imports_first = [
            n for n in range(len(facts.fulfillers)) if facts.fulfiller(n).importer == "fulfiller"
        ]
        of_scheme = scheme_held(days, facts, "EU", "ioss") & ~np.isin(settled.fulfiller[at], imports_first)
        table = facts.tables["eu/scheme_rules"]
        asked = {"subject": "ioss", "rule": "chargeable_event"}
        columns = {name: np.full(at.size, word, object) for name, word in asked.items()}
        row = table.lookup(days, place=np.full(at.size, places.index("EU"), np.int16), **columns)
        found[at] = of_scheme & (table["answer"][row] == "payment_accepted")
    return found


def in_euro(amount: Ints, lines: Lines, settled: Settled, at: Index, facts: Facts) -> Ints:
    """Give an amount of some lines (goods or shipping) in cents of euro, without the VAT that somebody charges in it."""
    days = lines["day"][at]
    place = rules_of(lines["destination"][at], facts)
    rate = ppm(rate_rows(place, lines["product_class"][at], settled.rule_day[at], facts), facts)
    charged = settled.included[at] & _vat_is_charged(lines, settled, at, facts)
    net = np.where(charged, round_half_away(amount * PPM, PPM + rate), amount)
    return convert(net, lines["currency"][at], "EUR", days)


def _vat_is_charged(lines: Lines, settled: Settled, at: Index, facts: Facts) -> npt.NDArray[np.bool_]:
    """Tell on which lines the seller, by its scheme or its own word, or a marketplace charges VAT."""
    by_scheme = scheme_held(settled.rule_day[at], facts, "EU", "ioss")
    by_marketplace = lines["channel"][at] == Channel.MARKETPLACE
    return np.asarray(by_scheme | by_marketplace | (lines["tax_collected"][at] != 0), np.bool_)
