"""Day totals of everything that may count for a threshold.

Pass 1 adds up, per (limit place, day, channel, buyer, taxable), the sales in the threshold's currency and the number
of distinct orders. Thresholds are walked on these totals; where the very order matters, the orders of one day are
asked for again (`Totals.orders_on`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, overload

import numpy as np

from taxcalc.arrow import distinct

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from taxcalc.money import Ints

    Days = npt.NDArray[np.int64]

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
    if not whole["day"].size:
        return Counted(**whole)
    start = int(whole["day"].min())
    days = int(whole["day"].max()) - start + 1
    key = whole["place"].astype(np.int64) * days + (whole["day"] - start)
    key = ((key * CHANNELS + whole["channel"]) * BUYERS + whole["buyer"]) * 2 + whole["taxable"]
    keys, group = distinct(key, int(key.max()) + 1)
    packed: dict[str, Any] = {name: np.empty(keys.size, _KINDS[name]) for name in names[:5]}
    for name in names[:5]:
        packed[name][group] = whole[name]
    for name in names[5:]:
        packed[name] = np.zeros(keys.size, np.int64)
        np.add.at(packed[name], group, whole[name])
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

    @overload
    def amount(self, first: int, last: int) -> int: ...
    @overload
    def amount(self, first: Days, last: Days) -> Ints: ...
    def amount(self, first: int | Days, last: int | Days) -> int | Ints:
        """Add up the sales of the days first … last, of one window or of many."""
        return self._between(self.amount_before, first, last)

    @overload
    def orders(self, first: int, last: int) -> int: ...
    @overload
    def orders(self, first: Days, last: Days) -> Ints: ...
    def orders(self, first: int | Days, last: int | Days) -> int | Ints:
        """Count the orders of the days first … last, of one window or of many."""
        return self._between(self.orders_before, first, last)

    def _between(self, running: Ints, first: int | Days, last: int | Days) -> int | Ints:
        """Take the difference of a running sum between two days, clipped to what is known."""
        if isinstance(first, int) and isinstance(last, int):
            size = running.size - 1
            begin, end = (min(max(day - self.start, 0), size) for day in (first, last + 1))
            return int(running[end] - running[begin])
        before, until = (np.clip(day - self.start, 0, running.size - 1) for day in (first, last + 1))
        many: Ints = running[until] - running[before]
        return many
