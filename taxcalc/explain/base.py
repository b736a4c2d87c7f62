"""What of a line is taxed: goods by the rule on item prices, holidays, and the taxable part of the shipping charge."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.explain import words
from taxcalc.explain.line import Step
from taxcalc.kernel import Freed, ShippingTreatment, Treatment
from taxcalc.money import write_amount

if TYPE_CHECKING:
    from taxcalc.explain.exact import Part, Worked
    from taxcalc.explain.line import OneLine
    from taxcalc.kernel import Charges, Rules

TABLES: Final = ("us/product_rules", "us/holidays", "us/shipping_rules", "us/shipping_handling")
SHIPPING: Final = {
    "TAXED": "the shipping charge is taxed like the goods",
    "EXEMPT": "a separately stated shipping charge is not taxed",
    "SHARE_OF_TAXED_GOODS": "shipping is taxed in the share of the parcel's goods that is taxed",
    "WHOLE_IF_ANY_TAXED": "the whole shipping charge is taxed as soon as any goods of the parcel are",
    "LIKE_ITS_LINE": "the shipping charge of a line is taxed in the share of that line's goods that is taxed",
    "OVER_ACTUAL_COST": "only what the shipping charge is above the actual cost of transport is taxed",
    "IN_ITEM_PRICE": "delivery belongs to the price of the item, so that it is taxed or free together with it",
    "WHOLE_IF_ONE_CHARGE": "one shipping charge is taxed in full once any goods of the parcel are; "
    "several charges go each with its goods",
    "EXEMPT_UNLESS_ALONE": "the shipping charge is not taxed unless nothing is charged for goods",
}
"""By the name of the kernel's treatment."""
BY_ITSELF: Final = (
    ShippingTreatment.TAXED,
    ShippingTreatment.EXEMPT,
    ShippingTreatment.LIKE_ITS_LINE,
    ShippingTreatment.IN_ITEM_PRICE,
)
"""Treatments for which the other goods of the parcel do not matter."""
FREED: Final = {
    Freed.UP_TO: "a sales-tax holiday frees items up to {limit} each; one item is {price}",
    Freed.BELOW: "a sales-tax holiday frees items below {limit} each; one item is {price}",
    Freed.AT_ANY_PRICE: "a sales-tax holiday frees such items at any price",
    Freed.FIRST_PART: "a sales-tax holiday frees the first {limit} of each item; one item is {price}",
}


def shipping_words(number: int) -> str:
    """Say how the shipping charge is treated."""
    name = ShippingTreatment(number).name
    return SHIPPING.get(name, name.lower().replace("_", " "))


def base(line: OneLine, charges: Charges, end: str = "expected") -> Step:
    """Say what of a line is taxed at one end of the seller's side."""
    rules = line.rules(line.terms.collect, end)
    worked = line.worked(end)
    step = Step("base", goods_words(rules, charges, line.at, line.currency))
    step.says += _shipping(rules, charges, line, worked)
    step.says.append(("" if end == "expected" else "At the high end: ") + taxed_words(worked, line.currency))
    step.rows = line.ledger.cite(*line.used(line.terms.collect, *TABLES))
    return step


def taxed_words(worked: Worked, currency: str) -> str:
    """Say which amounts are taxed."""
    found = [
        f"{words.amount(amount, currency)} of the {of}{_which(parts, amount)}"
        for of in ("goods", "shipping")
        if (parts := [part for part in worked.parts if part.of == of])
        for amount in dict.fromkeys(part.base for part in parts)
    ]
    return f"Taxed: {'; '.join(found)}." if found else "Nothing of the line is taxed."


def _which(parts: list[Part], amount: int) -> str:
    """Name the part of the tax that an amount belongs to, where state and local amounts differ."""
    if len({part.base for part in parts}) == 1 and len(parts) > 1:
        return ""
    names = [RATE_NAMES[part.rate] for part in parts if part.base == amount]
    return "" if parts[0].rate == "state" and len(parts) == 1 else f" ({' and '.join(names)} only)"


RATE_NAMES: Final = {"state": "state rate", "state_over": "higher state rate", "local": "local rate"}


def goods_words(rules: Rules, charges: Charges, at: int, currency: str) -> list[str]:
    """Say the rule for the goods, for the state and the local part where they differ."""
    state, local = (_treatment(rules, charges, at, currency, part) for part in ("state", "local"))
    same = state == local or int(rules.local_ppm[0]) == 0
    says = [words.sentence(state)] if same else [f"State part: {state}.", f"Local part: {local}."]
    how = Freed(int(rules.state_freed[0]))
    if how != Freed.NOTHING:
        limit = words.amount(int(rules.freed_limit[0]), currency)
        said = FREED[how].format(limit=limit, price=_each(charges, at, currency))
        with_delivery = rules.freed_with_delivery[0] and how != Freed.AT_ANY_PRICE
        says.append(
            words.sentence(
                said
                + (
                    ", to which delivery is added where no other item of the parcel bears it"
                    if with_delivery
                    else ""
                )
                + ("" if rules.local_freed[0] else "; the local part stays taxed")
            )
        )
    return says


def _treatment(rules: Rules, charges: Charges, at: int, currency: str, part: str) -> str:
    """Say the rule on item prices of one part of the tax."""
    how = Treatment(int(getattr(rules, f"{part}_rule")[0]))
    limit = words.amount(int(getattr(rules, f"{part}_limit")[0]), currency)
    with_delivery = rules.shipping[0] == ShippingTreatment.IN_ITEM_PRICE
    each = _each(charges, at, currency, with_delivery=bool(with_delivery))
    if how == Treatment.TAXED:
        return "the goods are taxed in full"
    if how == Treatment.EXEMPT:
        return "the goods are exempt"
    if how == Treatment.EXEMPT_BELOW:
        return f"goods below {limit} an item are exempt, dearer ones are taxed in full; one item is {each}"
    if how == Treatment.EXCESS_OVER:
        return f"only what an item costs above {limit} is taxed; one item is {each}"
    return f"above {limit} an item the higher rate holds; one item is {each}"


def _each(charges: Charges, at: int, currency: str, *, with_delivery: bool = False) -> str:
    """Write the price of one item of a line, delivery added where it belongs to it."""
    quantity, delivery = int(charges.quantity[at]), int(charges.shipping[at]) if with_delivery else 0
    whole = int(charges.goods[at]) + delivery
    each = f"{words.unrounded(Fraction(whole, quantity), currency)} {currency}"
    with_it = " with its delivery" if delivery else ""
    return (
        f"{each}{with_it}"
        if quantity == 1
        else f"{each}{with_it} ({words.amount(whole, currency)} ÷ {quantity})"
    )


def _parcel(line: OneLine, charges: Charges) -> list[int]:
    """List the lines that travel with a line and have a tax of their own, itself among them; refunds travel with none."""
    bucket, charged = line.found.bucket, line.terms.collect.rules["high"].charged
    own = charged.take(bucket.case) & (charges.order == charges.order[line.at])
    own[bucket.refunds.lines] = False
    return np.flatnonzero(own).tolist()


def _shipping(rules: Rules, charges: Charges, line: OneLine, worked: Worked) -> list[str]:
    """Say the rule for the shipping charge and, for a mixed parcel, the share."""
    parcel = _parcel(line, charges)
    if not any(int(charges.shipping[at]) for at in parcel):
        return []
    says = [words.sentence(shipping_words(int(rules.shipping[0])))]
    if rules.shipping[0] == ShippingTreatment.OVER_ACTUAL_COST:
        cost = int(charges.cost[line.at])
        says.append(
            f"The fulfiller asked {line.money(cost)} for the transport of what this line was charged for."
        )
    goods = sum(int(charges.goods[at]) for at in parcel)
    taxed = sum(
        part.base
        for at in parcel
        for part in line.sale["expected"][at].parts
        if part.of == "goods" and part.rate in ("state", "state_over")
    )
    by_itself = rules.shipping[0] in BY_ITSELF
    if len(parcel) > 1 and 0 < taxed < goods and worked.parts and not by_itself:
        says.append(
            f"Mixed parcel: of its goods for {line.money(goods)} the state taxes {line.money(taxed)}, "
            f"a share of {write_amount(taxed, line.currency)} ÷ {write_amount(goods, line.currency)}."
        )
    return says
