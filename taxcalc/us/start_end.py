"""From which day a crossed threshold binds, and until when: the rules of us/start_rules and us/end_rules.

All steps are calendar steps; the numbers in them (days, months) come from the tables.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from taxcalc.days import day as to_day
from taxcalc.days import first_of_month, first_of_quarter, number, plus_months
from taxcalc.facts import OPEN
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from taxcalc.tables.load import Table


def binds_itself(rules: Table, row: int) -> bool:
    """Tell whether the very sale that meets the line is bound, as where there is no line but the first sale."""
    return str(rules["counts"][row]) == "same_order"


def start_day(rules: Table, row: int, crossed: int) -> int | None:
    """Give the first day of the duty after a crossing on a day, or None where an order is: the next one, or the same.

    `row` is a row of us/start_rules; -1 (nothing known) binds at the next order, the cautious reading.
    """
    kind = str(rules["counts"][row])
    day = to_day(crossed)
    days, months = _number(rules, "days", row), _number(rules, "months", row)
    if kind in ("next_order", "same_order", ""):
        return None
    if kind == "no_duty":
        return OPEN
    if kind == "day":
        return crossed + days
    if kind == "day_or_new_year":
        return min(crossed + days, number(date(day.year + 1, 1, 1)))
    if kind == "first_of_month":
        return number(_first_of_month(day, days, months))
    if kind == "first_of_month_within":
        return number(max(first_of_month(day + timedelta(days=days)), first_of_month(day, 1)))
    if kind == "next_quarter":
        return number(first_of_quarter(day, 1))
    if kind == "quarter_plus_months":
        return number(plus_months(first_of_quarter(day, 1), months))
    return number(_fixed_day(day, _number(rules, "month", row)))


def _number(rules: Table, column: str, row: int) -> int:
    """Read a number of a rule, 0 where it is blank."""
    value = int(rules[column][row])
    return 0 if value == NO_VALUE else value


def _first_of_month(day: date, days: int, months: int) -> date:
    """Give the first of the month `months` later, or of the first month that begins at least `days` later."""
    if months:
        return first_of_month(day, months)
    earliest = day + timedelta(days=days)
    return earliest if earliest.day == 1 else first_of_month(earliest, 1)


def _fixed_day(day: date, month: int) -> date:
    """Give the next first day of a month after the day."""
    return date(day.year if month > day.month else day.year + 1, month, 1)


def end_day(rules: Table, row: int, start: int, window_last: int, rule_last: int) -> int:
    """Give the last day of a duty by a row of us/end_rules; `window_last` is the last day of the window that was met.

    `rule_last` is the last day of the threshold itself, for a duty that goes with it.

    Windows met again later make intervals of their own, so that the duty goes on. A rule that ends by notice only has
    no end here, and neither has one that is not known (-1).
    """
    kind = str(rules["counts"][row])
    if kind == "with_threshold":
        return rule_last
    if kind == "end_of_month":
        year = to_day(window_last).year + _number(rules, "years", row)
        return number(first_of_month(date(year, _number(rules, "month", row), 1), 1)) - 1
    months = _number(rules, "months", row)
    if kind == "from_start":
        return number(plus_months(to_day(start), months)) - 1
    if kind == "from_last_met":
        return number(plus_months(to_day(window_last), months))
    return OPEN
