"""A bucket made ready: usable lines, and everything that whole orders and the profile decide about them."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import terms
from taxcalc.arrow import grouped
from taxcalc.columns import Entry
from taxcalc.eu.consignment import chargeable_at_payment, over_import_limit
from taxcalc.holiday_days import HolidayDays
from taxcalc.orders import Refunds, codes_of, match_refunds, usable
from taxcalc.regime import Placed

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.cases import Coding, Defaults, Settled
    from taxcalc.facts import Facts
    from taxcalc.intake import Intake
    from taxcalc.money import Ints
    from taxcalc.spool import Lines


@dataclass(frozen=True)
class Prepared:
    """Usable lines of a bucket, with everything that whole orders and the profile decide.

    `order` and `parcel` number orders and parcels, `situations` are the distinct situations (numbers of `Coding`, without
    the duty), `situation` the position of each line's among them, and `placed` where each situation is taxed while no
    duty is known.
    """

    lines: Lines
    settled: Settled
    order: npt.NDArray[np.int32]
    parcel: npt.NDArray[np.int32]
    refunds: Refunds
    situations: Ints
    situation: npt.NDArray[np.int32]
    placed: Placed


class PlacesKnown:
    """Where situations are taxed: asked of the regimes once for each situation of the run, whatever bucket it is in."""

    def __init__(self, coding: Coding, facts: Facts) -> None:
        """Begin with nothing known."""
        self._coding, self._facts = coding, facts
        self._known = np.zeros(0, np.int64)
        self._placed = terms.placed(coding.cases(self._known), facts)
        self._lock = Lock()

    def of(self, situations: Ints) -> Placed:
        """Give the answers for distinct situations; threads take turns."""
        with self._lock:
            at = np.searchsorted(self._known, situations)
            new = np.ones(situations.size, bool)
            inside = at < self._known.size
            new[inside] = self._known[at[inside]] != situations[inside]
            if new.any():
                self._learn(np.sort(situations[new]))
                at = np.searchsorted(self._known, situations)
            return terms.taken(self._placed, at)

    def _learn(self, situations: Ints) -> None:
        """Ask for situations that are new, and keep what is known in rising order."""
        answer = terms.placed(self._coding.cases(situations), self._facts)
        at = np.searchsorted(self._known, situations)
        self._known = np.insert(self._known, at, situations)
        parts = {
            part.name: np.insert(getattr(self._placed, part.name), at, getattr(answer, part.name))
            for part in fields(Placed)
        }
        self._placed = Placed(**parts)


@dataclass
class Preparation:
    """Makes buckets ready, once each where they stay in memory, again and alike where they do not."""

    intake: Intake
    facts: Facts
    coding: Coding
    defaults: Defaults
    _ready: dict[int, Prepared] = field(default_factory=dict)
    _one_at_a_time: Lock = field(default_factory=Lock)

    def __post_init__(self) -> None:
        """Begin with no place known."""
        self._places = PlacesKnown(self.coding, self.facts)
        self.holidays = HolidayDays(self.facts)

    def bucket(self, number: int) -> Prepared:
        """Give a bucket ready for both passes; the first time its unusable lines are set aside."""
        if number in self._ready:
            return self._ready[number]
        lines = self.intake.spool.read(number)
        order = codes_of(lines.order_id)
        left = self._usable(number, lines, order)
        if left.size < lines.size:
            lines, order = lines.take(left), order[left]
        settled = self.defaults.settle(lines)
        refunds = match_refunds(lines, order)
        over = over_import_limit(lines, settled, order, self.facts)
        lines, settled = self._by_payment(lines, settled, over)
        situations, situation = grouped(self._situation_keys(lines, settled, over))
        ready = Prepared(
            lines,
            settled,
            order,
            parcels(lines, order, refunds),
            refunds,
            situations,
            situation,
            self._places.of(situations),
        )
        if self.intake.spool.hold is None:
            self._ready[number] = ready
        return ready

    def _usable(self, number: int, lines: Lines, order: npt.NDArray[np.int32]) -> npt.NDArray[np.intp]:
        """Give the numbers of usable lines; the first call sets the others aside, later calls leave them out again."""
        spool = self.intake.spool
        try:
            return spool.kept(number, "usable")
        except KeyError:
            currencies = (self.facts.seller.reporting_currency, "USD", "EUR")
            left = usable(lines, order, self._put_aside, as_of=self.facts.as_of_day, currencies=currencies)
            spool.keep(number, "usable", left)
            return left

    def _put_aside(self, lines: Lines, mask: npt.NDArray[np.bool_], reason: str, column: str) -> None:
        """Set lines aside; buckets take turns, because they share one list and one tie-out."""
        with self._one_at_a_time:
            self.intake.set_aside.put_aside(lines, mask, reason, column)

    def _by_payment(
        self, lines: Lines, settled: Settled, over: npt.NDArray[np.bool_]
    ) -> tuple[Lines, Settled]:
        """Put the tax point of sales under the import scheme on the day of payment, whatever day they were dispatched on."""
        paid = chargeable_at_payment(lines, settled, over, self.facts)
        if not paid.any():
            return lines, settled
        day = np.where(paid, lines["day"], lines["tax_day"])
        ruled = np.where(paid, lines["day"], settled.rule_day)
        return lines.with_column("tax_day", day), replace(settled, rule_day=ruled)

    def _situation_keys(self, lines: Lines, settled: Settled, over: npt.NDArray[np.bool_]) -> Ints:
        """Pack each line's situation into a number, without the duty."""
        grid, _, _ = self.coding.periods
        day = np.clip(settled.rule_day, self.facts.first_day, self.facts.last_day) - self.facts.first_day
        return self.coding.keys(
            (
                grid[lines["destination"], day],
                settled.ship_from,
                lines["product_class"],
                lines["channel"],
                lines["buyer"],
                lines["buyer_number"] + 1,
                lines["entry"] == Entry.SAMPLE,
                over,
                lines["zone"],
                settled.fulfiller,
                self.holidays.apart(
                    lines["destination"], lines["product_class"], settled.duty_day, settled.rule_day
                ),
            )
        )


def parcels(lines: Lines, order: npt.NDArray[np.int32], refunds: Refunds) -> npt.NDArray[np.int32]:
    """Number parcels: the lines of an order with one destination, entry and day. Mostly that is the order itself."""
    if not order.size:
        return order
    mark = (
        (lines["destination"].astype(np.int64) * len(Entry) + lines["entry"]) * 2**32 + lines["day"] + 2**31
    )
    own = np.ones(order.size, bool)
    own[refunds.lines] = False
    of_order = np.zeros(int(order.max()) + 1, np.int64)
    of_order[order[own]] = mark[own]
    if np.array_equal(of_order[order[own]], mark[own]):
        return order
    marks, of_line = grouped(mark)
    return grouped(order.astype(np.int64) * marks.size + of_line)[1]
