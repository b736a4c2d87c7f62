"""The arithmetic of an explanation, done again with exact fractions from nothing but what the explanation shows."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from taxcalc.money import parse_amount

ENDS = ("low", "expected", "high")


def half_away(value: Fraction) -> int:
    """Round to a whole number, halves away from zero, written without the program's own rounding."""
    size = abs(value)
    whole = int(size + Fraction(1, 2))
    return -whole if value < 0 else whole


def shown(line: dict[str, Any], side: str, end: str) -> dict[str, Any]:
    """Give the arithmetic at an end; an end that is not shown is the expected one."""
    by_end = {one["end"]: one for one in line[side]}
    found: dict[str, Any] = by_end.get(end, by_end["expected"])
    return found


def before_rounding(one: dict[str, Any]) -> Fraction:
    """Add the products of an end up, in minor units."""
    return sum(
        (
            Fraction(parse_amount(each["amount"], one["currency"]))
            * Fraction(Decimal(each["percent"]))
            / Fraction(Decimal(each["divided_by"]))
            for each in one["products"]
        ),
        Fraction(0),
    )


def refunded(one: dict[str, Any]) -> int:
    """Give the tax that a refund takes back."""
    step, currency = one["refund"], one["currency"]
    tax, sold, before, until = (
        parse_amount(step[name], currency)
        for name in ("tax_of_sale", "sold", "refunded_before", "refunded_until")
    )
    if not sold:
        return 0
    return -(half_away(Fraction(tax * until, sold)) - half_away(Fraction(tax * before, sold)))


def tax_of(line: dict[str, Any], side: str, end: str) -> int:
    """Work the tax of a line out, in minor units; where an order is rounded as a whole the line's share is taken as shown."""
    one = shown(line, side, end)
    if one["refund"]:
        return refunded(one)
    if one["order"]:
        share = parse_amount(one["tax"], one["currency"])
        assert abs(abs(share) - before_rounding(one)) < 1
        return share
    tax = half_away(before_rounding(one))
    return -tax if line["entry"] == "refund" else tax


def orders_tie(lines: list[dict[str, Any]], side: str, end: str) -> None:
    """Hold the shares of lines that are rounded together against their sum, which is rounded once.

    Low is never above expected and high never below it, line by line: a line whose share of the order would be, keeps the
    expected one, and then the shares of that end miss the order by less than a minor unit a line.
    """
    groups: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for line in lines:
        one = shown(line, side, end)
        if one["order"]:
            under = sorted({each["divided_by"] for each in one["products"]})
            together = (
                f"{line['destination']} {line['entry']} {line['ordered_on']} {one['tax_included']} {under}"
            )
            key = (one["order"]["before_rounding"], one["order"]["tax"], together)
            groups.setdefault(key, []).append(one)
    days = [day for _, _, day in groups]
    for (_, tax, day), group in groups.items():
        currency = group[0]["currency"]
        if days.count(day) > 1:
            assert end != "expected"
            together = [one for (_, _, other), some in groups.items() if other == day for one in some]
            ours = sum(abs(parse_amount(one["tax"], currency)) for one in together)
            assert abs(ours - sum(before_rounding(one) for one in together)) < len(together)
            continue
        exact = sum((before_rounding(one) for one in group), Fraction(0))
        shares = sum(abs(parse_amount(one["tax"], currency)) for one in group)
        assert half_away(exact) == shares == parse_amount(tax, currency)
