"""A slow calculator of tax in exact fractions, written from the rules alone, to hold the program against.

It solves each price for the amount without tax and never scales by a million, so that it shares no arithmetic with the
program. Rates are percent, amounts whole minor units.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from taxcalc.kernel import Freed, ShippingTreatment, Treatment

NOTHING = Fraction(0)


def rounded(value: Fraction) -> int:
    """Round half away from zero, with the decimal module rather than with integers."""
    sign = -1 if value < 0 else 1
    whole, left = divmod(abs(value), 1)
    digits = Decimal(left.numerator * 10**6 // left.denominator) / 10**6
    exact_half = left == Fraction(1, 2)
    step = Decimal("0.5") if exact_half else digits + (Decimal("1e-7") if left else Decimal(0))
    return sign * (int(whole) + int(step.to_integral_value(ROUND_HALF_UP)))


@dataclass(frozen=True)
class Part:
    """How the state, or the locality, taxes the goods of a line.

    Rate in percent, price per item in minor units.
    """

    rule: Treatment
    percent: Fraction
    limit: int = 0
    percent_over: Fraction = NOTHING
    freed: Freed = Freed.NOTHING


@dataclass(frozen=True)
class Line:
    """One line as a person would write it down."""

    goods: int
    shipping: int
    quantity: int
    included: bool
    order: int
    cost: int
    state: Part
    local: Part
    how: ShippingTreatment
    charged: bool = True
    freed_limit: int = 0

    @property
    def item_price(self) -> Fraction:
        """Give the price that a price per item is compared with.

        Per item, with delivery where that belongs to it.
        """
        delivery = self.shipping if self.how is ShippingTreatment.IN_ITEM_PRICE else 0
        return Fraction(self.goods + delivery, self.quantity)


def rate_on_goods(line: Line, part: Part) -> Fraction:
    """Give the rate of a part on the goods of a line, as a fraction."""
    over = part.rule is Treatment.HIGHER_RATE_OVER and line.item_price > part.limit
    return (part.percent_over if over else part.percent) / 100


def taxed_goods(line: Line, part: Part) -> Fraction:
    """Give how much of the price charged for goods a part taxes, less what a holiday frees by price per item."""
    each = Fraction(line.goods, line.quantity)
    free = {
        Freed.NOTHING: False,
        Freed.UP_TO: each <= line.freed_limit,
        Freed.BELOW: each < line.freed_limit,
        Freed.AT_ANY_PRICE: True,
        Freed.FIRST_PART: each <= line.freed_limit,
    }[part.freed]
    if free:
        return NOTHING
    taxed = usually_taxed_goods(line, part)
    if part.freed is Freed.FIRST_PART:
        return min(taxed, (each - line.freed_limit) * line.quantity)
    return taxed


def usually_taxed_goods(line: Line, part: Part) -> Fraction:
    """Give how much of the price charged for goods a part taxes outside of holidays."""
    if part.rule is Treatment.EXEMPT or (
        part.rule is Treatment.EXEMPT_BELOW and line.item_price < part.limit
    ):
        return NOTHING
    if part.rule is Treatment.EXCESS_OVER:
        return max(line.item_price - part.limit, NOTHING) * line.quantity
    return Fraction(line.goods)


def taxed_shipping(line: Line, which: str, order: list[Line]) -> Fraction:
    """Give how much of the shipping charge a part taxes.

    To the minor unit where an invoice would have to split it.
    """
    if line.how is ShippingTreatment.TAXED:
        return Fraction(line.shipping)
    if line.how is ShippingTreatment.LIKE_ITS_LINE:
        return share(line.shipping, taxed_goods(line, getattr(line, which)), line.goods)
    taxed = sum((taxed_goods(other, getattr(other, which)) for other in order), NOTHING)
    goods = sum(other.goods for other in order)
    if line.how is ShippingTreatment.SHARE_OF_TAXED_GOODS:
        return share(line.shipping, taxed, goods)
    if line.how is ShippingTreatment.EXEMPT_UNLESS_ALONE:
        return NOTHING if goods else Fraction(line.shipping)
    charges = [other for other in order if other.shipping]
    if line.how is ShippingTreatment.WHOLE_IF_ONE_CHARGE and len(charges) > 1 and line.goods:
        return share(line.shipping, taxed_goods(line, getattr(line, which)), line.goods)
    any_taxed = taxed > 0 or goods == 0
    if line.how is ShippingTreatment.OVER_ACTUAL_COST and any_taxed:
        return Fraction(max(line.shipping - line.cost, 0))
    whole = (ShippingTreatment.WHOLE_IF_ANY_TAXED, ShippingTreatment.WHOLE_IF_ONE_CHARGE)
    return Fraction(line.shipping) if line.how in whole and any_taxed else NOTHING


def share(shipping: int, taxed: Fraction, goods: int) -> Fraction:
    """Split a shipping charge by price."""
    return Fraction(rounded(shipping * taxed / goods)) if taxed < goods else Fraction(shipping)


def tax_on(charged: int, parts: list[tuple[Fraction, Fraction]], *, included: bool) -> Fraction:
    """Give the exact tax on a charge, from (taxed amount of the charge, rate) of each part.

    Where the charge contains the tax: charge = net + sum of rate x (net - what is free), solved for the tax.
    """
    taxed = [(base, rate) for base, rate in parts if base]
    if not included:
        return sum((base * rate for base, rate in taxed), NOTHING)
    free = sum((rate * (charged - base) for base, rate in taxed), NOTHING)
    return charged - (charged + free) / (1 + sum((rate for _, rate in taxed), NOTHING))


def exact_tax(line: Line, order: list[Line]) -> Fraction:
    """Give the tax of a line before rounding."""
    if not line.charged:
        return NOTHING
    rates = {which: rate_on_goods(line, getattr(line, which)) for which in ("state", "local")}
    goods = [(taxed_goods(line, getattr(line, which)), rates[which]) for which in rates]
    shipping = [(taxed_shipping(line, which, order), rates[which]) for which in rates]
    in_price = line.shipping if line.how is ShippingTreatment.IN_ITEM_PRICE else 0
    return tax_on(line.goods + in_price, goods, included=line.included) + tax_on(
        line.shipping, shipping, included=line.included
    )


def exact_taxes(lines: list[Line]) -> list[Fraction]:
    """Give the tax of each line before rounding."""
    orders = defaultdict(list)
    for line in lines:
        if line.charged:
            orders[line.order].append(line)
    ready = {number: delivery_with_goods(order) for number, order in orders.items()}
    found = []
    for line in lines:
        if line.charged:
            at = next(at for at, other in enumerate(orders[line.order]) if other is line)
            found.append(exact_tax(ready[line.order][at], ready[line.order]))
        else:
            found.append(NOTHING)
    return found


def delivery_with_goods(order: list[Line]) -> list[Line]:
    """Give delivery that stands on lines without goods to the items, where each item bears its own delivery.

    By price in whole minor units; the last of the dearest lines takes what is left.
    """
    own = (ShippingTreatment.IN_ITEM_PRICE, ShippingTreatment.LIKE_ITS_LINE)
    goods = sum(line.goods for line in order)
    alone = [line.how in own and not line.goods for line in order]
    moved = sum(line.shipping for line, lone in zip(order, alone, strict=True) if lone)
    if not (goods and moved):
        return order
    more = [moved * line.goods // goods for line in order]
    dearest = max(range(len(order)), key=lambda at: (order[at].goods, at))
    more[dearest] += moved - sum(more)
    kept = [0 if lone else line.shipping for line, lone in zip(order, alone, strict=True)]
    return [replace(line, shipping=kept[at] + more[at]) for at, line in enumerate(order)]
