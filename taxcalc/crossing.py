"""Meeting a threshold: the test of amount and count, and the very order of a day that meets it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.duties import Position

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.money import Ints
    from taxcalc.totals import DayOrders


@dataclass(frozen=True)
class Test:
    """An amount (minor units) and a count, each to be passed (`*_over`) or only reached, joined by either or both."""

    amount: int
    amount_over: bool
    count: int | None = None
    count_over: bool = False
    both: bool = False
    amount_tested: bool = True

    def amount_met(self, amount: int) -> bool:
        """Tell whether an amount meets the amount test."""
        return self.amount_tested and (amount > self.amount if self.amount_over else amount >= self.amount)

    def count_met(self, count: int) -> bool:
        """Tell whether a number of sales meets the count test; never where none is tested."""
        if self.count is None:
            return False
        return count > self.count if self.count_over else count >= self.count

    def met(self, amount: int, count: int) -> bool:
        """Tell whether the whole test is met."""
        if self.both:
            return self.amount_met(amount) and self.count_met(count)
        return self.amount_met(amount) or self.count_met(count)

    def met_each(self, amounts: Ints, counts: Ints) -> npt.NDArray[np.bool_]:
        """Tell for each pair of an amount and a count whether the whole test is met."""
        by_amount = (
            amounts > self.amount if self.amount_over else amounts >= self.amount
        ) & self.amount_tested
        limit = np.iinfo(np.int64).max if self.count is None else self.count
        by_count = counts > limit if self.count_over or self.count is None else counts >= limit
        return by_amount & by_count if self.both else by_amount | by_count

    def one_met(self, measure: str, value: int) -> bool:
        """Tell whether one measure by itself is met."""
        return self.amount_met(value) if measure == "amount" else self.count_met(value)

    def only(self, measure: str) -> Test:
        """Give the test of one measure alone."""
        return replace(self, count=None) if measure == "amount" else replace(self, amount_tested=False)

    def weaker_value(self, measure: str, amount: int, count: int) -> int:
        """Where both are needed: the value of a measure, held down to the share of the measure that is further away."""
        limit = self.amount if measure == "amount" else self.count or 1
        value = amount if measure == "amount" else count
        other, other_limit = (count, self.count or 1) if measure == "amount" else (amount, self.amount)
        return min(value, other * limit // other_limit) if other_limit else value


def first_meeting(
    test: Test,
    amount_before: int,
    count_before: int,
    amounts: Ints,
    counts: npt.NDArray[np.bool_],
) -> int | None:
    """Give the index of the first order with which the running totals meet the test, None where none does.

    `amounts` are 0 for orders that do not count; `counts` tells which ones do.
    """
    amount = amount_before + np.cumsum(amounts)
    count = count_before + np.cumsum(counts)
    met = test.met_each(amount, count)
    return int(met.argmax()) if met.any() else None


def next_order(orders: DayOrders, crossed: Position) -> Position:
    """Give the position of the order that follows the crossing one on its day, else the whole next day."""
    following = [
        Position(crossed.day, int(second), order_id)
        for second, order_id in zip(orders.second, orders.order_id, strict=True)
        if (int(second), order_id) > (crossed.second, crossed.order_id)
    ]
    return following[0] if following else Position(crossed.day + 1)
