"""What the fulfiller may charge the seller in sales tax on a drop shipment into a state.

Drop shipment: two sales, one parcel. The fulfiller's sale to the seller is taxed where the parcel arrives, if the
fulfiller collects there and holds no document that the state takes. The base is the fulfiller's own price, or the
customer's price in the states that say so; item-price rules are tested on the price that is the base.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.columns import Buyer, Channel
from taxcalc.duties import CAUSE
from taxcalc.facts import holds
from taxcalc.kernel import ShippingTreatment
from taxcalc.regime import MARKED_UP, RETAIL, WHOLESALE, Evidence, FulfillerTerms
from taxcalc.tables.schema import NO_VALUE
from taxcalc.us.collect import CURRENCY, goods_to_rules
from taxcalc.us.documents import Shield, obtainable, shield
from taxcalc.us.goods import EXEMPT, goods_rules, shipping_rules
from taxcalc.us.holidays import COLUMNS as HOLIDAY_COLUMNS
from taxcalc.us.holidays import holidays_of_fulfiller
from taxcalc.us.rates import rates_on_arrival, within_presences

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed
    from taxcalc.seller import Fulfiller
    from taxcalc.tables.load import Table
    from taxcalc.us.goods import GoodsRows, ShippingRules
    from taxcalc.us.rates import Rates

    Flags = npt.NDArray[np.bool_]

OBLIGED = (CAUSE["registration"], CAUSE["presence"], CAUSE["threshold"])
"""Duties after which another state's number no longer fits: the seller has, or must have, one of that state."""


CHARGED = (
    "us_fulfiller_own_use",
    "us_fulfiller_document_unclear",
    "us_fulfiller_document_ran_out",
    "us_fulfiller_law_unclear",
    "us_fulfiller_unknown",
    "us_fulfiller_no_document",
)
"""Reasons for which tax is to be expected, unless the goods themselves are free."""


def fulfiller(cases: Cases, placed: Placed, facts: Facts) -> FulfillerTerms:
    """Answer per case: no charge, the full charge, or a range where facts or law are unclear."""
    table = facts.tables["us/resale_rules"]
    rows = table.lookup(cases.day, place=cases.destination)
    rates = rates_on_arrival(cases, facts)
    may = ~rates.none & (rows >= 0)
    low, expected, high, reason = _charge(cases, table, rows, facts)
    state_rule, local_rule, goods = goods_rules(cases, facts.tables)
    free_goods = (state_rule == EXEMPT) & (local_rule == EXEMPT) & ~goods.local_may_follow
    reason = np.where(free_goods & np.isin(reason, CHARGED), "us_fulfiller_exempt_goods", reason)
    ships = shipping_rules(cases, facts.tables, goods, avoidable=facts.seller.pickup_offered)
    rules = (state_rule, local_rule)
    base_low, base_expected, base_high = bases = _bases(cases, table, rows)
    low_ship, expected_ship, high_ship = _shipping(table, rows, ships, bases)
    markup = table["markup_percent"][rows]
    freed = holidays_of_fulfiller(cases, facts.tables)
    in_holiday = may & low & (freed.rows >= 0) & ((state_rule != EXEMPT) | (local_rule != EXEMPT))
    return FulfillerTerms(
        place=placed.place,
        reason=np.select(
            [rates.none, rows < 0, in_holiday],
            ["us_fulfiller_no_tax", "us_fulfiller_no_rule", "us_fulfiller_holiday_open"],
            reason,
        ).astype(object),
        low=goods_to_rules(goods, rules, rates, rates.local_low, low_ship, may & low, freed.low),
        expected=goods_to_rules(
            goods, rules, rates, rates.local, expected_ship, may & expected, freed.expected
        ),
        high=goods_to_rules(goods, rules, rates, rates.local_high, high_ship, may & high, freed.high),
        base_low=base_low,
        base_expected=base_expected,
        base_high=base_high,
        markup_ppm=np.where(markup == NO_VALUE, 0, markup),
        avoidable=may & expected & _avoidable(cases, rows, facts),
        limit_currency=CURRENCY,
        evidence=_evidence(
            cases, rows, (rates, goods, ships), (may, may & high, reason, base_expected), facts
        ).and_of((freed.table, np.where(in_holiday, freed.rows, np.int32(-1)), HOLIDAY_COLUMNS)),
    )


BY_DOCUMENT = (
    "us_fulfiller_document",
    "us_fulfiller_document_to_check",
    "us_fulfiller_replace_document",
    "us_fulfiller_stock",
    "us_fulfiller_document_unclear",
)
DOCUMENT_COLUMNS = ("home_number", "multistate_form", "multistate_needs_own_number", "streamlined_form")


def _evidence(
    cases: Cases,
    rows: npt.NDArray[np.int32],
    used: tuple[Rates, GoodsRows, ShippingRules],
    found: tuple[Flags, Flags, npt.NDArray[np.object_], npt.NDArray[np.int8]],
    facts: Facts,
) -> Evidence:
    """Name the rows and columns that each answer rests on: documents where they decide, rates where tax is computed."""
    table = facts.tables["us/resale_rules"]
    rates, goods, ships = used
    may, charged, reason, base = found

    def where(mask: Flags, of: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
        return np.where(mask, of, np.int32(-1))

    by_document = may & np.isin(reason, BY_DOCUMENT)
    ends = facts.tables["us/certificates"]
    ran_out = may & (reason == "us_fulfiller_document_ran_out")
    ends_rows = where(ran_out, ends.lookup(cases.day, place=cases.destination))
    like_rule = charged & (table["shipping_in_base"][rows] == "like_shipping_rule")
    return Evidence(
        (
            (table, where(may, rows), ("rule", "liable_without_document", "base", "shipping_in_base")),
            (table, where(by_document, rows), DOCUMENT_COLUMNS),
            (ends, ends_rows, ("lasts", "months")),
            (
                table,
                where(may & (reason == "us_fulfiller_freed_by_facilitator"), rows),
                ("facilitated_sale_frees_fulfiller",),
            ),
            (table, where(charged & (base == MARKED_UP), rows), ("markup_percent",)),
            *((t, where(charged, r), c) for t, r, c in rates.used),
            (goods.table, where(charged & goods.specific, goods.state), ("treatment", "item_price")),
            (
                goods.table,
                where(charged & goods.specific & (goods.local != goods.state), goods.local),
                ("treatment",),
            ),
            (ships.table, where(like_rule, ships.rows), ("treatment", "mixed_shipment")),
            (ships.table, where(like_rule & ships.handling_open, ships.rows), ("handling",)),
        )
    )


def _charge(
    cases: Cases,
    table: Table,
    rows: npt.NDArray[np.int32],
    facts: Facts,
) -> tuple[Flags, Flags, Flags, npt.NDArray[np.object_]]:
    """Tell per case whether tax is charged at the low, expected and high end, and why."""
    collects, unsure = _collects(cases, facts)
    liable = table["liable_without_document"][rows]
    from_here = cases.ship_from == cases.destination
    starts_elsewhere = (liable == "by_ship_from") & ~from_here
    papers = _shields(cases, rows, facts)
    freed = table["facilitated_sale_frees_fulfiller"][rows] & (cases.channel == Channel.MARKETPLACE)
    customer_paper = cases.buyer != Buyer.CONSUMER
    answers = (
        (~collects, "us_fulfiller_does_not_collect", (False, False, False)),
        (cases.sample, "us_fulfiller_own_use", (True, True, True)),
        (liable == "no", "us_fulfiller_not_liable", (False, False, False)),
        (starts_elsewhere, "us_fulfiller_starts_elsewhere", (False, False, False)),
        (freed, "us_fulfiller_freed_by_facilitator", (False, False, True)),
        (
            _shielded_unless_stock_binds(cases, rows, papers, facts),
            "us_fulfiller_stock",
            (False, False, True),
        ),
        (papers == Shield.ACCEPTED, "us_fulfiller_document", (False, False, False)),
        (papers == Shield.TO_CHECK, "us_fulfiller_document_to_check", (False, False, True)),
        (papers == Shield.TO_REPLACE, "us_fulfiller_replace_document", (False, False, True)),
        (customer_paper, "us_fulfiller_customer_document", (False, False, True)),
        (papers == Shield.UNCLEAR, "us_fulfiller_document_unclear", (False, True, True)),
        (papers == Shield.RAN_OUT, "us_fulfiller_document_ran_out", (False, True, True)),
        ((liable == "unclear") | (liable == "local_only"), "us_fulfiller_law_unclear", (False, True, True)),
    )
    masks = [mask for mask, _, _ in answers]
    low, expected, high = (
        np.select(masks, [ends[at] for _, _, ends in answers], default=True) for at in range(3)
    )
    unknown = unsure & expected
    reason = np.select(
        [*masks, unknown],
        [*(word for _, word, _ in answers), "us_fulfiller_unknown"],
        "us_fulfiller_no_document",
    )
    return low & ~unsure, expected, high, reason.astype(object)


def _collects(cases: Cases, facts: Facts) -> tuple[Flags, Flags]:
    """Tell per case whether the fulfiller collects in the state that day, and where the profile does not know."""
    collects, unsure = np.ones(cases.size, bool), np.zeros(cases.size, bool)
    for code in np.unique(cases.fulfiller):
        who = facts.fulfiller(int(code))
        mine = cases.fulfiller == code
        if who.collects_in == "unknown":
            unsure[mine] = True
        elif who.collects_in != "all":
            collects[mine] = _listed(cases.destination[mine], cases.day[mine], who)
    return collects, unsure


def _listed(destination: npt.NDArray[np.int16], days: npt.NDArray[np.int32], who: Fulfiller) -> Flags:
    """Tell per case whether the fulfiller's list has the place on the day."""
    if isinstance(who.collects_in, str):
        return np.ones(destination.size, bool)
    listed = np.zeros(destination.size, bool)
    for item in who.collects_in:
        here = destination == places.index(item.place)
        listed[here] |= np.array([holds(item.from_day, item.until_day, int(day)) for day in days[here]], bool)
    return listed


def _shields(cases: Cases, rows: npt.NDArray[np.int32], facts: Facts) -> npt.NDArray[np.int8]:
    """Give the protection by documents per case; asked once for each place, period, fulfiller and duty."""

    def ask(place: int, day: int, who: int, obliged: bool, row: int) -> int:  # noqa: FBT001 - as it is called
        return int(shield(place, day, who, obliged=obliged, row=row, facts=facts))

    return _per_situation(cases, ask, rows).astype(np.int8)


def _shielded_unless_stock_binds(
    cases: Cases, rows: npt.NDArray[np.int32], papers: npt.NDArray[np.int8], facts: Facts
) -> Flags:
    """Tell where a document shields only as long as stock in the state is no presence (us/stock_rules)."""
    stock: Flags = (papers == Shield.ACCEPTED) & within_presences(cases, facts.stock_not_counted)
    if not stock.any():
        return stock
    bound = replace(cases, state=np.where(stock, np.int8(CAUSE["presence"]), cases.state))
    unless_bound: Flags = stock & (_shields(bound, rows, facts) == Shield.TO_REPLACE)
    return unless_bound


def _avoidable(cases: Cases, rows: npt.NDArray[np.int32], facts: Facts) -> Flags:
    """Tell where a document that could be had that day brings the charge to nothing; never for own use."""
    found = _per_situation(
        cases,
        lambda place, day, _who, obliged, _row: int(obtainable(place, day, obliged=obliged, facts=facts)),
        rows,
    )
    return np.asarray((found == 1) & ~cases.sample, dtype=np.bool_)


def _per_situation(
    cases: Cases, ask: Callable[[int, int, int, bool, int], int], rows: npt.NDArray[np.int32]
) -> npt.NDArray[np.int64]:
    """Ask once per distinct (place, day of the period, fulfiller, obliged, row) and spread the answers."""
    obliged = np.isin(cases.state, OBLIGED)
    columns = (cases.destination, cases.day, cases.fulfiller, obliged, rows)
    distinct, back = distinct_rows(columns)
    answers = [ask(p, d, f, bool(o), r) if r >= 0 else -1 for p, d, f, o, r in distinct]
    return np.array(answers, np.int64)[back]


def _bases(
    cases: Cases,
    table: Table,
    rows: npt.NDArray[np.int32],
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.int8], npt.NDArray[np.int8]]:
    """Choose the price: own, the customer's, or own with the presumed mark-up where the customer's is not shown.

    Where a state presumes a mark-up (California, CDTFA publication 121) that is expected, and the customer's price is
    the high end. Goods for the seller itself have no customer's price.
    """
    retail = (table["base"][rows] == "retail") & ~cases.sample
    presumed = retail & (table["markup_percent"][rows] != NO_VALUE)
    expected = np.where(presumed, MARKED_UP, np.where(retail, RETAIL, WHOLESALE)).astype(np.int8)
    high = np.where(retail, RETAIL, WHOLESALE).astype(np.int8)
    return expected, expected, high


def _shipping(
    table: Table,
    rows: npt.NDArray[np.int32],
    ships: ShippingRules,
    bases: tuple[npt.NDArray[np.int8], ...],
) -> tuple[npt.NDArray[np.int8], ...]:
    """Choose how the shipping charge enters the base: at the low end, as expected, at the high end.

    A charge that is in the base belongs to the price of the goods, so that it is free with goods that are free. What the
    fulfiller charges for shipping is taken as its actual cost, but for the high end where handling in it is taxed; where
    the customer's price is the base, what the customer paid above that cost is taxed in a state that frees no more. Where
    no rule is known the low end leaves it out.
    """
    word = table["shipping_in_base"][rows]

    def end(
        like_rule: npt.NDArray[np.int8], base: npt.NDArray[np.int8], *, at_most: bool
    ) -> npt.NDArray[np.int8]:
        up_to_cost = np.isin(
            like_rule, (ShippingTreatment.OVER_ACTUAL_COST, ShippingTreatment.EXEMPT_UNLESS_ALONE)
        )
        free = up_to_cost | (like_rule == ShippingTreatment.EXEMPT)
        in_base = np.where(free, ShippingTreatment.SHARE_OF_TAXED_GOODS, like_rule)
        at_cost = up_to_cost & (base != RETAIL)
        handling = at_cost & ships.handling_open & at_most
        return np.select(
            [word == "yes", word == "no", word == "unclear", handling],
            [in_base, ShippingTreatment.EXEMPT, in_base, in_base],
            np.where(at_cost, ShippingTreatment.EXEMPT, like_rule),
        ).astype(np.int8)

    low = end(ships.low, bases[0], at_most=False)
    return (
        np.where(word == "unclear", np.int8(ShippingTreatment.EXEMPT), low),
        end(ships.expected, bases[1], at_most=False),
        end(ships.high, bases[2], at_most=True),
    )
