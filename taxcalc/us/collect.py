"""What the seller should collect on a sale into a state.

In this order: the seller's own order, an unknown state, a state without sales tax, a facilitator that collects by
that state's dated law, goods or buyers that are exempt, no duty of the seller; else the tax of the place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Buyer, Channel
from taxcalc.duties import CAUSE
from taxcalc.kernel import Rules, ShippingTreatment, Treatment
from taxcalc.regime import DUTY, CollectTerms, Evidence
from taxcalc.tables.schema import NO_VALUE
from taxcalc.us.goods import EXEMPT, GoodsRows, goods_rules, shipping_rules
from taxcalc.us.holidays import COLUMNS as HOLIDAY_COLUMNS
from taxcalc.us.holidays import FreedGoods, Holidays, holidays_of_seller, no_holiday
from taxcalc.us.rates import Rates, seller_rates, within_presences

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed
    from taxcalc.tables.load import Table
    from taxcalc.us.goods import ShippingRules

LIMIT_COLUMNS = (
    "amount",
    "amount_met_when",
    "transactions",
    "connector",
    "window",
    "marketplace_sales_count",
)
"""Columns of us/thresholds that a duty, or its absence, rests on."""

CURRENCY = "USD"
"""Item-price limits of the states are in dollars."""


def collect(cases: Cases, placed: Placed, facts: Facts) -> CollectTerms:
    """Answer per case; the local part is an average with a range (see `taxcalc.us.rates`)."""
    state_rule, local_rule, goods = goods_rules(cases, facts.tables)
    rates = seller_rates(cases, facts)
    shipping = shipping_rules(cases, facts.tables, goods, avoidable=facts.seller.pickup_offered)
    laws = facts.tables["us/facilitator_laws"]
    law_rows = laws.lookup(cases.day, place=cases.destination)
    free_goods = (state_rule == EXEMPT) & (local_rule == EXEMPT)
    duty, reason = _duty(
        cases, placed, rates, free_goods, (law_rows >= 0) & (laws["facilitator_collects"][law_rows] == "yes")
    )
    stock = (duty == DUTY["below_threshold"]) & within_presences(cases, facts.stock_not_counted)
    reason = np.where(stock, "us_stock_no_presence", reason).astype(object)
    charged = (duty == DUTY["collect"]) | ((duty == DUTY["exempt_goods"]) & (cases.state > 0))
    some = goods.table["treatment"][goods.state] == "exempt_for_some"
    low_local = np.where(goods.local_may_follow, state_rule, local_rule)
    freed = holidays_of_seller(cases, facts)
    reason = _holiday_reason(duty, reason, freed, free_goods)
    low = goods_to_rules(
        goods, (state_rule, low_local), rates, rates.local_low, shipping.low, charged & ~some, freed.low
    )
    rules = (state_rule, local_rule)
    expected = goods_to_rules(goods, rules, rates, rates.local, shipping.expected, charged, freed.expected)
    high = goods_to_rules(goods, rules, rates, rates.local_high, shipping.high, charged | stock, freed.high)
    by_limit = np.isin(reason, ("us_no_duty", "us_stock_no_presence")) | (
        (duty == DUTY["collect"]) & (cases.state == CAUSE["threshold"])
    )
    limits = facts.tables["us/thresholds"]
    limit_rows = np.where(by_limit, limits.lookup(cases.day, place=cases.destination), np.int32(-1))
    by_law = (duty == DUTY["marketplace_collects"]) | (reason == "us_before_facilitator_law")
    evidence = _evidence(duty, stock, goods, rates, shipping, np.where(by_law, law_rows, np.int32(-1)), facts)
    stock_rules = facts.tables["us/stock_rules"]
    stock_rows = np.where(stock, stock_rules.lookup(cases.day, place=cases.destination), np.int32(-1))
    over = (duty == DUTY["collect"]) & (cases.state == CAUSE["threshold"])
    proof = evidence.and_of(
        (limits, limit_rows, LIMIT_COLUMNS),
        *_duty_rows(cases, over, facts),
        (stock_rules, stock_rows, ("at_outside_fulfiller",)),
        (freed.table, np.where(duty == DUTY["collect"], freed.rows, np.int32(-1)), HOLIDAY_COLUMNS),
    )
    return CollectTerms(duty, reason, low, expected, high, CURRENCY, proof)


def _duty(
    cases: Cases,
    placed: Placed,
    rates: Rates,
    free_goods: npt.NDArray[np.bool_],
    facilitated: npt.NDArray[np.bool_],
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.object_]]:
    """Choose the first answer that fits each case, and the reason in an id of `taxcalc.reasons`."""
    marketplace = cases.channel == Channel.MARKETPLACE
    unknown = placed.place == places.index("unknown")
    military = np.array(places.kinds(), object)[cases.destination] == "military"
    answers = (
        (cases.sample, "own_use", "us_own_use"),
        (unknown, "unknown_place", "us_state_unknown"),
        (military, "no_tax_here", "us_military"),
        (~rates.known, "unknown_place", "us_rate_unknown"),
        (rates.none, "no_tax_here", "us_no_sales_tax"),
        (marketplace & facilitated, "marketplace_collects", "us_facilitator"),
        (cases.buyer == Buyer.RESALE, "exempt_buyer", "us_resale"),
        (cases.buyer == Buyer.EXEMPT, "exempt_buyer", "us_exempt_buyer"),
        (free_goods, "exempt_goods", "us_exempt_goods"),
        (cases.state == 0, "below_threshold", "us_no_duty"),
        (marketplace, "collect", "us_before_facilitator_law"),
    )
    masks = [mask for mask, _, _ in answers]
    duty = np.select(masks, [DUTY[word] for _, word, _ in answers], DUTY["collect"])
    by_cause = np.array(
        ["us_no_duty", "us_registered", "us_present", "us_over_threshold", "us_no_duty", "us_no_duty"],
        object,
    )[cases.state]
    reason = np.select(masks, [word for _, _, word in answers], by_cause)
    return duty.astype(np.int8), reason.astype(object)


def _holiday_reason(
    duty: npt.NDArray[np.int8],
    reason: npt.NDArray[np.object_],
    freed: Holidays,
    free_goods: npt.NDArray[np.bool_],
) -> npt.NDArray[np.object_]:
    """Give the reason of a holiday where tax would be collected but for one."""
    concerned = (duty == DUTY["collect"]) & (freed.rows >= 0) & ~free_goods
    said = np.select(
        [freed.by_flat_rate, freed.sure], ["us_holiday_flat_rate", "us_holiday"], "us_holiday_open"
    )
    return np.where(concerned, said.astype(object), reason).astype(object)


def _duty_rows(
    cases: Cases, over: npt.NDArray[np.bool_], facts: Facts
) -> tuple[tuple[Table, npt.NDArray[np.int32], tuple[str, ...]], ...]:
    """Name the rows that say since when and until when a crossed threshold binds."""
    found = []
    for name, columns in (("us/threshold_starts", ("start_rule",)), ("us/duty_ends", ("end_rule",))):
        table = facts.tables[name]
        rows = table.lookup(cases.day, place=cases.destination)
        found.append((table, np.where(over, rows, np.int32(-1)), columns))
    return tuple(found)


def goods_to_rules(
    goods: GoodsRows,
    treatments: tuple[npt.NDArray[np.int8], npt.NDArray[np.int8]],
    rates: Rates,
    local_ppm: npt.NDArray[np.int64],
    shipping: npt.NDArray[np.int8],
    charged: npt.NDArray[np.bool_],
    freed: FreedGoods | None = None,
) -> Rules:
    """Put goods rows, rates, shipping and what a holiday frees together for the kernel."""
    table = goods.table
    freed = freed or no_holiday(charged.size)
    over = table["percent"][goods.state]
    return Rules(
        state_rule=treatments[0],
        state_limit=_limit(goods, goods.state),
        state_ppm=rates.state,
        state_over_ppm=np.where(over == NO_VALUE, rates.state, over),
        local_rule=treatments[1],
        local_limit=_limit(
            goods, np.where(treatments[1] == Treatment.TAXED, goods.local, _limit_rows(goods))
        ),
        local_ppm=local_ppm,
        shipping=shipping,
        charged=charged,
        state_freed=freed.state,
        local_freed=freed.local,
        freed_limit=freed.limit,
        freed_with_delivery=freed.with_delivery,
    )


def _limit_rows(goods: GoodsRows) -> npt.NDArray[np.int32]:
    """Give the row with the item price of the local part: its own, or the state's where the county is unknown."""
    own = goods.table["item_price"][goods.local] != NO_VALUE
    return np.where(own, goods.local, goods.state)


def _limit(goods: GoodsRows, rows: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
    """Give the item price of rows in cents, 0 where they have none."""
    price = goods.table["item_price"][rows]
    return np.where(price == NO_VALUE, 0, price)


def _evidence(
    duty: npt.NDArray[np.int8],
    stock: npt.NDArray[np.bool_],
    goods: GoodsRows,
    rates: Rates,
    shipping: ShippingRules,
    law_rows: npt.NDArray[np.int32],
    facts: Facts,
) -> Evidence:
    """Name the rows that matter for the answer: rates only where tax is computed, the law only where it decides."""
    taxed = np.isin(duty, (DUTY["collect"], DUTY["exempt_goods"])) | stock

    def where(mask: npt.NDArray[np.bool_], rows: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
        return np.where(mask, rows, np.int32(-1))

    rate_rows = tuple((table, where(taxed, rows), columns) for table, rows, columns in rates.used)
    states, state_rows, _ = rates.used[0]
    none_here = (states, where(duty == DUTY["no_tax_here"], state_rows), ("state_percent",))
    ships = (shipping.expected != ShippingTreatment.IN_ITEM_PRICE) & taxed
    return Evidence(
        (
            *rate_rows,
            none_here,
            (goods.table, where(taxed & goods.specific, goods.state), ("treatment", "item_price")),
            (
                goods.table,
                where(taxed & goods.specific & (goods.local != goods.state), goods.local),
                ("treatment",),
            ),
            (shipping.table, where(ships, shipping.rows), ("treatment", "mixed_shipment")),
            (shipping.table, where(ships & shipping.handling_open, shipping.rows), ("handling",)),
            (facts.tables["us/facilitator_laws"], law_rows, ("facilitator_collects",)),
        )
    )
