"""Pass 1: what may count for thresholds, added up by place and day, and the orders of a single day on demand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.arrow import grouped, picked
from taxcalc.columns import Entry
from taxcalc.eu.rates import ppm, rate_rows
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

LIMIT_KEY = "limit_key"
"""Name under which a bucket keeps place × day of the lines that may count (-1 for the others)."""


def limit_key(place: npt.NDArray[np.int16], day: npt.NDArray[np.int32]) -> Ints:
    """Pack place and day into one number."""
    return place.astype(np.int64) * DAYS + day + DAYS // 2


@dataclass
class Counting:
    """Adds up what may count for thresholds."""

    preparation: Preparation
    _asked: dict[tuple[int, int], DayOrders] = field(default_factory=dict)

    def count(self, bucket: int) -> Counted:
        """Add up one bucket, and keep which of its lines count where."""
        ready = self.preparation.bucket(bucket)
        limit_place = ready.placed.limit_place[ready.situation]
        counts = (limit_place != NO_LIMIT) & (ready.lines["entry"] == Entry.SALE)
        key = limit_key(limit_place, ready.lines["day"])
        index = np.flatnonzero(counts)
        self.preparation.intake.spool.keep(bucket, LIMIT_KEY, np.where(counts, key, -1))
        return self._added(ready, index, key, ready.placed.taxable[ready.situation])

    def _added(self, ready: Prepared, index: Index, key: Ints, taxable: npt.NDArray[np.bool_]) -> Counted:
        """Sum by place, day, channel, buyer and taxability; an order is taxable if any of its lines is."""
        lines = ready.lines
        taxed = taxable[index]
        whole = (key[index] * CHANNELS + lines["channel"][index]) * BUYERS + _buyer(lines, index)
        keys, group = grouped(whole)
        slots = keys.size * 2
        slot = group.astype(np.int64) * 2 + taxed
        home, there = self._amounts(lines, ready.settled, index, key[index] // DAYS)
        amount, other = np.zeros(slots, np.int64), np.zeros(slots, np.int64)
        np.add.at(amount, slot, home)
        np.add.at(other, slot, there)
        slot_keys = np.repeat(keys, 2)
        place_day = slot_keys // (CHANNELS * BUYERS)
        return Counted(
            place=(place_day // DAYS).astype(np.int16),
            day=(place_day % DAYS - DAYS // 2).astype(np.int32),
            channel=(slot_keys // BUYERS % CHANNELS).astype(np.int8),
            buyer=(slot_keys % BUYERS).astype(np.int8),
            taxable=np.tile(np.array([False, True]), keys.size),
            amount=amount,
            other_amount=other,
            orders=_orders(ready.order[index], group, taxed, keys.size),
        )

    def _amounts(self, lines: Lines, settled: Settled, index: Index, place: Ints) -> tuple[Ints, Ints]:
        """Give what each line counts with, without tax: dollars for states; for the Union the limit's currency, net at the home rate
        and net at the rate of arrival.
        """
        gross = lines["item_amount"][index] + lines["shipping_amount"][index]
        included, days, currency = settled.included[index], lines["day"][index], lines["currency"][index]
        home = np.where(included, gross - lines["tax_collected"][index], gross)
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
                net = np.where(included[union], round_half_away(gross[union] * PPM, PPM + rate), gross[union])
                values[union] = convert(net, currency[union], facts.union_currency, days[union])
        return home, there

    def orders_on(self, place: int, day: int) -> DayOrders:
        """Give the orders that may count at a place on a day, in (time, order_id) order; asked once, then remembered."""
        if (place, day) not in self._asked:
            self._asked[place, day] = self._orders(place, day)
        return self._asked[place, day]

    def _orders(self, place: int, day: int) -> DayOrders:
        """Find and add up the orders of a day."""
        key = int(limit_key(np.array([place], np.int16), np.array([day], np.int32))[0])
        spool = self.preparation.intake.spool
        found: list[tuple[Any, ...]] = []
        for bucket in range(spool.buckets):
            at = np.flatnonzero(spool.kept(bucket, LIMIT_KEY) == key)
            if at.size:
                found.extend(self._of_bucket(bucket, at, place))
        found.sort()
        kinds = (np.int32, np.object_, np.int8, np.int8, np.bool_, np.int64, np.int64, np.int64)
        columns = zip(*found, strict=True) if found else [()] * len(kinds)
        second, names, *rest = (np.array(column, kind) for column, kind in zip(columns, kinds, strict=True))
        return DayOrders(second, names.tolist(), *rest)

    def _of_bucket(self, bucket: int, at: Index, place: int) -> list[tuple[Any, ...]]:
        """Add up some lines of one bucket to orders: the few of a day on which a threshold was crossed."""
        ready = self.preparation.bucket(bucket)
        lines, taxed = ready.lines, ready.placed.taxable[ready.situation[at]]
        home, there = self._amounts(lines, ready.settled, at, np.full(at.size, place, np.int64))
        numbers, first, order = np.unique(ready.order[at], return_index=True, return_inverse=True)
        sums = [np.zeros(numbers.size, np.int64) for _ in range(3)]
        for total, values in zip(sums, (home, there, np.where(taxed, home, 0)), strict=True):
            np.add.at(total, order, values)
        earliest = np.full(numbers.size, np.iinfo(np.int32).max, np.int32)
        np.minimum.at(earliest, order, lines["second"][at])
        any_taxed = np.zeros(numbers.size, bool)
        any_taxed[order[taxed]] = True
        names = picked(lines.order_id, at[first])
        columns = (lines["channel"][at[first]], _buyer(lines, at[first]), any_taxed, *sums)
        return list(zip(earliest.tolist(), names, *(column.tolist() for column in columns), strict=True))


def _buyer(lines: Lines, at: Index) -> npt.NDArray[np.int8]:
    """Give the buyer of some lines for the day totals: a business where it has a VAT number of valid form."""
    return np.where(lines["buyer_number"][at] > 0, np.int8(BUSINESS), lines["buyer"][at])


def _orders(
    order: npt.NDArray[np.int32], group: npt.NDArray[np.int32], taxed: npt.NDArray[np.bool_], size: int
) -> Ints:
    """Count distinct orders per group, apart by whether any line of theirs is taxable (two slots a group)."""
    _, pair = grouped(order.astype(np.int64) * max(size, 1) + group)
    pairs = int(pair.max(initial=-1)) + 1
    of_pair, any_taxed = np.zeros(pairs, np.int64), np.zeros(pairs, bool)
    of_pair[pair] = group
    any_taxed[pair[taxed]] = True
    return np.bincount(of_pair * 2 + any_taxed, minlength=size * 2).astype(np.int64)
