"""Penalties on a late amount by the stages of `us/penalties`, in minor units.

Low and expected: the return and the tax come late and by themselves, before any notice or audit. High: after a notice and
an audit. Of the stages of one fault the last one reached holds, on top of the one before where the row says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from taxcalc.days import MONTHS_A_YEAR, number, plus_months
from taxcalc.money import PPM, round_fraction
from taxcalc.tables.fields import NO_VALUE

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from taxcalc.tables.table import Table

DAYS_LATE: Final = {"from_first_day": 1, "from_day_31": 31, "from_day_61": 61}
"""Stages that begin by themselves, and how many days late."""
LATER: Final = ("after_notice", "after_audit_begins", "after_audit_result")
STAGES: Final = (*DAYS_LATE, "registration_was_due", *LATER)
"""All stages, in the order in which they are reached."""
NOT_ON_A_LACK: Final = "collected_and_kept"
"""A fault of tax that was collected; what was not collected has no part in it."""
THIRTY: Final = 30


@dataclass(frozen=True)
class Late:
    """A return and its tax that come late: due day, day on which they come, whether the return came in time.

    `money` turns a row's amount (minor units, currency) into the currency of the figures.
    """

    due: date
    come: date
    filed: bool
    money: Callable[[int, str], int]

    @property
    def days(self) -> int:
        """Days late."""
        return (self.come - self.due).days

    def times(self, per: str) -> int:
        """Count how often a penalty falls due: months or thirty days begun, else once."""
        if per == "month":
            whole = range((self.come.year - self.due.year + 1) * MONTHS_A_YEAR + 1)
            return sum(plus_months(self.due, months) < self.come for months in whole)
        return -(-self.days // THIRTY) if per == "30_days" else 1


def rows_in_force(table: Table, place: int, due: date) -> list[int]:
    """Give the rows of a place that hold for a return due on a day, by fault and in the order of their stages."""
    keys = {(str(table["fault"][row]), str(table["stage"][row])) for row in table.rows(place=place).tolist()}
    ordered = sorted(keys, key=lambda key: (key[0], STAGES.index(key[1])))
    rows = [table.row(number(due), place=place, fault=fault, stage=stage) for fault, stage in ordered]
    return [row for row in rows if row >= 0]


def penalty(table: Table, rows: list[int], tax: int, end: str, late: Late) -> int:
    """Add up the penalties of all faults on a tax, for the low, expected or high end (0 where nothing is late)."""
    by_fault: dict[str, list[int]] = {}
    for row in rows:
        by_fault.setdefault(str(table["fault"][row]), []).append(row)
    return sum(
        _of_fault(table, [row for row in some if _reached(table, row, end, late)], tax, end, late)
        for fault, some in by_fault.items()
        if _punished(fault, end, late)
    )


def _punished(fault: str, end: str, late: Late) -> bool:
    """Tell whether a fault is in the figures of an end.

    The return of a seller that was registered is taken as filed in time, except at the high end. What falls due only when
    the state finds a seller is not in the low one.
    """
    if fault == "late_return":
        return not late.filed or end == "high"
    if fault == "all_when_found":
        return end == "high" or (end == "expected" and not late.filed)
    return fault != NOT_ON_A_LACK


def _reached(table: Table, row: int, end: str, late: Late) -> bool:
    """Tell whether a stage is reached."""
    stage = str(table["stage"][row])
    if stage in DAYS_LATE:
        return late.days >= DAYS_LATE[stage]
    return late.days > 0 and (end == "high" if stage in LATER else not late.filed)


def _of_fault(table: Table, reached: list[int], tax: int, end: str, late: Late) -> int:
    """Give the penalty of one fault: the percentages of its stages, then least amounts, then amounts on top."""
    total, least, on_top = Fraction(0), 0, 0
    for row in reached:
        if table["percent"][row] != NO_VALUE:
            earlier = total if table["adds_to_earlier_stage"][row] else Fraction(0)
            total = earlier + _percentage(table, row, tax, late)
        kind = str(table["amount_is"][row])
        amount = _amount(table, row, "amount", late) * late.times(str(table["per"][row]))
        if kind in ("least", "least_up_to_tax") and tax > 0:
            most = tax if kind == "least_up_to_tax" else _most(table, row, tax, late)
            least = max(least, amount if most is None else min(amount, round_fraction(Fraction(most))))
        if kind == "alone" or (kind == "added" and tax > 0 and end != "low"):
            on_top += amount
    return max(round_fraction(total), least) + on_top


def _percentage(table: Table, row: int, tax: int, late: Late) -> Fraction:
    """Give the part of the tax that one stage takes, at most what the row says."""
    share = Fraction(int(table["percent"][row]) * late.times(str(table["per"][row])), PPM)
    if table["further_percent"][row] != NO_VALUE:
        share += Fraction(int(table["further_percent"][row]) * max(late.times("month") - 1, 0), PPM)
    most = _most(table, row, tax, late)
    return share * tax if most is None else min(share * tax, most)


def _most(table: Table, row: int, tax: int, late: Late) -> Fraction | None:
    """Give the highest penalty of a row, None where it names none."""
    if table["most_percent"][row] == NO_VALUE:
        return None
    return max(
        Fraction(int(table["most_percent"][row]), PPM) * tax,
        Fraction(_amount(table, row, "most_amount", late)),
    )


def _amount(table: Table, row: int, name: str, late: Late) -> int:
    """Give an amount of a row in the currency of the figures; nothing where it is blank."""
    amount = int(table[name][row])
    return 0 if amount == NO_VALUE else late.money(amount, str(table["currency"][row]))
