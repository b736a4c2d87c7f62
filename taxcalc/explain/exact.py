"""The arithmetic of each line worked out again: taxed amounts, rates, exact fractions, one rounding, refunds.

Which part of a line is taxed is asked of the kernel itself, through its one public question: at a rate of 100 % the tax is
the taxed amount. Everything after that (products, tax inside a price, rounding, sharing out an order, parts of refunds)
is done here a second time with Python's fractions, so that what is shown can be held against what the engine computed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.charges import in_line_currency, purchase_charges, sale_charges
from taxcalc.columns import Entry
from taxcalc.item_prices import delivery_with_goods
from taxcalc.kernel import ShippingTreatment, tax
from taxcalc.money import PPM, round_fraction
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.kernel import Charges, Rules
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms, Terms

RATES: Final = ("state", "state_over", "local")
"""Which rate a part is taxed at: the state's (or the one VAT rate), the state's above an item price, the local one."""


@dataclass(frozen=True)
class Part:
    """One product: so much of the goods or of the shipping (minor units, above 0), at one rate (parts per million)."""

    of: str
    rate: str
    base: int
    ppm: int


@dataclass(frozen=True)
class Refunded:
    """How much of its sale's tax a refund takes back: tax × until ÷ sold, less the same of what was refunded before."""

    tax_of_sale: int
    sold: int
    since: int
    until: int


@dataclass(frozen=True)
class Worked:
    """One line at one end. `exact` is the tax before rounding, `tax` after it with the sign of the line, minor units.

    `order_exact` and `order_tax` are sums over the lines that are rounded together, None where each line is rounded alone.
    """

    parts: tuple[Part, ...] = ()
    included: bool = False
    exact: Fraction = Fraction(0)
    tax: int = 0
    order_exact: Fraction | None = None
    order_tax: int | None = None
    refunded: Refunded | None = None


Side = dict[str, list[Worked]]


def worked_sale(bucket: Bucket, terms: AllTerms, *, by_order: bool) -> Side:
    """Work out what the seller should collect, by end and line."""
    charges, _ = sale_charges(bucket, terms)
    sold = charges["expected"].goods + charges["expected"].shipping
    return _side(bucket, terms.collect, charges, bucket.lines["currency"], sold, by_order=by_order)


def worked_purchase(bucket: Bucket, terms: AllTerms, *, by_order: bool) -> Side:
    """Work out what the fulfiller may charge, by end and line; the ends are put in order of their size."""
    lines = bucket.lines
    sold = np.abs(lines["fulfiller_item_cost"]) + np.abs(lines["fulfiller_shipping_cost"])
    found = _side(
        bucket,
        terms.fulfiller,
        purchase_charges(bucket, terms),
        lines["fulfiller_currency"],
        sold,
        by_order=by_order,
    )
    for at, expected in enumerate(found["expected"]):
        for end, choose in (("low", min), ("high", max)):
            found[end][at] = choose(found[end][at], expected, key=lambda one: abs(one.tax))
    return found


def _side(
    bucket: Bucket,
    terms: Terms,
    charges: dict[str, Charges],
    currency: npt.NDArray[np.int16],
    sold: Ints,
    *,
    by_order: bool,
) -> Side:
    """Work out one side of the chain at its three ends."""
    found: Side = {}
    refund = (bucket.lines["entry"] == Entry.REFUND).tolist()
    for end in SCENARIOS:
        lines = _before_rounding(bucket, terms, end, charges[end], currency)
        rounded = _by_order(lines, bucket.parcel) if by_order else [_alone(one) for one in lines]
        found[end] = _refunds(bucket, rounded, sold)
        matched = set(bucket.refunds.lines.tolist())
        found[end] = [
            replace(one, tax=-one.tax) if refund[at] and at not in matched else one
            for at, one in enumerate(found[end])
        ]
    return found


def _before_rounding(
    bucket: Bucket, terms: Terms, end: str, charges: Charges, currency: npt.NDArray[np.int16]
) -> list[Worked]:
    """Find the parts of each line that has a tax of its own at one end, and their exact tax."""
    own = terms.rules[end].charged.take(bucket.case)
    own[bucket.refunds.lines] = False
    index = np.flatnonzero(own)
    found = [Worked()] * bucket.lines.size
    if not index.size:
        return found
    rules = in_line_currency(
        terms, terms.rules[end], bucket.case[index], currency[index], bucket.lines["day"][index]
    )
    parts = _parts(charges.take(index), rules)
    for number, at in enumerate(index.tolist()):
        included = bool(charges.included[at])
        found[at] = Worked(parts[number], included, exact_tax(parts[number], included=included))
    return found


def _parts(charges: Charges, rules: Rules) -> list[tuple[Part, ...]]:
    """Ask the kernel which part of goods and shipping each rate applies to; parts without an amount or rate are left out."""
    moved = delivery_with_goods(charges, rules)
    in_price = rules.shipping == ShippingTreatment.IN_ITEM_PRICE
    without = np.where(in_price, rules.shipping, np.int8(ShippingTreatment.EXEMPT)).astype(np.int8)
    ppm = {"state": rules.state_ppm, "state_over": rules.state_over_ppm, "local": rules.local_ppm}
    found: list[list[Part]] = [[] for _ in range(charges.goods.size)]
    goods = {rate: _taxed(moved, replace(rules, shipping=without), rate) for rate in RATES}
    for of in ("goods", "shipping"):
        for rate in RATES:
            base = goods[rate] if of == "goods" else _taxed(charges, rules, rate) - goods[rate]
            for at in np.flatnonzero((base != 0) & (ppm[rate] != 0)).tolist():
                found[at].append(Part(of, rate, int(base[at]), int(ppm[rate][at])))
    return [tuple(parts) for parts in found]


def _taxed(charges: Charges, rules: Rules, rate: str) -> Ints:
    """Give the amount that one rate applies to: the tax if that rate were 100 % on top of the price, and the others 0."""
    size = charges.goods.size
    whole = {name: np.full(size, PPM if name == rate else 0, np.int64) for name in RATES}
    asked = replace(
        rules, state_ppm=whole["state"], state_over_ppm=whole["state_over"], local_ppm=whole["local"]
    )
    return tax(replace(charges, included=np.zeros(size, np.bool_)), asked)


def exact_tax(parts: tuple[Part, ...], *, included: bool) -> Fraction:
    """Add the products up exactly; inside a price that contains the tax each is divided by 1 plus the rates of its kind."""
    total = Fraction(0)
    for of in ("goods", "shipping"):
        mine = [part for part in parts if part.of == of]
        under = PPM + (sum(part.ppm for part in mine) if included else 0)
        total += Fraction(sum(part.base * part.ppm for part in mine), under)
    return total


def under_of(parts: tuple[Part, ...], of: str, *, included: bool) -> int | None:
    """Give what the products of goods or shipping are divided by, None where there is none."""
    mine = [part for part in parts if part.of == of]
    return (PPM + (sum(part.ppm for part in mine) if included else 0)) if mine else None


def _alone(one: Worked) -> Worked:
    """Round one line."""
    return replace(one, tax=round_fraction(one.exact))


def _by_order(lines: list[Worked], parcel: npt.NDArray[np.int32]) -> list[Worked]:
    """Round once for all lines of a parcel that are divided by the same, and share out by largest remainder.

    Of lines with the same remainder the one with more tax on its goods is given first.
    """
    found = [_alone(one) for one in lines]
    groups: dict[tuple[int, int], list[int]] = {}
    for at, one in enumerate(lines):
        unders = {
            under for of in ("goods", "shipping") if (under := under_of(one.parts, of, included=one.included))
        }
        if len(unders) == 1:
            groups.setdefault((int(parcel[at]), unders.pop()), []).append(at)
    for group in groups.values():
        total = sum((lines[at].exact for at in group), Fraction(0))
        tax_of_all = round_fraction(total)
        whole = {at: lines[at].exact.numerator // lines[at].exact.denominator for at in group}
        missing = tax_of_all - sum(whole.values())
        first = sorted(group, key=lambda at: (whole[at] - lines[at].exact, -_goods_tax(lines[at])))
        for rank, at in enumerate(first):
            found[at] = replace(
                lines[at], tax=whole[at] + (rank < missing), order_exact=total, order_tax=tax_of_all
            )
    return found


def _goods_tax(one: Worked) -> int:
    """Give the product of the goods alone, for the order in which a left-over unit is given away."""
    return sum(part.base * part.ppm for part in one.parts if part.of == "goods")


def _refunds(bucket: Bucket, lines: list[Worked], sold: Ints) -> list[Worked]:
    """Give each matched refund its part of the tax of its sale, step by step in the order in which they came."""
    refunds, found = bucket.refunds, list(lines)
    day, second = bucket.lines["day"], bucket.lines["second"]
    for group in range(refunds.groups):
        sales = refunds.sales[refunds.sale_group == group].tolist()
        back = refunds.lines[refunds.group == group].tolist()
        tax_of_sale, amount = sum(lines[at].tax for at in sales), sum(int(sold[at]) for at in sales)
        running = 0
        for at in sorted(back, key=lambda one: (int(day[one]), int(second[one]), int(sold[one]))):
            since, running = min(running, amount), running + int(sold[at])
            step = Refunded(tax_of_sale, amount, since, min(running, amount))
            exact = Fraction(tax_of_sale * (step.until - since), amount or 1)
            found[at] = Worked(exact=-exact, tax=-refund_of(step), refunded=step)
    return found


def refund_of(step: Refunded) -> int:
    """Give the tax that a refund takes back, rounded once up to each refund, so that a full refund leaves nothing."""
    if not step.sold:
        return 0
    until, since = (
        round_fraction(Fraction(step.tax_of_sale * part, step.sold)) for part in (step.until, step.since)
    )
    return until - since
