"""What the profile shows as paid over ([[remitted]]), held against what was collected in the quarters it was paid for.

A payment covers what was collected under a duty in the quarters its days touch, and nothing beyond: no quarter pays for
another, and a payment for a time before the files covers none of what stands in them.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final, NamedTuple

from taxcalc import places
from taxcalc.days import day, quarter_of
from taxcalc.money import parse_amount

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums

BOUND: Final = ("to_collect_low", "to_collect_high", "collected_on_duty")
"""Sums of a quarter of which one is there where a sale stands under a duty."""


class Paid(NamedTuple):
    """One payment: the first and last quarter (4 × year + 0…3) of its days, and minor units of the reporting currency."""

    first: int
    last: int
    amount: int


def payments(assessment: Assessment, code: int) -> list[Paid]:
    """List the payments of a place in the order of the profile."""
    currency = assessment.currency
    return [
        Paid(quarter_of(paid.from_day), quarter_of(paid.until_day), parse_amount(paid.amount, currency))
        for paid in assessment.run.seller.remitted
        if paid.place == places.code(code)
    ]


def shown_as_paid(assessment: Assessment, code: int, since: int = 0) -> int:
    """Add up the payments of a place for days in the time of the files, in or after a quarter; minor units."""
    first = max(since, quarter_of(assessment.run.covers[0]))
    return sum(paid.amount for paid in payments(assessment, code) if paid.last >= first)


def paid_since_duty(assessment: Assessment, sums: PlaceSums, code: int) -> int:
    """Add up the payments of a place for the quarters since its last stretch of duty began; minor units."""
    duty = sums.duty(code)
    return shown_as_paid(assessment, code, quarter_of(day(duty.first.start.day)) if duty else 0)


def matched(collected: dict[int, int], paid: list[Paid]) -> dict[int, int]:
    """Give, by quarter, how much of what was collected is shown as paid over."""
    left = {quarter: amount for quarter, amount in sorted(collected.items()) if amount > 0}
    found = dict.fromkeys(left, 0)
    for one in sorted(paid, key=lambda payment: (payment.last, payment.first)):
        rest = one.amount
        for quarter in (quarter for quarter in left if one.first <= quarter <= one.last):
            part = min(rest, left[quarter] - found[quarter])
            found[quarter] += part
            rest -= part
    return found


def not_evidenced(assessment: Assessment, sums: PlaceSums) -> dict[int, int]:
    """Give, by place, what was collected under a duty and is not shown as paid over (more than nothing).

    Tax given back in a later quarter lowers what was collected. What was paid through the Union's one-stop shops is not
    given by member state, so it is held against all of them, and what is left stands at the Union.
    """
    gaps, left_of_union = {}, {}
    for code in sums.codes:
        had = {quarter: part["collected_on_duty"] for quarter, part in sums.quarters(code).items()}
        covered = matched(had, payments(assessment, code))
        gap = sum(had.values()) - sum(covered.values())
        if gap > 0:
            gaps[code] = gap
            left_of_union[code] = {
                quarter: amount - covered.get(quarter, 0) for quarter, amount in had.items()
            }
    union, by_shop = places.index("EU"), payments(assessment, places.index("EU"))
    states = [code for code in gaps if places.regimes()[code] == places.EU]
    if not by_shop or not states:
        return gaps
    together: Counter[int] = Counter()
    for code in states:
        together.update(left_of_union[code])
    left = sum(gaps.pop(code) for code in states) - sum(matched(together, by_shop).values())
    return gaps | ({union: left} if left > 0 else {})


def unmatched(assessment: Assessment, sums: PlaceSums) -> dict[int, int]:
    """Give, by place, what was paid for quarters in which no sale of the files stands under a duty."""
    bound: dict[int, set[int]] = {}
    union = places.index("EU")
    for code in sums.codes:
        here = {quarter for quarter, part in sums.quarters(code).items() if any(part[name] for name in BOUND)}
        for place in (code, union) if places.regimes()[code] == places.EU else (code,):
            bound.setdefault(place, set()).update(here)
    found: Counter[int] = Counter()
    for code in {places.index(paid.place) for paid in assessment.run.seller.remitted}:
        quarters = bound.get(code, set())
        for paid in payments(assessment, code):
            if not any(paid.first <= quarter <= paid.last for quarter in quarters):
                found[code] += paid.amount
    return {code: amount for code, amount in sorted(found.items()) if amount > 0}
