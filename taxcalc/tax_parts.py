"""What of each line is taxed, and which part of its tax is the state's: for papers that ask for more than the tax itself.

The expected end only. The state's part is computed alone and rounded; the local part is the rest of the tax of the line, so
that the two always add up to it. Where no locality taxes the line all of it is the state's, also the cent that a line gets
when the tax of an order is rounded once and shared out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.charges import charges_of, in_line_currency
from taxcalc.columns import Entry
from taxcalc.kernel import bases
from taxcalc.money import PPM, round_half_away
from taxcalc.orders import refunded_part

if TYPE_CHECKING:
    from taxcalc.charges import Bucket
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms


@dataclass(frozen=True)
class TaxParts:
    """Minor units of the line's currency, negative on refunds: the taxed amount without tax, and both parts of the tax."""

    taxable: Ints
    state: Ints
    local: Ints


def tax_parts(bucket: Bucket, terms: AllTerms, figures: LineFigures) -> TaxParts:
    """Split the expected tax of every line of a bucket.

    A line is taxed as far as the state or the localities tax it, whichever take more. Nothing is taxed where nothing has
    to be collected.
    """
    lines, case = bucket.lines, bucket.case
    taxable, state = np.zeros(lines.size, np.int64), np.zeros(lines.size, np.int64)
    own = np.ones(lines.size, bool)
    own[bucket.refunds.lines] = False
    at = np.flatnonzero(terms.collect.rules["expected"].charged.take(case) & own)
    if at.size:
        charges, _ = charges_of(bucket, terms)
        chosen, expected = charges.take(at), terms.collect.rules["expected"]
        rules = in_line_currency(terms.collect, expected, case[at], lines["currency"][at], lines["day"][at])
        of = bases(chosen, rules)
        base = np.maximum(of.state, of.local) + np.maximum(of.state_shipping, of.local_shipping)
        tax = np.abs(figures.to_collect["expected"][at])
        taxable[at] = base - np.where(chosen.included, tax, 0)
        under = PPM + np.where(chosen.included, of.state_ppm + of.local_ppm, 0)
        of_state = round_half_away((of.state + of.state_shipping) * of.state_ppm, under)
        no_local = (of.local_ppm == 0) | ((of.local == 0) & (of.local_shipping == 0))
        state[at] = np.where(no_local, tax, np.minimum(of_state, tax))
    sold = charges_sold(bucket)
    for values in (taxable, state):
        if bucket.refunds.lines.size:
            values[bucket.refunds.lines] = refunded_part(bucket.refunds, lines, values, sold, sold)
    alone = own & (lines["entry"] == Entry.REFUND)
    taxable, state = (np.where(alone, -values, values) for values in (taxable, state))
    return TaxParts(taxable, state, figures.to_collect["expected"] - state)


def charges_sold(bucket: Bucket) -> Ints:
    """Give what each line sold or refunded, as a size."""
    goods, shipping = bucket.lines["item_amount"], bucket.lines["shipping_amount"]
    sold: Ints = np.abs(goods) + np.abs(shipping)
    return sold
