"""Sums of the fulfiller's tax over the last four calendar quarters that were over, by case.

A document is worth what it would have saved in a year: the tax that may be charged on each line or, where the file says
what was charged, the smaller of the two.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc.arrow import Adding
from taxcalc.columns import Blank
from taxcalc.days import day as to_day
from taxcalc.days import first_of_quarter, number

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.money import Ints

YEAR_MEASURES = (
    *("sold", "lines", "lines_charged", "expected", "charged", "saved"),
    *("expected_before", "charged_before"),
)
"""By case: lines of any kind, lines with any tax, those of them whose charge is known, and minor units of the reporting
currency; `_before`: the part of the calendar year in which the four quarters begin, where they end in the next one."""

QUARTERS = 4


class Year(NamedTuple):
    """First and last day of the last four completed quarters, as days since 1970-01-01."""

    first: int
    last: int

    @property
    def new_year(self) -> int:
        """The first day of the calendar year in which they end."""
        return number(date(to_day(self.last).year, 1, 1))


def last_year(as_of: date) -> Year:
    """Give the four calendar quarters that were over before a day."""
    start = first_of_quarter(as_of)
    return Year(number(first_of_quarter(start, -QUARTERS)), number(start - timedelta(days=1)))


def by_case(
    bucket: Bucket, year: Year, cases: int, expected: Ints, charged: Ints
) -> dict[str, npt.NDArray[np.int64]]:
    """Add up the lines of a bucket by case; `expected` and `charged` are int64 in the reporting currency, a line each."""
    lines = bucket.lines
    inside = (lines["tax_day"] >= year.first) & (lines["tax_day"] <= year.last)
    chosen = np.flatnonzero(inside & ((expected != 0) | (charged != 0)))
    tax, billed = expected.take(chosen), charged.take(chosen)
    known = (lines["blanks"].take(chosen) & Blank.FULFILLER_TAX_CHARGED) == 0
    adding = Adding(bucket.case.take(chosen), cases)
    smaller = np.minimum(np.abs(tax), np.abs(billed)) * np.sign(tax) * (np.sign(tax) == np.sign(billed))
    before = lines["tax_day"].take(chosen) < year.new_year
    return {
        "sold": np.bincount(bucket.case[inside], minlength=cases),
        "lines": adding.lines,
        "lines_charged": adding.of(known.astype(np.int64)),
        "expected": adding.of(tax),
        "charged": adding.of(billed),
        "saved": adding.of(np.where(known, smaller, tax)),
        "expected_before": adding.of(np.where(before, tax, 0)),
        "charged_before": adding.of(np.where(before, billed, 0)),
    }
