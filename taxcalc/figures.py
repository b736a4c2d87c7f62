"""Tax per line from terms and kernel, for both sides of the chain, refunds included; and its sums by place and quarter.

A sale is computed by its own case. A refund takes back the part of the sale's tax that it refunds
(`taxcalc.orders.refunded_part`); a refund whose sale is not in the files is computed by its own day's rules with the
opposite sign. All amounts stay in the line's currency until they are summed; then each line is converted at its order
day and rounded, and only then added.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import Blank, Entry
from taxcalc.exchange import convert
from taxcalc.kernel import Charges, Rules, ShippingTreatment, tax, whole_parcels
from taxcalc.messages import refuse
from taxcalc.money import CURRENCIES, PPM, round_half_away
from taxcalc.orders import refunded_part
from taxcalc.regime import DUTY, MARKED_UP, RETAIL
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.cases import Settled
    from taxcalc.money import Ints
    from taxcalc.orders import Refunds
    from taxcalc.spool import Lines
    from taxcalc.terms import AllTerms, Terms

    Index = npt.NDArray[np.intp]

MOST_IN_ONE_LINE = 2**41
"""Minor units beyond which a product with a rate could overflow."""


@dataclass(frozen=True)
class Bucket:
    """Lines of one bucket with everything known about them.

    Numbers of orders and of parcels (the lines of an order with
    one destination, entry and day), matched refunds, answers of the profile, and the case of each line.
    """

    lines: Lines
    settled: Settled
    order: npt.NDArray[np.int32]
    parcel: npt.NDArray[np.int32]
    refunds: Refunds
    case: npt.NDArray[np.int32]


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


def charges_of(bucket: Bucket, terms: AllTerms) -> tuple[Charges, npt.NDArray[np.bool_]]:
    """Give what was charged on each line, and tell where the actual cost of transport is needed but not known."""
    lines = bucket.lines
    goods, shipping = np.abs(lines["item_amount"]), np.abs(lines["shipping_amount"])
    cost, unknown = _actual_cost(bucket, _over_cost(bucket, terms.collect), lines["currency"])
    charges = Charges(goods, shipping, lines["quantity"], bucket.settled.included, bucket.parcel, cost)
    return charges, unknown


def sale_charges(bucket: Bucket, terms: AllTerms) -> tuple[dict[str, Charges], npt.NDArray[np.bool_]]:
    """Give what the customer was charged on each line, as the kernel takes it at each end.

    Beside it, which lines have a range because the cost of their transport is needed and nowhere given. Raises E702 for
    an amount with which a product could overflow.
    """
    charges, unknown = charges_of(bucket, terms)
    sold, shipping, cost = charges.goods + charges.shipping, charges.shipping, charges.cost
    if sold.size and int(sold.max()) >= MOST_IN_ONE_LINE:
        raise refuse("E702")
    ends = {
        "low": replace(charges, cost=np.where(unknown, shipping, cost)),
        "expected": charges,
        "high": charges,
    }
    return ends, unknown


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


def _over_cost(bucket: Bucket, terms: Terms, end: str = "expected") -> npt.NDArray[np.bool_]:
    """Tell which lines have a rule that exempts no more of their shipping than its actual cost."""
    over = terms.rules[end].shipping == ShippingTreatment.OVER_ACTUAL_COST
    return np.asarray(over.take(bucket.case), dtype=np.bool_)


def _actual_cost(
    bucket: Bucket, needs: npt.NDArray[np.bool_], currency: npt.NDArray[np.int16]
) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """Give each line its share of the parcel's transport cost, and tell where it is needed but nowhere given.

    A rule that exempts no more than the actual cost compares what a parcel was charged with what it cost, on whichever of
    its lines either stands; the cost (in `currency`, one a line) is shared by the shipping charged.
    """
    lines = bucket.lines
    cost, unknown = np.zeros(lines.size, np.int64), np.zeros(lines.size, bool)
    index = np.flatnonzero(whole_parcels(bucket.parcel, needs))
    if index.size:
        amount, billed_in = (
            np.abs(lines["fulfiller_shipping_cost"][index]),
            lines["fulfiller_currency"][index],
        )
        amount = _to_line_currency(amount, billed_in, currency[index], lines["day"][index])
        _, parcel = np.unique(bucket.parcel[index], return_inverse=True)
        charged, spent = (np.zeros(int(parcel.max()) + 1, np.int64) for _ in range(2))
        shipping = np.abs(lines["shipping_amount"][index])
        np.add.at(charged, parcel, shipping)
        np.add.at(spent, parcel, amount)
        given = np.zeros(charged.size, bool)
        given[parcel[(lines["blanks"][index] & Blank.FULFILLER_SHIPPING_COST) == 0]] = True
        cost[index] = round_half_away(spent[parcel] * shipping, np.maximum(charged[parcel], 1))
        unknown[index] = ~given[parcel]
    return cost, unknown


def _to_line_currency(
    amounts: Ints,
    source: npt.NDArray[np.int16],
    target: npt.NDArray[np.int16],
    days: npt.NDArray[np.int32],
) -> Ints:
    """Convert amounts of one currency a line into another currency a line, at the order day's rate."""
    result = amounts.copy()
    for code in np.unique(target[source != target]).tolist():
        lines = np.flatnonzero((target == code) & (source != target))
        result[lines] = convert(amounts[lines], source[lines], CURRENCIES[code], days[lines])
    return result


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


def in_line_currency(
    terms: Terms,
    all_rules: Rules,
    case: npt.NDArray[np.int32],
    currency: npt.NDArray[np.int16],
    days: npt.NDArray[np.int32],
) -> Rules:
    """Give the rules of lines, with item prices in each line's currency where that is another one."""
    rules = all_rules.take(case)
    limit_currency = terms.limit_currency.take(case)
    limited = (rules.state_limit > 0) | (rules.local_limit > 0) | (rules.freed_limit > 0)
    other = (currency != limit_currency) & limited
    if not other.any():
        return rules
    index = np.flatnonzero(other)
    limits = {}
    for name in ("state_limit", "local_limit", "freed_limit"):
        limit = getattr(rules, name).copy()
        limit[index] = _to_line_currency(limit[index], limit_currency[index], currency[index], days[index])
        limits[name] = limit
    return replace(rules, **limits)


def purchase_charges(bucket: Bucket, terms: AllTerms) -> dict[str, Charges]:
    """Give the price that is the base of the fulfiller's tax on each line, as the kernel takes it at each end."""
    lines = bucket.lines
    none = np.zeros(lines.size, np.int64)
    plain = Charges(
        np.abs(lines["fulfiller_item_cost"]),
        np.abs(lines["fulfiller_shipping_cost"]),
        lines["quantity"],
        np.zeros(lines.size, bool),
        bucket.parcel,
        none,
    )
    return {name: _on_base(bucket, terms, name, plain) for name in SCENARIOS}


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


def _on_base(bucket: Bucket, terms: AllTerms, name: str, plain: Charges) -> Charges:
    """Put the customer's price, or the marked-up own price, in the place of the fulfiller's price where it is the base.

    What the customer's shipping is compared with where a state frees no more than its actual cost is the fulfiller's.
    """
    base = terms.base[name].take(bucket.case)
    retail, marked = np.flatnonzero(base == RETAIL), np.flatnonzero(base == MARKED_UP)
    if retail.size == 0 and marked.size == 0:
        return plain
    goods, shipping, included = plain.goods.copy(), plain.shipping.copy(), plain.included.copy()
    lines = bucket.lines
    source, target, days = (
        lines["currency"][retail],
        lines["fulfiller_currency"][retail],
        lines["day"][retail],
    )
    goods[retail] = _to_line_currency(np.abs(lines["item_amount"][retail]), source, target, days)
    shipping[retail] = _to_line_currency(np.abs(lines["shipping_amount"][retail]), source, target, days)
    included[retail] = bucket.settled.included[retail]
    cost, _ = _actual_cost(bucket, _over_cost(bucket, terms.fulfiller, name), lines["fulfiller_currency"])
    factor = PPM + terms.markup_ppm[bucket.case[marked]]
    goods[marked] = round_half_away(goods[marked] * factor, PPM)
    shipping[marked] = round_half_away(shipping[marked] * factor, PPM)
    return replace(plain, goods=goods, shipping=shipping, included=included, cost=cost)
