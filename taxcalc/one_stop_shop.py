"""Figures for the returns of the one-stop shops: what was supplied where at which rate, and corrections of earlier periods.

Directive 2006/112/EC: art. 369g (Union scheme: goods also by state of dispatch), art. 365 and 369t (the other two). A
refund of an earlier period goes into the return of its own period as a correction that names the earlier one, as the VAT
difference only. Rules of the returns stand in eu/return_periods and eu/scheme_rules.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from taxcalc.arrow import Adding, distinct_rows
from taxcalc.columns import NO_DAY, Entry
from taxcalc.eu.place import DIGITAL, member_state, rules_of
from taxcalc.eu.rates import EVERY_CLASS, ppm, rate_rows
from taxcalc.exchange import Conversion, publication_day, quotes
from taxcalc.facts import OPEN
from taxcalc.money import CURRENCIES
from taxcalc.served import SCHEMES, schemes_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.facts import Facts
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints
    from taxcalc.sums import Frame
    from taxcalc.terms import AllTerms

    Index = npt.NDArray[np.intp]

EURO: Final = "EUR"
"""Returns are made out in euro (eu/scheme_rules: return_currency)."""

NOT_CORRECTED: Final = 0
_MONTHS = {"calendar_quarter": 3, "calendar_month": 1}
_YEAR_0 = 1970 * 12


class Box(NamedTuple):
    """What is added up: scheme (position in SCHEMES), period and corrected period (number of their first month).

    Then member states of consumption and of dispatch (place numbers, 0 none), services or goods, rate in parts per
    million, and whether it is the standard rate. Corrections have no state of dispatch and no rate.
    """

    scheme: int
    period: int
    corrected: int
    consumption: int
    dispatch: int
    service: int
    ppm: int
    standard: int


BY_CASE: Final = Box._fields[3:]
"""What a box takes from the case of its lines."""


class Amounts(NamedTuple):
    """Cents of euro: the taxable amount, and the VAT at the low, expected and high end; and the lines behind them."""

    taxable: int
    vat_low: int
    vat: int
    vat_high: int
    lines: int


class OneStopShop:
    """Adds up what returns of the period hold, bucket by bucket, in whatever order they come.

    `scheme` is the one-stop shop that may serve each case, int8 positions in SCHEMES.
    """

    def __init__(self, terms: AllTerms, facts: Facts, frame: Frame) -> None:
        """Look at the cases once: which scheme may serve each, and what a return says of it."""
        self.boxes: dict[Box, Amounts] = {}
        self._frame, self._lock = frame, Lock()
        scheme = schemes_of(terms, facts)
        self._months = np.array([0, *(period_months(name, facts) for name in SCHEMES[1:])], np.int64)
        self.scheme = np.where(self._months[scheme] > 0, scheme, np.int8(0))
        at = np.flatnonzero(self.scheme)
        served = terms.cases.take(at)
        where = rules_of(served.destination, facts)
        service = served.product_class == DIGITAL
        rate = terms.collect.rules["expected"].state_ppm[at]
        every = np.full(at.size, EVERY_CLASS, np.int8)
        leaves = member_state(served.ship_from, facts)
        self._of_case = np.zeros((len(BY_CASE), self.scheme.size), np.int64)
        self._of_case[:, at] = (
            member_state(where, facts),
            np.where(facts.eu_states[leaves] & ~service, leaves, 0),
            service,
            rate,
            rate == ppm(rate_rows(where, every, served.day, facts), facts),
        )

    def look(self, bucket: Bucket, figures: LineFigures) -> None:
        """Look through one bucket."""
        at = np.flatnonzero((self.scheme.take(bucket.case) > 0) & figures.due)
        if not at.size:
            return
        scheme = self.scheme.take(bucket.case[at]).astype(np.int64)
        period, end = self._periods(bucket.lines["tax_day"][at], scheme)
        inside = (end >= self._frame.first) & (end <= self._frame.last)
        at, scheme, period, end = at[inside], scheme[inside], period[inside], end[inside]
        if not at.size:
            return
        original, original_end = self._periods(_sold_on(bucket)[at], scheme)
        corrects = original < period
        case = bucket.case[at]
        consumption, *of_supply = self._of_case[:, case]
        columns = (
            scheme,
            period,
            np.where(corrects, original, NOT_CORRECTED),
            consumption,
            *(np.where(corrects, 0, column) for column in of_supply),
        )
        keys, group = distinct_rows(columns)
        amounts = self._amounts(bucket, figures, at, np.where(corrects, original_end, end))
        adding = Adding(group, len(keys))
        sums = [*(adding.of(values).tolist() for values in amounts), adding.lines.tolist()]
        with self._lock:
            for key, *found in zip(keys, *sums, strict=True):
                box = Box(*(int(part) for part in key))
                before = self.boxes.get(box, Amounts(0, 0, 0, 0, 0))
                self.boxes[box] = Amounts(*(a + b for a, b in zip(before, found, strict=True)))

    def _periods(self, days: npt.NDArray[np.int32], scheme: Ints) -> tuple[Ints, npt.NDArray[np.int32]]:
        """Give the period that each day lies in, by the number of its first month, and its last day."""
        length = self._months[scheme]
        month = days.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) + _YEAR_0
        period = month // length * length
        return period, last_day(period, length)

    @staticmethod
    def _amounts(
        bucket: Bucket, figures: LineFigures, at: Index, end: npt.NDArray[np.int32]
    ) -> tuple[Ints, Ints, Ints, Ints]:
        """Give taxable amount and VAT of some lines in cents of euro, each line converted and rounded.

        At the rate of the last day of the period, or of the next publication day (art. 366, 369h); of the period that is
        corrected, for corrections. Where a currency is no longer published then: at that of the order day.
        """
        lines = bucket.lines
        currency, ordered = lines["currency"][at], lines["day"][at]
        vat = figures.to_collect["expected"][at]
        gross = lines["item_amount"][at] + lines["shipping_amount"][at]
        net = np.where(bucket.settled.included[at], gross - vat, gross)
        when = ordered.copy()
        for code, day in distinct_rows((currency, end))[0]:
            here = np.flatnonzero((currency == code) & (end == day))
            published = publication_day(CURRENCIES[code], day)
            if int(quotes(CURRENCIES[code]).on(np.array([published], np.int32))[0]):
                when[here] = published
        to_euro = Conversion(currency, EURO, when).of
        low, high = (figures.to_collect[name][at] for name in ("low", "high"))
        return to_euro(net), to_euro(low), to_euro(vat), to_euro(high)


def period_months(scheme: str, facts: Facts) -> int:
    """Give how many months one return of a scheme covers (eu/return_periods), 0 where there is no such scheme yet."""
    table = facts.tables["eu/return_periods"]
    return _MONTHS.get(str(table["period"][table.row(facts.as_of_day, scheme=scheme)]), 0)


def last_day(period: Ints, months: Ints | int) -> npt.NDArray[np.int32]:
    """Give the last day of periods that begin with a month, as days since 1970-01-01."""
    after = (period + months - _YEAR_0).astype("datetime64[M]").astype("datetime64[D]")
    return (after.astype(np.int64) - 1).astype(np.int32)


def _sold_on(bucket: Bucket) -> npt.NDArray[np.int32]:
    """Give the tax point of each line's sale: its own, and of a refund that of the sale it takes back."""
    lines, refunds = bucket.lines, bucket.refunds
    sold: npt.NDArray[np.int32] = lines["tax_day"].copy()
    if refunds.lines.size:
        earliest = np.full(refunds.groups, OPEN, np.int32)
        np.minimum.at(earliest, refunds.sale_group, lines["tax_day"][refunds.sales])
        sold[refunds.lines] = earliest[refunds.group]
    named = refunds.unmatched[lines["original_day"][refunds.unmatched] != NO_DAY]
    sold[named] = lines["original_day"][named]
    return np.where(lines["entry"] == Entry.REFUND, sold, lines["tax_day"])
