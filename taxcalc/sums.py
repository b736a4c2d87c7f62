"""Sums of line figures: by place and calendar quarter, and by case for the period that is reviewed.

Each line is converted into the reporting currency at its order day and rounded, then added. `Measures` names the columns
once; sums are int64 minor units of the reporting currency.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.arrow import grouped
from taxcalc.columns import Channel, Entry
from taxcalc.days import day as to_day
from taxcalc.days import first_of_quarter, number, quarter_number
from taxcalc.exchange import convert
from taxcalc.regime import DUTY

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.figures import Bucket, LineFigures
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms

MEASURES = (
    "lines",
    "orders",
    "sales",
    "marketplace_sales",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
    "shortfall_low",
    "shortfall",
    "shortfall_high",
    "collected_on_duty",
    "collected_without_duty",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
    "fulfiller_tax_avoidable",
)
BY_CASE = (
    "lines",
    "to_collect",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
    "fulfiller_tax_avoidable",
    "sales",
)
NEAR_THE_END = 14
"""Days before the end of a quarter within which another tax point would move a sale into the next one."""

SHIFT = 2**16
"""Radix of the quarter in a key place × quarter."""


@dataclass
class Sums:
    """Sums of one or more buckets. `keys` are place × SHIFT + quarter, sorted; `values` one row a key."""

    keys: Ints
    values: dict[str, Ints]
    by_case: dict[str, Ints]
    counts: dict[str, int] = field(default_factory=dict)
    used_rows: int = 0
    used_amounts: dict[tuple[int, str], int] = field(default_factory=dict)


@dataclass(frozen=True)
class Frame:
    """What sums are made for: reporting currency, first and last day of the period reviewed."""

    currency: str
    first: int
    last: int


def sums_of(bucket: Bucket, figures: LineFigures, terms: AllTerms, frame: Frame) -> Sums:
    """Add up the figures of one bucket."""
    lines = bucket.lines
    place = terms.placed.place[bucket.case]
    key = place.astype(np.int64) * SHIFT + quarter_number(lines["tax_day"])
    keys, group = _grouped(key)
    values = _values(bucket, figures, frame.currency)
    totals = {name: _added(group, keys.size, values[name]) for name in values}
    totals["lines"] = np.bincount(group, minlength=keys.size).astype(np.int64)
    totals["orders"] = _distinct_orders(bucket, group, keys.size)
    inside = np.flatnonzero((lines["tax_day"] >= frame.first) & (lines["tax_day"] <= frame.last))
    case = bucket.case[inside]
    cases = terms.duty.size
    by_case = {name: _added(case, cases, values[name][inside]) for name in BY_CASE if name != "lines"}
    by_case["lines"] = np.bincount(case, minlength=cases).astype(np.int64)
    return Sums(keys, totals, by_case, _counts(bucket, figures, inside, frame))


def _grouped(key: Ints) -> tuple[Ints, npt.NDArray[np.int32]]:
    """Give the sorted distinct keys and the position of each line's key among them."""
    found, position = grouped(key)
    order = np.argsort(found)
    rank = np.empty(found.size, np.int32)
    rank[order] = np.arange(found.size, dtype=np.int32)
    return found[order], rank[position]


def _added(group: npt.NDArray[np.int32], size: int, values: Ints) -> Ints:
    """Add up values by group, exactly."""
    total = np.zeros(size, np.int64)
    np.add.at(total, group, values)
    return total


def _values(bucket: Bucket, figures: LineFigures, currency: str) -> dict[str, Ints]:
    """Give every measure of every line in the reporting currency."""
    lines = bucket.lines
    sold = lines["entry"] != Entry.SAMPLE
    sales = np.where(sold, lines["item_amount"] + lines["shipping_amount"], 0)
    due = figures.duty == DUTY["collect"]

    def seller(amounts: Ints) -> Ints:
        return convert(amounts, lines["currency"], currency, lines["day"])

    def fulfiller(amounts: Ints) -> Ints:
        return convert(amounts, lines["fulfiller_currency"], currency, lines["day"])

    values = {"sales": seller(sales), "collected": seller(figures.collected)}
    values["marketplace_sales"] = np.where(lines["channel"] == Channel.MARKETPLACE, values["sales"], 0)
    values["collected_on_duty"] = np.where(due, values["collected"], 0)
    values["collected_without_duty"] = values["collected"] - values["collected_on_duty"]
    for end, suffix in (("expected", ""), ("low", "_low"), ("high", "_high")):
        values[f"to_collect{suffix}"] = seller(figures.to_collect[end])
        values[f"shortfall{suffix}"] = np.where(due, values[f"to_collect{suffix}"] - values["collected"], 0)
        values[f"fulfiller_tax{suffix}"] = fulfiller(figures.fulfiller_tax[end])
    values["fulfiller_tax_charged"] = fulfiller(figures.fulfiller_tax_charged)
    values["fulfiller_tax_avoidable"] = fulfiller(figures.fulfiller_tax_avoidable)
    return values


def _distinct_orders(bucket: Bucket, group: npt.NDArray[np.int32], size: int) -> Ints:
    """Count distinct orders with a sale line, per group."""
    sales = np.flatnonzero(bucket.lines["entry"] == Entry.SALE)
    pair = bucket.order[sales].astype(np.int64) * size + group[sales]
    first, _ = grouped(pair)
    return np.bincount(first % size, minlength=size).astype(np.int64) if size else np.zeros(0, np.int64)


def _counts(
    bucket: Bucket, figures: LineFigures, inside: npt.NDArray[np.intp], frame: Frame
) -> dict[str, int]:
    """Count what is said in words: lines near the end of the period, refunds without a sale, over-refunds."""
    lines = bucket.lines
    _ = figures
    days, ordered = lines["tax_day"][inside], lines["day"][inside]
    end = number(first_of_quarter(to_day(frame.last), 1)) - 1
    near = (
        (days == ordered) & (days > end - NEAR_THE_END) & (days <= end)
        if frame.last >= end - NEAR_THE_END
        else np.zeros(0, bool)
    )
    return {
        "near_quarter_end": int(near.sum()),
        "refunds_without_sale": int(bucket.refunds.unmatched.size),
        "dispatch_assumed": bucket.settled.assumed_dispatch,
    }


def joined(parts: list[Sums]) -> Sums:
    """Add up the sums of all buckets, whatever their order."""
    keys = np.unique(np.concatenate([part.keys for part in parts]))
    values = {}
    for name in MEASURES:
        total = np.zeros(keys.size, np.int64)
        for part in parts:
            total[np.searchsorted(keys, part.keys)] += part.values[name]
        values[name] = total
    by_case = {name: np.sum([part.by_case[name] for part in parts], axis=0) for name in BY_CASE}
    counts = {name: sum(part.counts[name] for part in parts) for name in parts[0].counts}
    amounts: Counter[tuple[int, str]] = Counter()
    for part in parts:
        amounts.update(part.used_amounts)
    return Sums(keys, values, by_case, counts, sum(part.used_rows for part in parts), dict(amounts))
