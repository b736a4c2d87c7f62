"""Sums of line figures: by place and calendar quarter, and by case for the period that is reviewed.

Each line is converted into the reporting currency at its order day and rounded, then added. `Measures` names the columns
once; sums are int64 minor units of the reporting currency.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import Adding, distinct, orders_in
from taxcalc.columns import Blank, Channel, Entry
from taxcalc.days import day as to_day
from taxcalc.days import first_of_quarter, number, quarter_number
from taxcalc.exchange import Conversion
from taxcalc.near_days import NEAR
from taxcalc.purchases.compared import NOTHING, Compared, all_compared
from taxcalc.purchases.own_use import NONE, OwnUse, all_own_use
from taxcalc.purchases.year import YEAR_MEASURES, by_case
from taxcalc.refunded_lacks import FLOWS, flows, sale_days, settled

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints
    from taxcalc.near_days import NearDays
    from taxcalc.orders import Refunds
    from taxcalc.purchases.year import Year
    from taxcalc.spool import Lines
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
    "shortfall_unserved",
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
    "to_collect_high",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
    "fulfiller_tax_avoidable",
    "sales",
)
SHIFT = 2**16
"""Radix of the slot in a key place × slot; a slot is quarter × 2, plus 1 for the days inside the period reviewed."""


@dataclass
class Sums:
    """Sums of one or more buckets.

    `keys` are place × SHIFT + slot, sorted; `values` have one row a key. A period that cuts a quarter in two makes two
    slots of it; `by_quarter` puts them together.
    """

    keys: Ints
    values: dict[str, Ints]
    by_case: dict[str, Ints]
    year: dict[str, Ints]
    counts: dict[str, int] = field(default_factory=dict)
    used_rows: int = 0
    used_amounts: dict[tuple[int, str], int] = field(default_factory=dict)
    compared: Compared = NOTHING
    own_use: OwnUse = NONE

    def by_quarter(self) -> tuple[Ints, dict[str, Ints]]:
        """Give keys place × SHIFT + quarter, sorted, and the sums of each, with lacks that refunds took back settled."""
        keys, at = np.unique(self.keys // SHIFT * SHIFT + self.keys % SHIFT // 2, return_inverse=True)
        adding = Adding(at.reshape(-1), keys.size)
        sums = {name: adding.of(values) for name, values in self.values.items()}
        return keys, {**sums, **settled(keys // SHIFT, sums)}


@dataclass(frozen=True)
class Frame:
    """What sums are made for.

    Reporting currency, first and last day of the period reviewed, its days near a change, and the last four quarters
    that were over.
    """

    currency: str
    first: int
    last: int
    near: NearDays
    year: Year


def sums_of(
    bucket: Bucket, figures: LineFigures, terms: AllTerms, frame: Frame, unserved: npt.NDArray[np.bool_]
) -> Sums:
    """Add up the figures of one bucket. `unserved` marks the cases that no registration of the seller serves."""
    lines = bucket.lines
    place = terms.placed.place.take(bucket.case)
    keys, group, of_sales = _slots(place, bucket, frame)
    values = line_values(bucket, figures, frame.currency, terms.cases.sample.take(bucket.case))
    values["shortfall_unserved"] = np.where(unserved[bucket.case], values["shortfall"], 0)
    adding = Adding(group, keys.size)
    totals = {name: adding.of(values[name]) for name in values}
    totals["lines"] = adding.lines
    totals |= flows(values, bucket.refunds, lines, (of_sales, group[bucket.refunds.lines]), keys.size)
    sales = np.flatnonzero(lines["entry"] == Entry.SALE)
    totals["orders"] = orders_in(bucket.order[sales], group[sales], keys.size)
    inside = np.flatnonzero((lines["tax_day"] >= frame.first) & (lines["tax_day"] <= frame.last))
    adding = Adding(bucket.case[inside], terms.duty.size)
    cases = {name: adding.of(values[name].take(inside)) for name in BY_CASE if name != "lines"}
    cases["lines"] = adding.lines
    tax, charged = values["fulfiller_tax"], values["fulfiller_tax_charged"]
    year = by_case(bucket, frame.year, terms.duty.size, tax, charged)
    return Sums(keys, totals, cases, year, _counts(bucket, inside, place, figures.due, frame))


def _slots(
    place: npt.NDArray[np.int16], bucket: Bucket, frame: Frame
) -> tuple[Ints, npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Give the sorted keys place × slot, each line's position among them, and each matched refund's sale's."""
    days, back = bucket.lines["tax_day"], bucket.refunds.lines
    if not back.size:
        keys, group = _place_slots(place, days, frame)
        return keys, group, group[:0]
    sold_on = sale_days(bucket.refunds, bucket.lines)
    keys, group = _place_slots(np.r_[place, place[back]], np.r_[days, sold_on], frame)
    return keys, group[: days.size], group[days.size :]


def _place_slots(
    place: npt.NDArray[np.int16], days: npt.NDArray[np.int32], frame: Frame
) -> tuple[Ints, npt.NDArray[np.int64]]:
    """Give the sorted keys place × slot, and the position of each line's key among them."""
    if not days.size:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    start = int(days.min())
    every_day = np.arange(start, int(days.max()) + 1, dtype=np.int32)
    slot_of_day = quarter_number(every_day) * 2 + ((every_day >= frame.first) & (every_day <= frame.last))
    slot = slot_of_day[days - start]
    first, count = int(slot_of_day.min()), int(slot_of_day.max() - slot_of_day.min()) + 1
    found, group = distinct(place.astype(np.int64) * count + (slot - first), len(places.codes()) * count)
    return found // count * SHIFT + found % count + first, group


def line_values(
    bucket: Bucket, figures: LineFigures, currency: str, own_use: npt.NDArray[np.bool_]
) -> dict[str, Ints]:
    """Give every measure of every line in the reporting currency, but for counts and what registrations serve.

    `own_use` marks what was not sold, refunds of it included.
    """
    lines = bucket.lines
    sales = np.where(own_use, 0, lines["item_amount"] + lines["shipping_amount"])
    due = figures.due

    own = Conversion(lines["currency"], currency, lines["day"])
    same = np.array_equal(lines["currency"], lines["fulfiller_currency"])
    seller = own.of
    fulfiller = own.of if same else Conversion(lines["fulfiller_currency"], currency, lines["day"]).of
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


def _counts(
    bucket: Bucket,
    inside: npt.NDArray[np.intp],
    place: npt.NDArray[np.int16],
    due: npt.NDArray[np.bool_],
    frame: Frame,
) -> dict[str, int]:
    """Count what is said in words: sales near a change of rule, refunds that do not fit, prices that are not known."""
    lines, refunds = bucket.lines, bucket.refunds
    days, sale = lines["tax_day"][inside], lines["entry"][inside] == Entry.SALE
    end = number(first_of_quarter(to_day(frame.last), 1)) - 1
    undispatched = days == lines["day"][inside]
    near = undispatched & (days > end - NEAR) & (days <= end)
    bound = inside[undispatched & sale & due[inside]]
    there = place[bound], lines["tax_day"][bound]
    unpriced = (lines["blanks"][inside] & Blank.FULFILLER_ITEM_COST) != 0
    above, beyond = _beyond_their_sale(lines, refunds, frame.currency)
    return {
        "near_quarter_end": int(near.sum()),
        "near_rate_change": int(frame.near.before_change(*there).sum()),
        "near_holiday": int(frame.near.by_holiday(*there, lines["product_class"][bound]).sum()),
        "refunds_without_sale": int(refunds.unmatched.size),
        "refunds_above_sale": above,
        "refunded_beyond_sale": beyond,
        "fulfiller_price_unknown": int((unpriced & (lines["entry"][inside] != Entry.REFUND)).sum()),
        "dispatch_assumed": bucket.settled.assumed_dispatch,
    }


def _beyond_their_sale(lines: Lines, refunds: Refunds, currency: str) -> tuple[int, int]:
    """Count sales of which more was refunded than sold, and add up what is beyond them.

    Converted at the day of the last refund of each.
    """
    sold = np.abs(lines["item_amount"] + lines["shipping_amount"])
    beyond = refunds.given_back(sold) - refunds.sums(sold)
    above = np.flatnonzero(beyond > 0)
    if not above.size:
        return 0, 0
    money, last = np.zeros(refunds.groups, np.int16), np.zeros(refunds.groups, np.int32)
    money[refunds.group] = lines["currency"][refunds.lines]
    np.maximum.at(last, refunds.group, lines["day"][refunds.lines])
    return above.size, int(Conversion(money[above], currency, last[above]).of(beyond[above]).sum())


def joined(parts: list[Sums]) -> Sums:
    """Add up the sums of all buckets, whatever their order."""
    keys = np.unique(np.concatenate([part.keys for part in parts]))
    values = {}
    for name in (*MEASURES, *FLOWS):
        total = np.zeros(keys.size, np.int64)
        for part in parts:
            total[np.searchsorted(keys, part.keys)] += part.values[name]
        values[name] = total
    cases = {name: np.sum([part.by_case[name] for part in parts], axis=0) for name in BY_CASE}
    year = {name: np.sum([part.year[name] for part in parts], axis=0) for name in YEAR_MEASURES}
    counts = {name: sum(part.counts[name] for part in parts) for name in parts[0].counts}
    amounts: Counter[tuple[int, str]] = Counter()
    for part in parts:
        amounts.update(part.used_amounts)
    rows = sum(part.used_rows for part in parts)
    charges = all_compared([part.compared for part in parts])
    samples = all_own_use([part.own_use for part in parts])
    return Sums(keys, values, cases, year, counts, rows, dict(amounts), charges, samples)
