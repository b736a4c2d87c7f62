"""What is charged on each line, by the seller and by the fulfiller, as the kernel takes it; refunds by their size.

Costs and item prices in another currency are converted at the order day's rate, so that a line is computed in one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import Blank
from taxcalc.exchange import convert
from taxcalc.kernel import Charges, Rules, ShippingTreatment, whole_parcels
from taxcalc.messages import refuse
from taxcalc.money import CURRENCIES, PPM, round_half_away
from taxcalc.regime import MARKED_UP, RETAIL
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.cases import Settled
    from taxcalc.money import Ints
    from taxcalc.orders import Refunds
    from taxcalc.spool import Lines
    from taxcalc.terms import AllTerms, Terms

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
