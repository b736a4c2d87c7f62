"""Turnover by member state, added up by day once it is known where each sale is supplied: for the small-business scheme.

Where a sale is supplied hangs on the EUR 10 000 limit, so this comes after the thresholds of pass 1, and only for sellers
whom the scheme concerns. Each line counts as charged, less VAT that was charged beside it inside the price, and net at the
rate of its place; which of the two holds is known when the limits are walked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct
from taxcalc.cases import STATES
from taxcalc.columns import Entry
from taxcalc.counting import COUNTED_LINE, Counting, added, buyers, limit_key
from taxcalc.eu.rates import ppm, rate_rows
from taxcalc.eu.small_business import (
    NOT_USED,
    abroad,
    turnover_state,
    use_of,
    walked,
)
from taxcalc.eu.small_business_limits import currencies_of
from taxcalc.eu.small_business_rules import rules_of, union_rules
from taxcalc.exchange import convert
from taxcalc.money import PPM, round_half_away
from taxcalc.regime import NO_LIMIT

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from taxcalc.money import Ints
    from taxcalc.prepare import Preparation, Prepared
    from taxcalc.totals import Counted

    Index = npt.NDArray[np.intp]


class Turnover(Counting):
    """Adds up what is supplied in the member states whose limits are walked, and in the whole Union where that counts."""

    keys, lines = "turnover_keys", "turnover_lines"

    def __init__(self, preparation: Preparation, states: Callable[[int], npt.NDArray[np.int8]]) -> None:
        """Take the way to ready buckets and the duty state of a bucket's lines."""
        super().__init__(preparation)
        facts = preparation.facts
        self._states = states
        self._union = places.index("EU")
        self._walked = np.array(walked(facts), np.int16)
        self._rules = {int(state): rules_of(int(state), facts) for state in self._walked}
        self._in_union = union_rules(facts) if abroad(facts) else []
        if self._in_union:
            self._rules[self._union] = self._in_union

    def count(self, bucket: int) -> Counted:
        """Add up one bucket, and keep which of its lines count where."""
        ready = self.preparation.bucket(bucket)
        found, position = distinct(
            ready.situation * STATES + self._states(bucket), ready.situations.size * STATES
        )
        facts = self.preparation.facts
        cases = self.preparation.coding.cases(
            ready.situations[found // STATES], (found % STATES).astype(np.int8)
        )
        state, priced = turnover_state(cases, facts)
        as_charged = use_of(state, cases.day, facts) != NOT_USED
        rate = ppm(rate_rows(priced, cases.product_class, cases.day, facts), facts)
        counts = (state != NO_LIMIT) if self._in_union else np.isin(state, self._walked)
        index = np.flatnonzero(counts.take(position) & (ready.lines["entry"] == Entry.SALE))
        case = position.take(index)
        amounts = self._charged(ready, index, as_charged.take(case), rate.take(case))
        key, lines = self._gathered(ready, index, state.take(case), amounts)
        self._keep(bucket, key, lines)
        return added(key, lines)

    @staticmethod
    def _charged(
        ready: Prepared, index: Index, as_charged: npt.NDArray[np.bool_], rate: Ints
    ) -> tuple[Ints, Ints]:
        """Give what each line counts with while an exemption holds, and net of VAT, in its own currency."""
        lines, included = ready.lines, ready.settled.included.take(index)
        gross = lines["item_amount"].take(index) + lines["shipping_amount"].take(index)
        net = np.where(included, round_half_away(gross * PPM, PPM + rate), gross)
        charged = np.where(included, gross - lines["tax_collected"].take(index), gross)
        return np.where(as_charged, charged, net), net

    def _gathered(
        self, ready: Prepared, index: Index, state: npt.NDArray[np.int16], amounts: tuple[Ints, Ints]
    ) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.void]]:
        """Give keys and lines: once for the state where its limit is walked, and once more for the Union."""
        here = np.flatnonzero(np.isin(state, self._walked))
        everywhere = np.arange(index.size) if self._in_union else here[:0]
        at = np.concatenate((here, everywhere))
        where = np.concatenate((state[here], np.full(everywhere.size, self._union, np.int16)))
        lines, line = ready.lines, index[at]
        counted = np.zeros(at.size, COUNTED_LINE)
        days = lines["day"].take(line)
        for name, values in zip(("home", "there"), amounts, strict=True):
            counted[name] = self._converted(values[at], lines["currency"].take(line), where, days)
        counted["order"] = ready.order.take(line)
        counted["second"] = lines["second"].take(line)
        counted["line"] = line
        counted["channel"] = lines["channel"].take(line)
        counted["buyer"] = buyers(lines, line)
        counted["taxable"] = True
        return limit_key(where, days), counted

    def _converted(
        self,
        values: Ints,
        currency: npt.NDArray[np.int16],
        where: npt.NDArray[np.int16],
        days: npt.NDArray[np.int32],
    ) -> Ints:
        """Turn amounts into the currency of the limit of each line's place on its day."""
        found = np.zeros(values.size, np.int64)
        for place, rules in self._rules.items():
            for target, first, last in currencies_of(rules) if rules else ():
                at = np.flatnonzero((where == place) & (days >= first) & (days <= last))
                found[at] = convert(values[at], currency[at], target, days[at])
        return found
