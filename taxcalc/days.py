"""Days as int32 numbers since 1970-01-01, and the calendar steps that start and end rules are made of."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from typing import Final

import numpy as np
import numpy.typing as npt

EPOCH: Final = date(1970, 1, 1)
MONTHS_A_YEAR: Final = 12
MONTHS_A_QUARTER: Final = 3

Days = npt.NDArray[np.int32]


def number(day: date) -> int:
    """Give the number of a day: 1970-01-02 is 1."""
    return (day - EPOCH).days


def day(number_of_day: int) -> date:
    """Give the day of a number."""
    return EPOCH + timedelta(days=int(number_of_day))


def plus_months(start: date, months: int) -> date:
    """Go months ahead, to the same day of the month or the month's last day."""
    at = start.year * MONTHS_A_YEAR + start.month - 1 + months
    year, month = divmod(at, MONTHS_A_YEAR)
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1]))


def first_of_month(of: date, months: int = 0) -> date:
    """Give the first day of the month of `of`, or of the month `months` later."""
    return plus_months(of.replace(day=1), months)


def first_of_quarter(of: date, quarters: int = 0) -> date:
    """Give the first day of the calendar quarter of `of`, or of one `quarters` later."""
    start = of.replace(month=(of.month - 1) // MONTHS_A_QUARTER * MONTHS_A_QUARTER + 1, day=1)
    return plus_months(start, quarters * MONTHS_A_QUARTER)


def quarter_number(days: Days) -> npt.NDArray[np.int32]:
    """Number calendar quarters: 4 × year + 0…3 for each day."""
    months = days.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    return np.asarray(months // MONTHS_A_QUARTER + 1970 * 4, dtype=np.int32)


def quarter_of(of: date) -> int:
    """Number the calendar quarter of one day, as `quarter_number` does for many."""
    return of.year * 4 + (of.month - 1) // MONTHS_A_QUARTER


def quarter_name(number_of_quarter: int) -> str:
    """Write a quarter number as 2026-Q3."""
    year, quarter = divmod(int(number_of_quarter), 4)
    return f"{year}-Q{quarter + 1}"


def quarter_days(name: str) -> tuple[date, date]:
    """Give first and last day of 2026-Q3; raises `ValueError` for anything else."""
    year, mark, quarter = name.partition("-Q")
    if not (mark and year.isdigit() and len(year) == 4 and quarter in ("1", "2", "3", "4")):  # noqa: PLR2004 - a year
        message = f"{name!r} is no quarter; write it as 2026-Q3"
        raise ValueError(message)
    first = date(int(year), (int(quarter) - 1) * MONTHS_A_QUARTER + 1, 1)
    return first, first_of_quarter(first, 1) - timedelta(days=1)


def last_completed_quarter(before: date) -> tuple[date, date]:
    """Give the last calendar quarter whose last day is before the day."""
    start = first_of_quarter(before)
    return first_of_quarter(start, -1), start - timedelta(days=1)
