"""Pass 1: what may count for thresholds, added up by place and day, and the orders of a single day on demand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from taxcalc import places
from taxcalc.arrow import grouped, orders_in, picked
from taxcalc.columns import Entry
from taxcalc.eu.rates import ppm, rate_rows
from taxcalc.eu.small_business import USED, use_of, walked
from taxcalc.exchange import convert
from taxcalc.money import PPM, round_half_away
from taxcalc.regime import NO_LIMIT
from taxcalc.totals import BUYERS, CHANNELS, Counted, DayOrders

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.cases import Settled
    from taxcalc.money import Ints
    from taxcalc.prepare import Preparation, Prepared
    from taxcalc.spool import Lines

    Index = npt.NDArray[np.intp]

BUSINESS = 3
"""Buyer of the day totals for a business with a VAT number (0 consumer, 1 resale, 2 exempt)."""

DAYS = 2**17
"""Radix of a day in a key place × day; days lie within ± half of it of 1970."""

KEYS, LINES, NAMES = "limit_keys", "limit_lines", "limit_order_ids"
"""Names under which a bucket keeps its lines that may count: place × day of each, the rest (`COUNTED_LINE`), and the
order_ids of all its usable lines.
"""

COUNTED_LINE = np.dtype(
    [
        ("home", np.int64),
        ("there", np.int64),
        ("order", np.int32),
        ("second", np.int32),
        ("line", np.int32),
        ("channel", np.int8),
        ("buyer", np.int8),
        ("taxable", np.bool_),
    ]
)
"""A line that may count: what it counts with, its order and its position among the usable lines of the bucket."""


def limit_key(place: npt.NDArray[np.int16], day: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
    """Pack place and day into one number."""
    return place.astype(np.int32) * DAYS + day + DAYS // 2


@dataclass
class Counting:
    """Adds up what may count for thresholds."""

    keys: ClassVar[str] = KEYS
    lines: ClassVar[str] = LINES
    preparation: Preparation
    _asked: dict[tuple[int, int], DayOrders] = field(default_factory=dict)
    _counted: set[int] = field(default_factory=set)

    def count(self, bucket: int) -> Counted:
        """Add up one bucket, and keep which of its lines count where."""
        ready = self.preparation.bucket(bucket)
        limit_place = ready.placed.limit_place.take(ready.situation)
        counts = (limit_place != NO_LIMIT) & (ready.lines["entry"] == Entry.SALE)
        index = np.flatnonzero(counts)
        place = limit_place.take(index)
        key = limit_key(place, ready.lines["day"].take(index))
        counted = self._lines(ready, index, place)
        self._keep(bucket, key, counted)
        self.preparation.intake.spool.keep_texts(bucket, NAMES, ready.lines.order_id)
        return added(key, counted)

    def _keep(self, bucket: int, key: npt.NDArray[np.int32], counted: npt.NDArray[Any]) -> None:
        """Keep which lines of a bucket count where, for `orders_on`."""
        spool = self.preparation.intake.spool
        spool.keep(bucket, self.keys, key)
        spool.keep(bucket, self.lines, counted)
        self._counted.add(bucket)

    def _lines(self, ready: Prepared, index: Index, place: npt.NDArray[np.int16]) -> npt.NDArray[Any]:
        """Gather what is needed of the lines that may count."""
        lines = ready.lines
        counted = np.empty(index.size, COUNTED_LINE)
        counted["home"], counted["there"] = self._amounts(lines, ready.settled, index, place)
        counted["order"] = ready.order.take(index)
        counted["second"] = lines["second"].take(index)
        counted["line"] = index
        counted["channel"] = lines["channel"].take(index)
        counted["buyer"] = buyers(lines, index)
        counted["taxable"] = ready.placed.taxable.take(ready.situation.take(index))
        return counted

    def _amounts(
        self, lines: Lines, settled: Settled, index: Index, place: npt.NDArray[np.int16]
    ) -> tuple[Ints, Ints]:
        """Give what each line counts with, without tax.

        Dollars for states; for the Union the limit's currency, net at the home rate and net at the rate of arrival. Prices
        of a small business that is exempt at home hold no VAT of its home.
        """
        gross = lines["item_amount"].take(index) + lines["shipping_amount"].take(index)
        included, days, currency = (
            settled.included.take(index),
            lines["day"].take(index),
            lines["currency"].take(index),
        )
        home = np.where(included, gross - lines["tax_collected"].take(index), gross)
        in_union = place == places.index("EU")
        states, union = np.flatnonzero(~in_union), np.flatnonzero(in_union)
        home[states] = convert(home[states], currency[states], "USD", days[states])
        there = home.copy()
        if union.size:
            at = index[union]
            facts = self.preparation.facts
            for values, where in (
                (home, np.full(union.size, facts.home, np.int16)),
                (there, lines["destination"][at]),
            ):
                rate = ppm(rate_rows(where, lines["product_class"][at], settled.rule_day[at], facts), facts)
                if values is home and facts.home in walked(facts):
                    rate = np.where(self._exempt_at_home(settled.rule_day[at]), 0, rate)
                net = np.where(included[union], round_half_away(gross[union] * PPM, PPM + rate), gross[union])
                values[union] = convert(net, currency[union], facts.union_currency, days[union])
        return home, there

    def _exempt_at_home(self, days: npt.NDArray[np.int32]) -> npt.NDArray[np.bool_]:
        """Tell on which days the seller uses the small-business scheme at home: its prices hold no VAT then."""
        facts = self.preparation.facts
        states = np.full(days.size, facts.home, np.int16)
        return np.asarray(use_of(states, days, facts) == USED, dtype=np.bool_)

    def orders_on(self, place: int, day: int) -> DayOrders:
        """Give the orders that may count at a place on a day, in (time, order_id) order; asked once, then remembered."""
        if (place, day) not in self._asked:
            self._asked[place, day] = self._orders(place, day)
        return self._asked[place, day]

    def _orders(self, place: int, day: int) -> DayOrders:
        """Find and add up the orders of a day: the few of a day on which a threshold was crossed."""
        key = limit_key(np.array([place], np.int16), np.array([day], np.int32))[0]
        spool = self.preparation.intake.spool
        parts, names, before = [], [], 0
        for bucket in sorted(self._counted):
            at = np.flatnonzero(spool.kept(bucket, self.keys) == key)
            if at.size:
                found = spool.kept(bucket, self.lines)[at]
                names.extend(picked(spool.kept_texts(bucket, NAMES), found["line"]))
                found["order"] += before
                before = int(found["order"].max()) + 1
                parts.append(found)
        return _by_order(np.concatenate(parts) if parts else np.empty(0, COUNTED_LINE), names)


def _by_order(lines: npt.NDArray[Any], names: list[str]) -> DayOrders:
    """Add lines up to orders, in (time, order_id) order; `names` are the order_ids of the lines."""
    numbers, first, order = np.unique(lines["order"], return_index=True, return_inverse=True)
    sums = [np.zeros(numbers.size, np.int64) for _ in range(3)]
    taxed = lines["taxable"]
    for total, values in zip(
        sums, (lines["home"], lines["there"], np.where(taxed, lines["home"], 0)), strict=True
    ):
        np.add.at(total, order, values)
    earliest = np.full(numbers.size, np.iinfo(np.int32).max, np.int32)
    np.minimum.at(earliest, order, lines["second"])
    any_taxed = np.bincount(order[taxed], minlength=numbers.size) > 0
    of_order = [names[at] for at in first.tolist()]
    rank = np.array(sorted(range(numbers.size), key=lambda at: (earliest[at], of_order[at])), np.intp)
    columns = (lines["channel"][first], lines["buyer"][first], any_taxed, *sums)
    return DayOrders(
        earliest[rank], [of_order[at] for at in rank.tolist()], *(column[rank] for column in columns)
    )


def added(key: npt.NDArray[np.int32], lines: npt.NDArray[Any]) -> Counted:
    """Sum by place, day, channel, buyer and taxability; an order is taxable if any of its lines is."""
    taxed = lines["taxable"]
    keys, group = grouped((key.astype(np.int64) * CHANNELS + lines["channel"]) * BUYERS + lines["buyer"])
    slots = keys.size * 2
    slot = group * 2 + taxed
    home, there = np.ascontiguousarray(lines["home"]), np.ascontiguousarray(lines["there"])
    amount = np.zeros(slots, np.int64)
    np.add.at(amount, slot, home)
    other = amount
    if not np.array_equal(home, there):
        other = np.zeros(slots, np.int64)
        np.add.at(other, slot, there)
    orders = _orders(lines["order"], group, taxed, keys.size)
    filled = np.flatnonzero((np.bincount(slot, minlength=slots) > 0) | (orders > 0))
    slot_keys = keys[filled // 2]
    place_day = slot_keys // (CHANNELS * BUYERS)
    return Counted(
        place=(place_day // DAYS).astype(np.int16),
        day=(place_day % DAYS - DAYS // 2).astype(np.int32),
        channel=(slot_keys // BUYERS % CHANNELS).astype(np.int8),
        buyer=(slot_keys % BUYERS).astype(np.int8),
        taxable=filled % 2 > 0,
        amount=amount[filled],
        other_amount=other[filled],
        orders=orders[filled],
    )


def buyers(lines: Lines, at: Index) -> npt.NDArray[np.int8]:
    """Give the buyer of some lines for the day totals: a business where it has a VAT number of valid form."""
    return np.where(lines["buyer_number"][at] > 0, np.int8(BUSINESS), lines["buyer"][at])


def _orders(
    order: npt.NDArray[np.int32], group: npt.NDArray[np.int32], taxed: npt.NDArray[np.bool_], size: int
) -> Ints:
    """Count distinct orders per group, apart by whether any line of theirs is taxable (two slots a group)."""
    whole = orders_in(order, group, size)
    taxable = orders_in(order[taxed], group[taxed], size)
    return np.stack([whole - taxable, taxable], axis=1).reshape(-1)
