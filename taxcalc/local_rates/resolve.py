"""From what the files say to what holds: the whole rate of each ZIP+4, and the range of rates of each ZIP code, by day.

A span's rate is the sum of the rates of its codes on the day. A ZIP code has the range from the lowest to the highest of
all spans that touch it: where the law makes the lowest rate of a ZIP code apply, `lowest` is the answer of five digits.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.local_rates.given import PLUS4, WHOLE, ZIP, ZIP4, Rows, overlapping
from taxcalc.local_rates.pieces import cut, meet, merged, numbered, on_axis, ranked, spread

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

ALWAYS: Final = -(2**31)
FOREVER: Final = 2**31 - 1


@dataclass(frozen=True)
class Timed:
    """What holds in groups, in the order of group and first day, without overlaps: rates in ppm, files as a bit mask.

    `said` is the rate that a row of just that ZIP code or range gives, -1 where none does or two of them differ.
    """

    group: Ints
    start: Ints
    stop: Ints
    low: Ints
    said: Ints
    high: Ints
    files: Ints

    def take(self, index: NDArray[np.integer]) -> Timed:
        """Give some rows."""
        return Timed(*(getattr(self, field.name)[index] for field in fields(Timed)))


@dataclass(frozen=True)
class Resolved:
    """Ranges of ZIP+4 with what holds there (`of_range` by range number), and ZIP codes likewise.

    `orphans` are rows of spans of which a code has no rate on some of their days; nothing of them is used.
    `disputed` are ZIP codes whose own row says another rate than the lowest in them.
    """

    first: Ints
    last: Ints
    of_range: Timed
    zips: Ints
    of_zip: Timed
    orphans: Ints
    disputed: Ints


def resolve(rates: Rows, spans: Rows, files: Sequence[str]) -> Resolved:
    """Work out what holds where and when; raises E567 where ranges of ZIP+4 overlap, E576 where there are too many."""
    sums = _sums(spans.names, rates)
    row, piece, start, stop = meet(
        (spans.name, spans["start"], spans["stop"]), (sums.group, sums.start, sums.stop)
    )
    days = np.zeros(spans.size, np.int64)
    np.add.at(days, row, stop - start + 1)
    full = days == spans["stop"] - spans["start"] + 1
    kept = full[row]
    row, piece, start, stop = row[kept], piece[kept], start[kept], stop[kept]
    ppm, mask = sums.low[piece], sums.files[piece] | (1 << spans["file"][row])
    of_zip4 = np.flatnonzero(spans["level"][row] == ZIP4)
    first, last, of_range = _ranges(spans, row[of_zip4], start[of_zip4], stop[of_zip4], files)
    of_range = _with_rates(of_range, ppm[of_zip4], mask[of_zip4])
    zips, of_zip, disputed = _by_zip(spans, row, start, stop, ppm, mask)
    return Resolved(first, last, of_range, zips, of_zip, np.flatnonzero(~full), disputed)


def _sums(names: Sequence[str], rates: Rows) -> Timed:
    """Add up the rates of the codes in each name, for the days on which all of them have one."""
    place = {name: number for number, name in enumerate(rates.names)}
    parts = [[place.get(code, -1) for code in name.split()] for name in names if not name.startswith(WHOLE)]
    of = [number for number, name in enumerate(names) if not name.startswith(WHOLE)]
    size = np.array([len(some) for some in parts], np.int64)
    stack = np.repeat(np.array(of, np.int64), size)
    code = np.array([each for some in parts for each in some], np.int64)
    order = np.lexsort((rates["start"], rates.name))
    sorted_codes = rates.name[order]
    low = np.searchsorted(sorted_codes, code)
    member, offset = spread(np.searchsorted(sorted_codes, code, side="right") - low)
    at = order[low[member] + offset]
    pieces = cut(stack[member], rates["start"][at], rates["stop"][at])
    entry = at[pieces.row]
    if pieces.start.size:
        total = np.add.reduceat(rates["ppm"][entry], pieces.first)
        mask = np.bitwise_or.reduceat(1 << rates["file"][entry], pieces.first)
    else:
        total = mask = np.zeros(0, np.int64)
    members = np.zeros(len(names), np.int64)
    members[of] = size
    there = np.diff(pieces.first, append=pieces.row.size) == members[pieces.group]
    found = [column[there] for column in (pieces.group, pieces.start, pieces.stop, total, mask)]
    whole = [(number, int(name[1:])) for number, name in enumerate(names) if name.startswith(WHOLE)]
    groups = np.concatenate([found[0], np.array([number for number, _ in whole], np.int64)])
    starts = np.concatenate([found[1], np.full(len(whole), ALWAYS, np.int64)])
    stops = np.concatenate([found[2], np.full(len(whole), FOREVER, np.int64)])
    totals = np.concatenate([found[3], np.array([rate for _, rate in whole], np.int64)])
    masks = np.concatenate([found[4], np.zeros(len(whole), np.int64)])
    order = np.lexsort((starts, groups))
    rates_of, masks = totals[order], masks[order]
    return joined_up(Timed(groups[order], starts[order], stops[order], rates_of, rates_of, rates_of, masks))


def joined_up(rows: Timed) -> Timed:
    """Join rows of a group that follow each other with the same rates from the same files."""
    first, stop = merged(rows.group, rows.start, rows.stop, rows.low, rows.said, rows.high, rows.files)
    kept = rows.take(first)
    return replace(kept, stop=stop)


def _ranges(
    spans: Rows, row: Ints, start: Ints, stop: Ints, files: Sequence[str]
) -> tuple[Ints, Ints, Timed]:
    """Cut ranges of ZIP+4 where any begins, ends or passes from one ZIP code to the next; refuse two on one day."""
    first, last = spans["first"][row], spans["last"][row]
    wide, offset = spread(last // PLUS4 - first // PLUS4)
    borders = on_axis(np.zeros(wide.size, np.int64), (first[wide] // PLUS4 + 1 + offset) * PLUS4)
    pieces = cut(np.zeros(row.size, np.int64), first, last, borders)
    owner, entry = pieces.owner, pieces.row
    order = np.lexsort((start[entry], owner))
    owner, entry = owner[order], entry[order]
    clash = np.flatnonzero((owner[1:] == owner[:-1]) & (start[entry[1:]] <= stop[entry[:-1]]))
    if clash.size:
        raise overlapping(spans, files, row[entry[clash + 1]], row[entry[clash]])
    return pieces.start, pieces.stop, Timed(owner, start[entry], stop[entry], entry, entry, entry, entry)


def _with_rates(of_range: Timed, ppm: Ints, mask: Ints) -> Timed:
    """Put rates and files in the place of the numbers of the rows that they come from."""
    at = of_range.low
    rate = ppm[at]
    return joined_up(replace(of_range, low=rate, said=rate, high=rate, files=mask[at]))


def _by_zip(
    spans: Rows, row: Ints, start: Ints, stop: Ints, ppm: Ints, mask: Ints
) -> tuple[Ints, Timed, Ints]:
    """Find the range of rates in each ZIP code by day, and the ZIP codes whose own row is not the lowest."""
    own = (spans["level"][row] == ZIP).astype(np.int64)
    first, last = spans["first"][row] // PLUS4, spans["last"][row] // PLUS4
    said, _ = numbered(start, stop, ppm, mask, own)
    _, kept = numbered(first, last, said)
    entry, offset = spread((last - first)[kept] + 1)
    entry, zip_code = kept[entry], first[kept][entry] + offset
    group, zips = ranked(zip_code)
    pieces = cut(group, start[entry], stop[entry])
    source = entry[pieces.row]
    if not pieces.start.size:
        empty = np.zeros(0, np.int64)
        return zips, Timed(*(empty for _ in fields(Timed))), empty
    low = np.minimum.reduceat(ppm[source], pieces.first)
    high = np.maximum.reduceat(ppm[source], pieces.first)
    files = np.bitwise_or.reduceat(mask[source], pieces.first)
    mine = own[source] == 1
    least = np.minimum.reduceat(np.where(mine, ppm[source], FOREVER), pieces.first)
    most = np.maximum.reduceat(np.where(mine, ppm[source], -1), pieces.first)
    disputed = np.unique(zips[pieces.group[(most >= 0) & (least != low)]])
    said_rate = np.where(least == most, most, -1)
    found = Timed(pieces.group, pieces.start, pieces.stop, low, said_rate, high, files)
    return zips, joined_up(found), disputed
