"""Tax per line from terms and kernel, for both sides of the chain, refunds included; and its sums by place and quarter.

A sale is computed by its own case. A refund takes back the part of the sale's tax that it refunds
(`taxcalc.orders.refunded_part`); a refund whose sale is not in the files is computed by its own day's rules with the
opposite sign. All amounts stay in the line's currency until they are summed; then each line is converted at its order
day and rounded, and only then added.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.charges import in_line_currency, purchase_charges, sale_charges
from taxcalc.columns import Entry
from taxcalc.kernel import tax, whole_parcels
from taxcalc.orders import refunded_part
from taxcalc.regime import DUTY

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.kernel import Charges
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms, Terms

    Index = npt.NDArray[np.intp]


@dataclass(frozen=True)
class LineFigures:
    """Figures of lines, int64 minor units: the seller's side in the line's currency, the fulfiller's in its own.

    All are negative on refunds.
    """

    duty: npt.NDArray[np.int8]
    to_collect: dict[str, Ints]
    collected: Ints
    fulfiller_tax: dict[str, Ints]
    fulfiller_tax_charged: Ints
    fulfiller_tax_avoidable: Ints

    @cached_property
    def due(self) -> npt.NDArray[np.bool_]:
        """Tell which lines the seller has to collect on."""
        due: npt.NDArray[np.bool_] = self.duty == DUTY["collect"]
        return due

    @property
    def shortfall(self) -> Ints:
        """Too little collected where there is a duty; negative where too much."""
        return np.where(self.due, self.to_collect["expected"] - self.collected, 0)

    @property
    def collected_without_duty(self) -> Ints:
        """Collected where there is none."""
        return np.where(self.due, 0, self.collected)


def line_figures(bucket: Bucket, terms: AllTerms, *, by_order: bool) -> LineFigures:
    """Compute both sides of the chain for every line of a bucket.

    Exempt goods have the duty `exempt_goods`, unless shipping on their line is taxed because taxed goods travel in the
    same parcel.
    """
    lines, case = bucket.lines, bucket.case
    to_collect = _seller_side(bucket, terms, by_order=by_order)
    duty = terms.duty.take(case)
    shipping_taxed = (duty == DUTY["exempt_goods"]) & (to_collect["high"] != 0)
    duty = np.where(shipping_taxed, np.int8(DUTY["collect"]), duty)
    by_facilitator = duty == DUTY["marketplace_collects"]
    collected = np.where(by_facilitator, 0, lines["tax_collected"])
    billed = _fulfiller_side(bucket, terms, by_order=by_order)
    return LineFigures(
        duty=duty,
        to_collect=to_collect,
        collected=collected,
        fulfiller_tax=billed,
        fulfiller_tax_charged=lines["fulfiller_tax_charged"],
        fulfiller_tax_avoidable=_avoidable(bucket, terms, billed["expected"]),
    )


def _avoidable(bucket: Bucket, terms: AllTerms, expected: Ints) -> Ints:
    """Give the expected tax of the fulfiller that the best document would have stopped; a refund takes its sale's back."""
    lines, refunds = bucket.lines, bucket.refunds
    values = np.where(terms.avoidable.take(bucket.case), expected, 0)
    if refunds.lines.size:
        billed = np.abs(lines["fulfiller_item_cost"]) + np.abs(lines["fulfiller_shipping_cost"])
        values[refunds.lines] = refunded_part(refunds, lines, values, billed, billed)
    return values


def _seller_side(bucket: Bucket, terms: AllTerms, *, by_order: bool) -> dict[str, Ints]:
    """Give the tax the seller should collect, low, expected and high."""
    ends, unknown = sale_charges(bucket, terms)
    return _three_ends(
        bucket,
        terms.collect,
        ends,
        bucket.lines["currency"],
        ends["expected"].goods + ends["expected"].shipping,
        by_order=by_order,
        extra=unknown,
    )


def _three_ends(
    bucket: Bucket,
    terms: Terms,
    charges: dict[str, Charges],
    currency: npt.NDArray[np.int16],
    sold: Ints,
    *,
    by_order: bool,
    extra: npt.NDArray[np.bool_],
) -> dict[str, Ints]:
    """Compute expected for all lines, and low and high again only where they can differ; then give refunds their part."""
    case = bucket.case
    own = np.ones(case.size, bool)
    own[bucket.refunds.lines] = False
    sign = np.where(bucket.lines["entry"] == Entry.REFUND, -1, 1)
    ranged = own & whole_parcels(bucket.parcel, terms.ranged.take(case) | extra)
    result: dict[str, Ints] = {}
    for name in ("expected", "low", "high"):
        charged = terms.rules[name].charged.take(case) & (own if name == "expected" else ranged)
        values = (
            np.zeros(case.size, np.int64) if name == "expected" else np.where(ranged, 0, result["expected"])
        )
        index = np.flatnonzero(charged)
        if index.size:
            values[index] = _tax(bucket, terms, name, charges[name], index, currency, by_order=by_order)
        result[name] = values
    for name, values in result.items():
        if bucket.refunds.lines.size:
            values[bucket.refunds.lines] = refunded_part(bucket.refunds, bucket.lines, values, sold, sold)
        single = own & (sign < 0)
        result[name] = np.where(single, -values, values)
    return result


def _tax(
    bucket: Bucket,
    terms: Terms,
    name: str,
    charges: Charges,
    index: Index,
    currency: npt.NDArray[np.int16],
    *,
    by_order: bool,
) -> Ints:
    """Compute the tax of some lines at one end, by the whole rules only where the quick way does not do."""
    case, chosen, quick = bucket.case.take(index), charges.take(index), terms.quick[name]
    if by_order:
        hard = np.arange(index.size)
        values = np.zeros(index.size, np.int64)
    else:
        hard = np.flatnonzero(quick.hard(chosen, case))
        values = quick.tax(chosen, case)
    if hard.size:
        at = index[hard]
        days = bucket.lines["day"][at]
        rules = in_line_currency(terms, terms.rules[name], case[hard], currency[at], days)
        values[hard] = tax(chosen.take(hard), rules, by_order=by_order)
    return values


def _fulfiller_side(bucket: Bucket, terms: AllTerms, *, by_order: bool) -> dict[str, Ints]:
    """Give the tax the fulfiller may charge, on the price that is its base at each end."""
    lines = bucket.lines
    sold = np.abs(lines["fulfiller_item_cost"]) + np.abs(lines["fulfiller_shipping_cost"])
    differs = (terms.base["low"] != terms.base["expected"]) | (terms.base["high"] != terms.base["expected"])
    ends = _three_ends(
        bucket,
        terms.fulfiller,
        purchase_charges(bucket, terms),
        lines["fulfiller_currency"],
        sold,
        by_order=by_order,
        extra=differs.take(bucket.case),
    )
    return _ordered(ends, lines["entry"] == Entry.REFUND)


def _ordered(ends: dict[str, Ints], refund: npt.NDArray[np.bool_]) -> dict[str, Ints]:
    """Keep low ≤ expected ≤ high in size where the ends rest on different prices (a mark-up against the real price)."""
    at = np.flatnonzero(ends["low"] | ends["expected"] | ends["high"])
    size = {name: np.abs(values[at]) for name, values in ends.items()}
    sign = np.where(refund[at], -1, 1)
    low, high = ends["low"].copy(), ends["high"].copy()
    low[at] = np.minimum(size["low"], size["expected"]) * sign
    high[at] = np.maximum(size["high"], size["expected"]) * sign
    return {"low": low, "expected": ends["expected"], "high": high}
