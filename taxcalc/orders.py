"""Whole orders inside a bucket: duplicates, what cannot be used, and which refund belongs to which sale.

A bucket holds every line of its orders, so all of this is decided there, whatever the order of files and rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.arrow import coded, distinct, numbers, take
from taxcalc.columns import LINE_SCHEMA, Entry
from taxcalc.exchange import all_have_rate, has_rate
from taxcalc.money import round_half_away

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt
    import pyarrow as pa

    from taxcalc.money import Ints
    from taxcalc.spool import Lines

    Index = npt.NDArray[np.intp]
    Codes = npt.NDArray[np.int32]
    Slip = tuple[str, str, npt.NDArray[np.bool_]]
    PutAside = Callable[[Lines, npt.NDArray[np.bool_], str, str], None]

_CONTENT = tuple(
    name for name, (kind, _) in LINE_SCHEMA.items() if kind != "string" and name not in ("file", "row")
)


def codes_of(values: pa.Array) -> Codes:
    """Number equal values 0, 1, 2 … (the numbering has no meaning and never reaches a result)."""
    return numbers(coded(values).indices)


def usable(
    lines: Lines, order: Codes, put_aside: PutAside, *, as_of: int, currencies: tuple[str, ...]
) -> Index:
    """Set aside what a look at whole orders rules out, and give the numbers of the lines that are left.

    `order` numbers the orders of the lines. Set aside are lines after `as_of` (a day number), repeated lines, lines in a
    currency without a reference rate for one of `currencies` on their day, and refunds in another currency than their
    sale, in that order.
    """
    left = np.flatnonzero(lines["day"] <= as_of)
    if left.size < lines.size:
        put_aside(lines, lines["day"] > as_of, "after_as_of", "ordered_on")
    for look in (_repeats, _without_rate, _foreign_refunds):
        some = lines if left.size == lines.size else lines.take(left)
        bad = np.zeros(some.size, bool)
        for reason, where, mask in look(some, order[left], currencies):
            put_aside(some, mask, reason, where)
            bad |= mask
        if bad.any():
            left = left[~bad]
    return left


def _foreign_refunds(lines: Lines, order: Codes, _: tuple[str, ...]) -> list[Slip]:
    """Find refunds in another currency than their sale."""
    currency = lines["currency"]
    of_order = np.zeros(int(order.max(initial=-1)) + 1, np.int16)
    of_order[order] = currency
    if (of_order[order] == currency).all():
        return []
    refunds = match_refunds(lines, order)
    sale = np.zeros(refunds.groups, np.int16)
    sale[refunds.sale_group] = currency[refunds.sales]
    foreign = np.zeros(lines.size, bool)
    foreign[refunds.lines] = sale[refunds.group] != currency[refunds.lines]
    return [("refund_currency", "currency", foreign)] if foreign.any() else []


def _without_rate(lines: Lines, _: Codes, currencies: tuple[str, ...]) -> list[Slip]:
    """Find lines whose amounts cannot be turned into one of the currencies that are needed."""
    billed = lines["fulfiller_item_cost"] | lines["fulfiller_shipping_cost"] | lines["fulfiller_tax_charged"]
    left, found = np.ones(lines.size, bool), []
    for name, needed in (("currency", left), ("fulfiller_currency", billed != 0)):
        if all_have_rate(lines[name], currencies, lines["day"]):
            continue
        unknown = np.zeros(lines.size, bool)
        for target in currencies:
            unknown |= ~has_rate(lines[name], target, lines["day"])
        unknown &= needed & left
        left = left & ~unknown
        found += [("no_rate", name, unknown)] if unknown.any() else []
    return found


def _repeats(lines: Lines, order: Codes, _: tuple[str, ...]) -> list[Slip]:
    """Find exact repeats but one, and all lines that share a key but not their content.

    Only lines with a line_id can repeat each other: the key is order, line, entry and moment. Without one, identical
    rows are separate lines.
    """
    named = np.flatnonzero(_has_line_id(lines))
    if named.size == 0:
        return []
    line = codes_of(lines.line_id)
    key = (order.astype(np.int64) * (int(line.max()) + 1) + line) * len(Entry) + lines["entry"]
    keys, same = distinct(key[named], int(key.max()) + 1)
    if keys.size == named.size:
        return []
    suspects = named[np.bincount(same)[same] > 1]
    exact, differing = _judge(lines, suspects, key[suspects])
    found = (("exact_duplicate", "line_id", exact), ("conflicting_duplicate", "line_id", differing))
    return [slip for slip in found if slip[2].any()]


def _has_line_id(lines: Lines) -> npt.NDArray[np.bool_]:
    """Tell which lines have a line_id."""
    offsets = np.frombuffer(lines.line_id.buffers()[1], np.int32)[lines.line_id.offset :][: lines.size + 1]
    return np.diff(offsets) > 0


def _judge(lines: Lines, suspects: Index, key: Ints) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Tell apart exact repeats (all but the first in file order) and lines that differ under one key."""
    moment = np.stack(
        [key, lines["day"][suspects].astype(np.int64), lines["second"][suspects].astype(np.int64)], axis=1
    )
    content = np.stack([lines[name][suspects].astype(np.int64) for name in _CONTENT], axis=1)
    _, group = np.unique(moment, axis=0, return_inverse=True)
    _, inside = np.unique(np.column_stack([group.reshape(-1), content]), axis=0, return_inverse=True)
    group, inside = group.reshape(-1), inside.reshape(-1)
    pairs = np.unique(np.column_stack([group, inside]), axis=0)
    kinds = np.bincount(pairs[:, 0])
    differing = kinds[group] > 1
    ranked = np.lexsort((lines["row"][suspects], lines["file"][suspects], inside))
    first = np.ones(suspects.size, bool)
    first[ranked[1:]] = inside[ranked[1:]] != inside[ranked[:-1]]
    masks = np.zeros((2, lines.size), bool)
    masks[0, suspects[~differing & ~first]] = True
    masks[1, suspects[differing]] = True
    return masks[0], masks[1]


@dataclass(frozen=True)
class Refunds:
    """Which refund lines belong to which sales, in groups: a sale line, or all sale lines of an order.

    The seller's own orders (samples) are sales here: what is given back of one belongs to it. `lines` and `sales` are line
    numbers, `group` and `sale_group` the group of each. A refund without its sale is in none of them; `unmatched` lists
    those.
    """

    lines: Index
    group: Codes
    sales: Index
    sale_group: Codes
    unmatched: Index

    @property
    def groups(self) -> int:
        """Number of groups."""
        return int(self.group.max()) + 1 if self.group.size else 0

    def sums(self, values: Ints) -> Ints:
        """Add up a value of the sale lines per group."""
        total = np.zeros(self.groups, np.int64)
        np.add.at(total, self.sale_group, values[self.sales])
        return total

    def given_back(self, values: Ints) -> Ints:
        """Add up a value of the refund lines per group."""
        total = np.zeros(self.groups, np.int64)
        np.add.at(total, self.group, values[self.lines])
        return total


def match_refunds(lines: Lines, order: Codes) -> Refunds:
    """Match refunds to their sales by order and line, else to the whole order pro rata.

    As soon as one refund of an order names no line of it, all refunds of that order are taken pro rata, on its sales or,
    where it has none, on the samples that the seller ordered for itself.
    """
    refunds = np.flatnonzero(lines["entry"] == Entry.REFUND)
    nothing = np.empty(0, np.intp)
    if refunds.size == 0:
        return Refunds(nothing, nothing.astype(np.int32), nothing, nothing.astype(np.int32), nothing)
    concerned = np.zeros(int(order.max()) + 1, bool)
    concerned[order[refunds]] = True
    sales = np.flatnonzero((lines["entry"] != Entry.REFUND) & concerned[order])
    sold, to_customers = np.zeros(concerned.size, bool), np.zeros(concerned.size, bool)
    sold[order[sales]] = True
    sample = lines["entry"][sales] == Entry.SAMPLE
    to_customers[order[sales[~sample]]] = True
    matched = refunds[sold[order[refunds]]]
    line = _line_codes(lines, np.r_[sales, matched])
    key = order[np.r_[sales, matched]].astype(np.int64) * (int(line.max(initial=0)) + 2) + line
    sale_key, refund_key = key[: sales.size], key[sales.size :]
    named = np.isin(refund_key, sale_key) & (line[sales.size :] > 0)
    whole_order = np.zeros(concerned.size, bool)
    whole_order[order[matched[~named]]] = True
    pro_rata = whole_order[order[sales]] & ~(sample & to_customers[order[sales]])
    sale_key = np.where(pro_rata, -1 - order[sales].astype(np.int64), sale_key)
    refund_key = np.where(whole_order[order[matched]], -1 - order[matched].astype(np.int64), refund_key)
    groups, group = np.unique(refund_key, return_inverse=True)
    at = np.searchsorted(groups, sale_key)
    inside = (
        (at < groups.size) & (groups[np.minimum(at, max(groups.size - 1, 0))] == sale_key)
        if groups.size
        else np.zeros(sales.size, bool)
    )
    return Refunds(
        matched,
        group.reshape(-1).astype(np.int32),
        sales[inside],
        at[inside].astype(np.int32),
        refunds[~sold[order[refunds]]],
    )


def _line_codes(lines: Lines, index: Index) -> Codes:
    """Number the line_ids of some lines; 0 where there is none."""
    texts = take(lines.line_id, index)
    offsets = (
        np.frombuffer(texts.buffers()[1], np.int32)[texts.offset :][: len(texts) + 1]
        if len(texts)
        else np.zeros(1, np.int32)
    )
    return np.where(np.diff(offsets) > 0, codes_of(texts) + 1, 0).astype(np.int32)


def refunded_part(refunds: Refunds, lines: Lines, tax_of_sales: Ints, sold: Ints, given_back: Ints) -> Ints:
    """Give the tax that each matched refund takes back: tax of the sale × cumulative refund ÷ amount of the sale.

    `sold` and `given_back` are absolute amounts per line (minor units); what is refunded beyond the sale takes no more
    tax back than the sale had. Rounded once per step, so that a full refund leaves zero. Result: negative tax, one a
    matched refund, in the order of `refunds.lines`.
    """
    tax, amount = refunds.sums(tax_of_sales), refunds.sums(sold)
    own = given_back[refunds.lines]
    rank = np.lexsort((own, lines["second"][refunds.lines], lines["day"][refunds.lines], refunds.group))
    group = refunds.group[rank]
    running = np.cumsum(own[rank])
    starts = np.flatnonzero(np.r_[True, group[1:] != group[:-1]]) if group.size else np.empty(0, np.intp)
    before = (
        np.repeat(running[starts] - own[rank][starts], np.diff(np.r_[starts, group.size]))
        if group.size
        else running
    )
    until = np.minimum(running - before, amount[group])
    since = np.minimum(running - before - own[rank], amount[group])
    share = scaled(tax[group], until, amount[group]) - scaled(tax[group], since, amount[group])
    result = np.empty(refunds.lines.size, np.int64)
    result[rank] = -share
    return result


def scaled(tax: Ints, part: Ints, whole: Ints) -> Ints:
    """Give tax × part ÷ whole, rounded half away from zero; 0 where the whole is nothing."""
    return np.where(whole > 0, round_half_away(tax * part, np.maximum(whole, 1)), 0)
