"""Two passes over the spool, from canonical lines to figures.

Pass 1 settles what a whole order decides (repeats, refunds, consignments), reduces lines to situations and adds up what
may count for thresholds. Then the duties are known. Pass 2 gives every line its case (situation and duty), asks the
regimes once for all cases, lets the kernel compute every line, and adds up. Buckets are independent, so two of them run
at a time; no result depends on which is ready first.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from taxcalc import places, terms
from taxcalc.arrow import distinct
from taxcalc.asked import begun
from taxcalc.assessment import Assessment
from taxcalc.at_the_door import AtTheDoor
from taxcalc.cases import CAUSES, STATES, Coding, Defaults
from taxcalc.charges import Bucket
from taxcalc.columns import NO_DAY
from taxcalc.counting import Counting
from taxcalc.days import day as to_day
from taxcalc.days import last_completed_quarter, number
from taxcalc.delivery_fees import DeliveryFees
from taxcalc.duties import Duties, Interval, ThresholdRow, profile_intervals
from taxcalc.eu.place import place
from taxcalc.eu.small_business import covered_state, walked
from taxcalc.eu.small_business_shown import Exemptions, small_business, without_presence
from taxcalc.facts import OPEN, Facts
from taxcalc.figures import line_figures
from taxcalc.first_sales import FirstSales
from taxcalc.messages import refuse
from taxcalc.near_days import near_days
from taxcalc.one_stop_shop import OneStopShop
from taxcalc.prepare import Preparation
from taxcalc.purchases.compared import compared, judged
from taxcalc.purchases.own_use import own_use
from taxcalc.purchases.year import last_year
from taxcalc.served import served_since
from taxcalc.sums import Frame, Sums, joined, sums_of
from taxcalc.tie_out import sums_of as amounts_of
from taxcalc.totals import Totals, pack
from taxcalc.turnover import Turnover
from taxcalc.union_prices import UnionPrices
from taxcalc.zone_numbers import zone_count

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    import numpy.typing as npt

    from taxcalc.asked import Period
    from taxcalc.intake import Intake
    from taxcalc.money import Ints
    from taxcalc.prepare import Prepared
    from taxcalc.seller import Seller
    from taxcalc.tables.load import Tables

T = TypeVar("T")
WORKERS = 2


class Run:
    """One run: intake and profile in, assessment out. It stays alive for the lines, which are built on demand."""

    def __init__(
        self,
        intake: Intake,
        tables: Tables,
        seller: Seller,
        as_of: date | None,
        period: Period | None,
        tell: Callable[[str], None],
    ) -> None:
        """Find the days and places the run is about; nothing is computed yet."""
        self.intake, self.seller, self.tell = intake, seller, tell
        self.buckets = [number for number in range(intake.spool.buckets) if intake.spool.read(number).size]
        first, first_order, last_order, last = self._days()
        self.as_of = as_of or to_day(last_order)
        self.period = begun(period or last_completed_quarter(self.as_of), self.as_of)
        self.facts = Facts(
            tables,
            seller,
            self.as_of,
            tuple(sorted(intake.fulfillers)),
            min(first, number(self.as_of)),
            last,
            first_order,
        )
        self.covers = to_day(first_order), to_day(min(last_order, number(self.as_of)))
        defaults = Defaults(self.facts, intake.fulfillers)
        coding = Coding(self.facts, self._destinations(), np.unique(defaults.dispatch), zone_count(tables))
        self.preparation = Preparation(intake, self.facts, coding, defaults)
        begin, end = (number(day) for day in self.period)
        near = near_days(self.facts, begin, end)
        self.frame = Frame(seller.reporting_currency, begin, end, near, last_year(self.as_of))
        self.first_sales = FirstSales()

    def _days(self) -> tuple[int, int, int, int]:
        """Give the first day of any kind, the first and the last order day, and the last day of any kind in all lines."""
        first, first_order, last_order, last = OPEN, OPEN, -OPEN, -OPEN
        for bucket in self.buckets:
            lines = self.intake.spool.read(bucket)
            original = lines["original_day"]
            days = [lines["day"], lines["tax_day"], original[original != NO_DAY]]
            first = min(first, *(int(some.min()) for some in days if some.size))
            last = max(last, *(int(some.max()) for some in days if some.size))
            first_order, last_order = (
                min(first_order, int(lines["day"].min())),
                max(last_order, int(lines["day"].max())),
            )
        return first, first_order, last_order, last

    def _destinations(self) -> npt.NDArray[np.int16]:
        """List the destinations that occur."""
        seen = np.zeros(len(places.codes()), bool)
        for bucket in self.buckets:
            seen[self.intake.spool.read(bucket)["destination"]] = True
        return np.flatnonzero(seen).astype(np.int16)

    def each(self, work: Callable[[int], T]) -> list[T]:
        """Do some work for every bucket, two at a time; answers in the order of the buckets."""
        if len(self.buckets) == 1:
            return [work(self.buckets[0])]
        with ThreadPoolExecutor(WORKERS) as pool:
            return list(pool.map(work, self.buckets))

    def assessment(self) -> Assessment:
        """Do both passes; raises E701 where the run's own totals do not tie."""
        self.tell("placing sales")
        counting = Counting(self.preparation)
        self.totals = totals = Totals(pack(self.each(counting.count)), counting.orders_on)
        if not self.rows_left():
            raise refuse("E395", as_of=self.as_of.isoformat())
        self.tell("walking thresholds")
        rows: list[ThresholdRow] = []
        intervals: list[Interval] = profile_intervals(self.facts)
        for regime in terms.REGIMES:
            answer = regime.thresholds(totals, self.facts)
            rows.extend(answer.rows)
            intervals.extend(answer.intervals)
        self.duties = Duties(intervals, self.facts.first_day, self.facts.last_day)
        self.exemptions = self._small_business(rows, intervals)
        self.fees = DeliveryFees(totals, self.facts)
        self.tell("computing tax")
        self.case_keys = np.unique(np.concatenate(self.each(self._final_keys)))
        cases = self.preparation.coding.cases(
            self.case_keys // STATES, (self.case_keys % STATES).astype(np.int8)
        )
        self.terms = terms.all_terms(cases, self.facts)
        self.served = served_since(self.terms, self.facts)
        self.one_stop_shop = OneStopShop(self.terms, self.facts, self.frame)
        self.at_the_door = AtTheDoor(self.terms, self.facts, self.frame)
        self.union_prices = UnionPrices(self.terms, self.facts, self.frame)
        self.judged = judged(self.terms)
        sums = joined(self.each(self._sum))
        self.intake.tie_out.check(sums.used_rows, sums.used_amounts)
        found = {*intervals, *self.first_sales.intervals(self.duties)}
        return Assessment(self, sums, rows, sorted(found))

    def _small_business(self, rows: list[ThresholdRow], intervals: list[Interval]) -> Exemptions | None:
        """Walk the limits of the small-business scheme, which hang on where sales are supplied; None where it is closed.

        Adds to `rows` and `intervals`.
        """
        if not walked(self.facts):
            return None
        turnover = Turnover(self.preparation, self._states)
        answer = small_business(Totals(pack(self.each(turnover.count)), turnover.orders_on), self.facts)
        rows.extend(answer.rows)
        intervals[:] = [*without_presence(intervals, self.facts), *answer.intervals]
        self.duties = Duties(intervals, self.facts.first_day, self.facts.last_day)
        return Exemptions(answer.over, self.facts) if answer.over else None

    def rows_left(self) -> int:
        """Count the lines that were not set aside."""
        return self.intake.tie_out.rows_used

    def _final_keys(self, bucket: int) -> Ints:
        """Give the distinct cases of a bucket, and keep each line's. Matched refunds take the case of their sale."""
        ready = self.preparation.bucket(bucket)
        lines = ready.lines
        state = self._states(bucket)
        found, position = distinct(ready.situation * STATES + state, ready.situations.size * STATES)
        if self.exemptions is not None:
            ended = self._ended(ready, found, position)
            if ended.any():
                state += CAUSES * ended
                found, position = distinct(ready.situation * STATES + state, ready.situations.size * STATES)
        keys, back = np.unique(
            ready.situations[found // STATES] * STATES + found % STATES, return_inverse=True
        )
        place = back.reshape(-1)[position].astype(np.int32)
        self.intake.spool.keep(bucket, "case", place)
        self.intake.spool.keep(bucket, "case_keys", keys)
        own = np.ones(lines.size, bool)
        own[ready.refunds.lines] = False
        occurring: Ints = keys[np.bincount(place[own], minlength=keys.size) > 0]
        return occurring

    def _states(self, bucket: int) -> npt.NDArray[np.int8]:
        """Give the cause of the duty in force for each line of a bucket."""
        ready = self.preparation.bucket(bucket)
        return self.duties.state(
            ready.placed.limit_place.take(ready.situation),
            ready.settled.duty_day,
            ready.lines["second"],
            ready.lines.order_id,
            ready.settled.rule_day,
        )

    def _ended(self, ready: Prepared, found: Ints, position: Ints) -> npt.NDArray[np.int8]:
        """Give what became of an exemption for each line, by the member state where it is supplied."""
        assert self.exemptions is not None  # noqa: S101 - asked only where there are any
        cases = self.preparation.coding.cases(
            ready.situations[found // STATES], (found % STATES).astype(np.int8)
        )
        where = place(cases, self.facts)
        state = covered_state(where.place, where.situation, self.facts)
        lines, day = ready.lines, ready.settled.duty_day
        return self.exemptions.of(state.take(position), day, lines["second"], lines.order_id)

    def bucket(self, number_of_bucket: int) -> Bucket:
        """Give a bucket with the case of every line."""
        ready = self.preparation.bucket(number_of_bucket)
        keys = self.intake.spool.kept(number_of_bucket, "case_keys")
        at = np.minimum(np.searchsorted(self.case_keys, keys), self.case_keys.size - 1).astype(np.int32)
        case = at[self.intake.spool.kept(number_of_bucket, "case")]
        refunds = ready.refunds
        if refunds.lines.size:
            least = np.full(refunds.groups, OPEN, np.int32)
            np.minimum.at(least, refunds.sale_group, case[refunds.sales])
            case[refunds.lines] = least[refunds.group]
        return Bucket(ready.lines, ready.settled, ready.order, ready.parcel, refunds, case)

    def _sum(self, number_of_bucket: int) -> Sums:
        """Compute and add up one bucket."""
        bucket = self.bucket(number_of_bucket)
        by_order = self.seller.rounding == "order"
        figures = line_figures(bucket, self.terms, by_order=by_order)
        self.first_sales.look(bucket, figures, self.terms)
        self.one_stop_shop.look(bucket, figures)
        self.at_the_door.look(bucket, figures)
        self.union_prices.look(bucket, figures)
        self.fees.look(number_of_bucket, bucket, figures, self.terms, self.frame)
        sums = sums_of(bucket, figures, self.terms, self.frame, self.served == OPEN)
        shown = self.frame.currency, (self.frame.first, self.frame.last)
        sums.compared = compared(bucket, figures, self.terms, self.judged, *shown)
        sums.own_use = own_use(bucket, self.terms, self.judged, *shown, by_order=by_order)
        sums.used_rows, sums.used_amounts = bucket.lines.size, amounts_of(bucket.lines)
        return sums
