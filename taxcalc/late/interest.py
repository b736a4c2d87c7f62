"""Interest on a late amount as a part of it: exact fractions, by the rate of each day or month (`us/interest_rates`).

A rate holds until `known_until` and is not carried on. Where one day has no rate there is no figure, and the day is named.
"""

from __future__ import annotations

from calendar import isleap
from fractions import Fraction
from itertools import groupby, takewhile
from math import prod
from typing import TYPE_CHECKING, Final, NamedTuple

from taxcalc.columns import NO_DAY
from taxcalc.days import MONTHS_A_YEAR, number, plus_months
from taxcalc.days import day as to_day
from taxcalc.money import PPM
from taxcalc.tables.fields import NO_VALUE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from taxcalc.tables.table import Table

BY_MONTH: Final = ("monthly", "monthly_compounded_yearly")


class Interest(NamedTuple):
    """Interest as a part of the amount (None where a rate is not known), the rows used, and the first day without one."""

    part: Fraction | None
    rows: tuple[int, ...]
    unknown_from: date | None


class _Step(NamedTuple):
    """Some days or months with one rate: its row, the year they lie in, how many, and how many make a year."""

    row: int
    year: int
    times: int
    a_year: int


def interest(table: Table, place: int, due: date, until: date) -> Interest:
    """Give the interest of a place from the day after the due day to the last day, both included.

    Daily kinds count days of the year they lie in (365 or 366), monthly ones each month or part of one since the due day
    as a twelfth. `free_days` after the due day bear nothing.
    """
    first = table.row(number(due) + 1, place=place)
    if first < 0:
        return Interest(None, (), to_day(number(due) + 1))
    accrues, free = str(table["accrues"][first]), max(int(table["free_days"][first]), 0)
    days = _months(due, until) if accrues in BY_MONTH else range(number(due) + 1 + free, number(until) + 1)
    unknown = next((day for day in days if _row(table, place, day) < 0), None)
    if unknown is not None:
        return Interest(None, (first,), to_day(unknown))
    steps = list(_steps(table, place, days, monthly=accrues in BY_MONTH))
    return Interest(_part(table, accrues, steps), tuple(sorted({step.row for step in steps})), None)


def _months(due: date, until: date) -> list[int]:
    """Give the first day of each month or part of one between two days."""
    ahead = (plus_months(due, months) for months in range((until.year - due.year + 1) * MONTHS_A_YEAR + 1))
    return [number(end) + 1 for end in takewhile(lambda end: end < until, ahead)]


def _row(table: Table, place: int, day: int) -> int:
    """Find the row whose rate is known on a day; -1 where none is."""
    row = table.row(day, place=place)
    if row < 0 or table["percent"][row] == NO_VALUE:
        return -1
    last = int(table["known_until"][row])
    return row if last == NO_DAY or day <= last else -1


def _steps(table: Table, place: int, days: Iterable[int], *, monthly: bool) -> Iterator[_Step]:
    """Put days, or months by their first day, with one rate and in one year together."""
    rates = ((_row(table, place, day), to_day(day).year) for day in days)
    for (row, year), same in groupby(rates):
        a_year = MONTHS_A_YEAR if monthly else 365 + isleap(year)
        yield _Step(row, year, len(list(same)), a_year)


def _part(table: Table, accrues: str, steps: list[_Step]) -> Fraction:
    """Put the steps together: simple ones are added; compound ones bear interest on interest, by day or by calendar year."""
    once = [Fraction(int(table["percent"][step.row]), PPM * step.a_year) for step in steps]
    if accrues == "daily_compounded_daily":
        return (
            prod(
                ((1 + part) ** step.times for part, step in zip(once, steps, strict=True)), start=Fraction(1)
            )
            - 1
        )
    whole = [(step.year, part * step.times) for part, step in zip(once, steps, strict=True)]
    if accrues == "monthly_compounded_yearly":
        years = (
            sum((part for _, part in same), Fraction(0)) for _, same in groupby(whole, lambda pair: pair[0])
        )
        return prod((1 + year for year in years), start=Fraction(1)) - 1
    return sum((part for _, part in whole), Fraction(0))
