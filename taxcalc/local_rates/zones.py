"""Local zones: ZIP codes and ranges of ZIP+4 in which the same held all along are one zone with one small number.

So a case of the review holds a zone, never a ZIP code. Zone 0 means that nothing is known of the address.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.local_rates.given import PLUS4, ZIP, ZIP4
from taxcalc.local_rates.pieces import meet, merged, numbered, sequences, spread
from taxcalc.local_rates.resolve import ALWAYS, FOREVER, Timed
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from taxcalc.local_rates.resolve import Resolved

    Ints = NDArray[np.int64]

WHERE: Final = ("level", "first", "last", "zone")
"""Columns of where zones lie: level 4 (first and last ZIP+4 as nine digits) or 5 (first and last ZIP code)."""

HELD: Final = ("zone", "start", "stop", "level", "low", "said", "high", "files")
"""Columns of what holds in a zone: days, 4 by ZIP+4 or 5 by ZIP code, parts per million, mask of the files."""


@dataclass(frozen=True)
class Zones:
    """Where zones lie and what holds in them, each as columns of one length; `count` of them, numbered from 1."""

    where: dict[str, Ints]
    held: dict[str, Ints]
    count: int


def zones_of(found: Resolved, most: int) -> Zones:
    """Number the zones in the order of the codes that lie in them, ZIP codes first; raises E575 for more than `most`."""
    by_range, range_of = _histories(found.of_range, found.first.size)
    by_zip, zip_of = _histories(found.of_zip, found.zips.size)
    zip_at = np.searchsorted(found.zips, found.first // PLUS4)
    pair, pair_at = numbered(by_range, by_zip[zip_at] if found.zips.size else by_range)
    both = _composed(found, range_of[by_range[pair_at]], zip_of[by_zip[zip_at[pair_at]]])
    alone = _of_owners(found.of_zip, zip_of)
    owners = _stacked(alone, both, zip_of.size)
    length = np.bincount(owners["owner"], minlength=zip_of.size + pair_at.size)
    code, _ = numbered(*(owners[name] for name in HELD[1:]))
    history, example = sequences(length, code)
    of_codes = np.concatenate([history[by_zip], history[zip_of.size + pair]])
    _, first_seen, dense = np.unique(of_codes, return_index=True, return_inverse=True)
    rank = np.empty(first_seen.size, np.int64)
    rank[np.argsort(first_seen)] = np.arange(1, first_seen.size + 1)
    zone = rank[dense.reshape(-1)]
    if rank.size > most:
        raise refuse("E575", count=f"{rank.size:,}", most=f"{most:,}")
    where = _where(found, zone)
    seen = np.unique(of_codes)
    begin = np.cumsum(length) - length
    which, offset = spread(length[example[seen]])
    at = begin[example[seen]][which] + offset
    held = {"zone": rank[which], **{name: owners[name][at] for name in HELD[1:]}}
    order = np.lexsort((held["start"], held["zone"]))
    return Zones(where, {name: held[name][order] for name in HELD}, rank.size)


def _histories(rows: Timed, groups: int) -> tuple[Ints, Ints]:
    """Number the distinct histories of groups: the history of each group, and a group that has it."""
    code, _ = numbered(rows.start, rows.stop, rows.low, rows.said, rows.high, rows.files)
    return sequences(np.bincount(rows.group, minlength=groups), code)


def _of_owners(rows: Timed, groups: Ints) -> dict[str, Ints]:
    """Take the rows of some groups, each as an owner of its own, known by ZIP code."""
    begin = np.searchsorted(rows.group, groups)
    owner, offset = spread(np.searchsorted(rows.group, groups, side="right") - begin)
    at = begin[owner] + offset
    return _columns(owner, rows.start[at], rows.stop[at], np.full(at.size, ZIP, np.int64), rows.take(at))


def _columns(owner: Ints, start: Ints, stop: Ints, level: Ints, rows: Timed) -> dict[str, Ints]:
    """Write owners with what holds there."""
    parts = (owner, start, stop, level, rows.low, rows.said, rows.high, rows.files)
    return dict(zip(("owner", *HELD[1:]), parts, strict=True))


def _composed(found: Resolved, ranges: Ints, zips: Ints) -> dict[str, Ints]:
    """Let the ZIP code speak on the days on which the range says nothing: one owner a pair of both."""
    mine = _of_owners(found.of_range, ranges)
    mine["level"] = np.full(mine["owner"].size, ZIP4, np.int64)
    pairs = np.arange(ranges.size)
    gap_owner = np.concatenate([pairs, mine["owner"]])
    gap_start = np.concatenate([np.full(pairs.size, ALWAYS, np.int64), mine["stop"] + 1])
    order = np.lexsort((gap_start, gap_owner))
    gap_owner, gap_start = gap_owner[order], gap_start[order]
    ends = np.concatenate([mine["start"] - 1, np.full(pairs.size, FOREVER, np.int64)])
    end_owner = np.concatenate([mine["owner"], pairs])
    gap_stop = ends[np.lexsort((ends, end_owner))]
    real = gap_start <= gap_stop
    gap_owner, gap_start, gap_stop = gap_owner[real], gap_start[real], gap_stop[real]
    theirs = found.of_zip
    gap, row, start, stop = meet(
        (zips[gap_owner], gap_start, gap_stop), (theirs.group, theirs.start, theirs.stop)
    )
    level = np.full(gap.size, ZIP, np.int64)
    filled = _columns(gap_owner[gap], start, stop, level, theirs.take(row))
    both = {name: np.concatenate([mine[name], filled[name]]) for name in mine}
    order = np.lexsort((both["start"], both["owner"]))
    return {name: column[order] for name, column in both.items()}


def _stacked(alone: dict[str, Ints], both: dict[str, Ints], shift: int) -> dict[str, Ints]:
    """Put the owners of both kinds one after the other; those of the second kind are numbered from `shift` on."""
    moved = {**both, "owner": both["owner"] + shift}
    return {name: np.concatenate([alone[name], moved[name]]) for name in alone}


def _where(found: Resolved, zone: Ints) -> dict[str, Ints]:
    """Write where zones lie, neighbours in one row."""
    parts = []
    of_zip, of_range = zone[: found.zips.size], zone[found.zips.size :]
    for level, first, last, zones in (
        (ZIP, found.zips, found.zips, of_zip),
        (ZIP4, found.first, found.last, of_range),
    ):
        same = np.zeros(first.size, np.int64)
        begin, stop = merged(same, first, last, zones)
        parts.append((np.full(begin.size, level, np.int64), first[begin], stop, zones[begin]))
    return {name: np.concatenate([part[at] for part in parts]) for at, name in enumerate(WHERE)}
