"""Day totals of everything that may count for a threshold.

Pass 1 adds up, per (limit place, day, channel, buyer, taxable), the sales in the threshold's currency and the number
of distinct orders. Thresholds are walked on these totals; where the very order matters, the orders of one day are
asked for again (`Totals.orders_on`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.money import Ints

CHANNELS, BUYERS = 2, 4
"""Radix of the key: own or marketplace; consumer, resale, exempt, business with a VAT number."""


@dataclass(frozen=True)
class Counted:
    """Rows of one shape: key columns and sums.

    `amount` is at the rates of the place where the seller is (EU: net at
    the home rate), `other_amount` the same net at the destination's rate; equal where only one exists.
    """

    place: npt.NDArray[np.int16]
    day: npt.NDArray[np.int32]
    channel: npt.NDArray[np.int8]
    buyer: npt.NDArray[np.int8]
    taxable: npt.NDArray[np.bool_]
    amount: Ints
    other_amount: Ints
    orders: Ints


@dataclass(frozen=True)
class DayOrders:
    """The orders of one place and day, in (time, order_id) order; one entry an order. `counts` as given by the asker."""

    second: npt.NDArray[np.int32]
    order_id: list[str]
    channel: npt.NDArray[np.int8]
    buyer: npt.NDArray[np.int8]
    taxable: npt.NDArray[np.bool_]
    amount: Ints
    other_amount: Ints
    taxable_amount: Ints


def _no_orders(place: int, day: int) -> DayOrders:
    """Answer for totals that were made without order lines."""
    _ = place, day
    none = np.empty(0, np.int64)
    return DayOrders(
        none.astype(np.int32),
        [],
        none.astype(np.int8),
        none.astype(np.int8),
        none.astype(bool),
        none,
        none,
        none,
    )


@dataclass(frozen=True)
class Totals:
    """All day totals of a run, and the way back to the orders of a day."""

    counted: Counted
    orders_on: Callable[[int, int], DayOrders] = field(default=_no_orders)

    def places(self) -> list[int]:
        """Give the place codes for which anything counts."""
        return [int(code) for code in np.unique(self.counted.place)]

    def of(self, place: int) -> Counted:
        """Give the totals of one place."""
        here = self.counted.place == place
        return Counted(**{name: getattr(self.counted, name)[here] for name in Counted.__dataclass_fields__})


def pack(parts: list[Counted]) -> Counted:
    """Add up the totals of all buckets: one row for each distinct key, whatever the order of the parts."""
    names = tuple(Counted.__dataclass_fields__)
    whole = {name: np.concatenate([getattr(part, name) for part in parts]) for name in names} if parts else {}
    if not whole:
        return Counted(**{name: np.empty(0, _KINDS[name]) for name in names})
    key = (
        (whole["place"].astype(np.int64) << 40)
        + ((whole["day"].astype(np.int64) + 2**20) << 8)
        + (whole["channel"].astype(np.int64) * BUYERS + whole["buyer"]) * 2
        + whole["taxable"]
    )
    _, first, group = np.unique(key, return_index=True, return_inverse=True)
    packed = {name: whole[name][first] for name in names[:5]}
    for name in names[5:]:
        sums = np.zeros(first.size, np.int64)
        np.add.at(sums, group, whole[name])
        packed[name] = sums
    return Counted(**packed)


_KINDS = {
    "place": np.int16,
    "day": np.int32,
    "channel": np.int8,
    "buyer": np.int8,
    "taxable": np.bool_,
    "amount": np.int64,
    "other_amount": np.int64,
    "orders": np.int64,
}


@dataclass(frozen=True)
class Series:
    """Sales and orders of one place that count under one rule, on a dense grid of days, as running sums."""

    start: int
    amount_before: Ints
    orders_before: Ints

    @classmethod
    def of(cls, days: npt.NDArray[np.int32], amount: Ints, orders: Ints, first: int, last: int) -> Series:
        """Build the running sums over the days first … last from day totals."""
        size = last - first + 1
        sums = [np.zeros(size + 1, np.int64), np.zeros(size + 1, np.int64)]
        inside = (days >= first) & (days <= last)
        for running, values in zip(sums, (amount, orders), strict=True):
            np.add.at(running, days[inside] - first + 1, values[inside])
        return cls(first, np.cumsum(sums[0]), np.cumsum(sums[1]))

    def at(self, day: int) -> int:
        """Give the position of the running sum up to and including the day, clipped to what is known."""
        return min(max(day - self.start + 1, 0), self.amount_before.size - 1)

    def amount(self, first: int, last: int) -> int:
        """Add up the sales of the days first … last."""
        return int(self.amount_before[self.at(last)] - self.amount_before[self.at(first - 1)])

    def orders(self, first: int, last: int) -> int:
        """Count the orders of the days first … last."""
        return int(self.orders_before[self.at(last)] - self.orders_before[self.at(first - 1)])
