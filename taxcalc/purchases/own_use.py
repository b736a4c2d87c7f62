"""Use tax on samples: goods the seller ordered for itself, on which the fulfiller charged no tax.

The fulfiller's tax is properly due on them. Where it charged none, the state may ask the seller for the same tax as use
tax, on the price that the seller paid (general rule of the states' use taxes: common practice, no source; Nebraska values
the use at the price paid, Neb. Rev. Stat. 77-2706). It is a figure of its own and never part of what should be collected.

- The files say that nothing was charged, or the fulfiller does not collect there by the profile: the full tax at every end
  (with the range of the local rates).
- The files say nothing, and the fulfiller collects there or that is not known: nothing is expected, and the high end is
  the full tax.
- Something was charged: nothing. `taxcalc.purchases.compared` says where that is too little. Where the fulfiller gave back
  all the tax and kept its price, nothing was charged after all.

What the fulfiller gave back of a sample's price takes its part off, in the quarter of the sample: goods that went back
were not used (common practice, no source). A refund line that names no price of the fulfiller's takes nothing off.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.charges import in_line_currency
from taxcalc.columns import Blank, Entry
from taxcalc.days import quarter_number
from taxcalc.exchange import convert
from taxcalc.kernel import Charges, tax
from taxcalc.purchases.compared import NOT_JUDGED
from taxcalc.purchases.credits import price_back
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms

SLOTS = 2**16


class OwnUse(NamedTuple):
    """Sums by key place × SLOTS + slot, sorted; a slot is quarter × 2, plus 1 inside the period reviewed; int64 all."""

    keys: Ints
    lines: Ints
    low: Ints
    expected: Ints
    high: Ints


NONE = OwnUse(*(np.zeros(0, np.int64) for _ in range(5)))


def own_use(
    bucket: Bucket,
    terms: AllTerms,
    judged: npt.NDArray[np.int8],
    currency: str,
    period: tuple[int, int],
    *,
    by_order: bool,
) -> OwnUse:
    """Estimate the use tax on the samples of a bucket; `judged` as in `taxcalc.purchases.compared.judged`."""
    lines = bucket.lines
    at = np.flatnonzero(lines["entry"] == Entry.SAMPLE)
    of_states = (judged != NOT_JUDGED) & (terms.billed_by == places.US)
    at = at[of_states[bucket.case[at]]]
    if not at.size:
        return NONE
    blank = (lines["blanks"][at] & Blank.FULFILLER_TAX_CHARGED) != 0
    open_charge = blank & (terms.fulfiller.reason[bucket.case[at]] != "us_fulfiller_does_not_collect")
    given_back, untaxed = _credited(bucket, at)
    money = lines["fulfiller_currency"][at], currency, lines["day"][at]
    full = {}
    for name in SCENARIOS:
        tax_of_sample = _tax(bucket, terms, name, at, by_order=by_order)
        full[name] = np.where(untaxed, convert(tax_of_sample - given_back(tax_of_sample), *money), 0)
    ends = [np.where(open_charge, 0, full["low"]), np.where(open_charge, 0, full["expected"]), full["high"]]
    days = lines["tax_day"][at]
    slot = quarter_number(days).astype(np.int64) * 2 + ((days >= period[0]) & (days <= period[1]))
    keys = terms.placed.place[bucket.case[at]].astype(np.int64) * SLOTS + slot
    kept = untaxed & (full["high"] != 0)
    return added(OwnUse(keys[kept], np.ones(int(kept.sum()), np.int64), *(end[kept] for end in ends)))


def _credited(
    bucket: Bucket, at: npt.NDArray[np.intp]
) -> tuple[Callable[[Ints], Ints], npt.NDArray[np.bool_]]:
    """Give what takes a part of an amount of each sample back with its price, and which samples bear no tax after all."""
    lines, refunds = bucket.lines, bucket.refunds
    untaxed = lines["fulfiller_tax_charged"][at] == 0
    if not refunds.lines.size:
        return np.zeros_like, untaxed
    group_of = np.full(lines.size, -1, np.int32)
    group_of[refunds.sales] = refunds.sale_group
    group = group_of[at]
    price = price_back(lines, refunds)
    charged = lines["fulfiller_tax_charged"]
    tax_only = (refunds.sums(charged) + refunds.given_back(charged) <= 0) & (price.back == 0)
    untaxed |= (group >= 0) & tax_only[group] & price.one_currency[group]

    def given_back(amounts: Ints) -> Ints:
        return np.where(group >= 0, price.part(amounts, group), 0)

    return given_back, untaxed


def _tax(bucket: Bucket, terms: AllTerms, name: str, at: npt.NDArray[np.intp], *, by_order: bool) -> Ints:
    """Compute the tax on what the seller paid, by the fulfiller's rules, whether it collects or not."""
    lines, case = bucket.lines, bucket.case[at]
    goods, shipping = (
        np.abs(lines[column][at]) for column in ("fulfiller_item_cost", "fulfiller_shipping_cost")
    )
    none = np.zeros(at.size, np.int64)
    charges = Charges(goods, shipping, lines["quantity"][at], none != 0, bucket.parcel[at], none)
    of_cases = terms.fulfiller.rules[name]
    rules = in_line_currency(
        terms.fulfiller, of_cases, case, lines["fulfiller_currency"][at], lines["day"][at]
    )
    return tax(charges, replace(rules, charged=none == 0), by_order=by_order)


def added(parts: OwnUse) -> OwnUse:
    """Add up entries of the same key."""
    keys, position = np.unique(parts.keys, return_inverse=True)
    sums = [np.zeros(keys.size, np.int64) for _ in parts[1:]]
    for total, values in zip(sums, parts[1:], strict=True):
        np.add.at(total, position.reshape(-1), values)
    return OwnUse(keys, *sums)


def all_own_use(parts: list[OwnUse]) -> OwnUse:
    """Put the sums of all buckets together."""
    return added(OwnUse(*(np.concatenate(columns) for columns in zip(*parts, strict=True))))
