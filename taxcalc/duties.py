"""Duties: every interval in which the seller had to collect, and the rows that show where a threshold stands.

A duty that sales bring about begins at an order, not only at a day: `Position` is (day, second, order_id), and a line has
the duty when its own position is not before it. A registration or a presence has to hold at the tax point of the line.
Intervals are kept apart by cause; a line has a duty while any of them holds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.arrow import picked
from taxcalc.days import number
from taxcalc.facts import OPEN

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt
    import pyarrow as pa

    from taxcalc.facts import Facts
    from taxcalc.seller import Presence, Registration

CAUSES = ("", "registration", "presence", "threshold", "first_sale", "election")
CAUSE = {word: index for index, word in enumerate(CAUSES)}
"""`Cases.state`: 0 no duty, else the cause; where several hold the lowest number is named."""

AT_TAX_POINT = ("registration", "presence")
"""Causes that have to hold at the tax point. The others go by the order, as the thresholds do that it counts for."""


LIMIT_KINDS = (
    "economic_nexus",
    "distance_sales",
    "small_business",
    "small_business_ceiling",
    "small_business_union",
)
"""Kinds of thresholds, in the order in which those of one place are shown."""


class Position(NamedTuple):
    """A moment in a place's history: day number, second of that day, order_id (empty: the whole day)."""

    day: int
    second: int = -1
    order_id: str = ""


NOWHERE = Position(0)
"""The crossing of a duty that no threshold made."""


@dataclass(frozen=True, order=True)
class Interval:
    """The seller had to collect at a place from a position until a day (OPEN where no end is known)."""

    place: int
    start: Position
    until: int
    cause: str
    grounds: str = ""
    crossed: Position = NOWHERE


@dataclass(frozen=True)
class ThresholdRow:
    """Where one measure of one threshold stands on the day of the review (amounts in minor units of `currency`).

    `kind` tells the thresholds of one place apart (`LIMIT_KINDS`), `effect` is the table's word for what passing it does.
    """

    place: int
    measure: str
    currency: str
    window_start: int
    window_end: int
    value: int
    limit: int
    status: str
    crossed: Position | None = None
    duty_from: int | None = None
    duty_until: int | None = None
    projected: tuple[int, int, int] | None = None
    row_ids: str = ""
    basis: int = 0
    checked_on: int = OPEN
    incomplete: bool = False
    kind: str = "economic_nexus"
    effect: str = ""

    @property
    def share_tenths(self) -> int:
        """Share of the limit in tenths of a percent, rounded down, so that 99.99 % never reads as reached."""
        return self.value * 1000 // self.limit if self.limit else 1000


def status_of(value: int, limit: int, *, met: bool, watch: int, near: int) -> str:
    """Name where a value stands against its limit; `watch` and `near` are percent of the limit."""
    if met:
        return "crossed"
    if value * 100 >= limit * near:
        return "near"
    return "watch" if value * 100 >= limit * watch else "clear"


def profile_intervals(facts: Facts) -> list[Interval]:
    """Give the duties that follow from the profile alone: registrations to collect, physical presence in a state."""
    standard = [r for r in facts.seller.registrations if r.scheme == "standard"]
    known = set(places.codes())
    return [
        *(_interval(r, "registration") for r in standard if r.place in known),
        *(_interval(p, "presence") for p in facts.presences if p.place in known),
    ]


def _interval(of: Registration | Presence, cause: str) -> Interval:
    """Build the interval of something that the profile says holds from a day, and mostly until no day."""
    last = OPEN if of.until_day is None else number(of.until_day)
    return Interval(places.index(of.place), Position(number(of.from_day)), last, cause)


@dataclass
class Duties:
    """All intervals, and the answer for lines: which cause holds at a place and position (0 none)."""

    intervals: list[Interval]
    first_day: int
    last_day: int
    grid: npt.NDArray[np.int8] = field(init=False)
    at_tax_point: npt.NDArray[np.int8] = field(init=False)
    later_that_day: dict[tuple[int, int], list[Interval]] = field(init=False)

    def __post_init__(self) -> None:
        """Lay the intervals on two grids of place × day; starts inside a day are kept apart."""
        self.grid = np.zeros((len(places.codes()), self.last_day - self.first_day + 1), np.int8)
        self.at_tax_point = np.zeros_like(self.grid)
        self.later_that_day = {}
        for interval in sorted(self.intervals, key=lambda i: -CAUSE[i.cause]):
            first = interval.start.day + (1 if interval.start.order_id else 0)
            begin, end = (
                max(first - self.first_day, 0),
                min(interval.until, self.last_day) - self.first_day + 1,
            )
            grid = self.at_tax_point if interval.cause in AT_TAX_POINT else self.grid
            if end > begin:
                grid[interval.place, begin:end] = CAUSE[interval.cause]
            if interval.start.order_id:
                self.later_that_day.setdefault((interval.place, interval.start.day), []).append(interval)

    def state(
        self,
        place: npt.NDArray[np.int16],
        day: npt.NDArray[np.int32],
        second: npt.NDArray[np.int32],
        order_id: pa.Array,
        tax_day: npt.NDArray[np.int32],
    ) -> npt.NDArray[np.int8]:
        """Give the cause of the duty in force for each line (arrays of one length; `place` -1 has none).

        `day`, `second` and `order_id` are the position of the order, `tax_day` is the day of the tax point.
        """
        inside = np.clip(day - self.first_day, 0, self.grid.shape[1] - 1)
        found = np.where(place >= 0, self.grid[place, inside], np.int8(0))
        for (at, on), intervals in self.later_that_day.items():
            lines = np.flatnonzero((place == at) & (day == on))
            if lines.size:
                ids = picked(order_id, lines)
                self._from_that_order(found, lines, second[lines].tolist(), ids, intervals)
        inside = np.clip(tax_day - self.first_day, 0, self.grid.shape[1] - 1)
        by_profile = np.where(place >= 0, self.at_tax_point[place, inside], np.int8(0))
        return np.where(by_profile > 0, by_profile, found)

    @staticmethod
    def _from_that_order(
        found: npt.NDArray[np.int8],
        lines: npt.NDArray[np.intp],
        seconds: list[int],
        ids: list[str],
        intervals: list[Interval],
    ) -> None:
        """Give the duty to the lines of one place and day that come at or after the order it starts with."""
        for interval in intervals:
            begin = (interval.start.second, interval.start.order_id)
            at_or_after = np.array([at >= begin for at in zip(seconds, ids, strict=True)])
            unset = found[lines] == 0
            found[lines[at_or_after & unset]] = CAUSE[interval.cause]

    def holding(self, place: int, day: int, *causes: str) -> bool:
        """Tell whether a duty holds at a place at the end of a day."""
        return any(
            i.place == place and i.start.day <= day <= i.until and (not causes or i.cause in causes)
            for i in self.intervals
        )

    def first(self, place: int) -> Interval | None:
        """Give the interval in which the duty at a place began first."""
        here = [i for i in self.intervals if i.place == place]
        return min(here, key=lambda i: i.start) if here else None


class Stretch(NamedTuple):
    """A stretch of duty without a gap: the interval with which it began, and its last day (OPEN: no end is known)."""

    first: Interval
    until: int


def stretches(intervals: Iterable[Interval], place: int) -> list[Stretch]:
    """Join the intervals of a place that touch or overlap, oldest first."""
    found: list[Stretch] = []
    for interval in sorted(i for i in intervals if i.place == place):
        if found and interval.start.day <= found[-1].until + 1:
            found[-1] = found[-1]._replace(until=max(found[-1].until, interval.until))
        else:
            found.append(Stretch(interval, interval.until))
    return found
