"""What a review is asked: the day it looks from, and the period it is about.

Both come from the user, so what is wrong with them is a refusal (E2xx: wrong use of the command or of the call).
"""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Any, Final

from taxcalc.days import quarter_days
from taxcalc.messages import refuse

FIRST_YEAR: Final = 1990
LAST_YEAR: Final = 2099
_ISO_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)

Period = tuple[date, date]


def day_asked(value: object) -> date | None:
    """Give the day a review looks from: a date, a moment (its day), or text such as 2026-09-30; None stays None.

    Raises E201 for anything else.
    """
    if value is None:
        return None
    found = _day(value)
    if found is None:
        raise refuse("E201", value=str(value))
    return found


def period_asked(value: object) -> Period | None:
    """Give first and last day of the period: from 2026-Q3, or from two days, each as `day_asked` takes them.

    None stays None. Raises E202 for anything else, and E203 where the period ends before it begins.
    """
    if value is None:
        return None
    found = _quarter(value) if isinstance(value, str) else _two_days(value)
    if found is None:
        raise refuse("E202", value=str(value))
    first, last = found
    if last < first:
        raise refuse("E203", first=first, last=last)
    return first, last


def begun(period: Period, as_of: date) -> Period:
    """Give the period back; raises E204 where it begins after the day the review looks from, when all is nothing yet."""
    if period[0] > as_of:
        raise refuse("E204", first=period[0], as_of=as_of)
    return period


def _day(value: object) -> date | None:
    """Read one day, None where it is none or in no year that an order can have."""
    try:
        if isinstance(value, str):
            found = date.fromisoformat(value) if _ISO_DAY.fullmatch(value) else None
        elif isinstance(value, datetime):
            found = value.date()
        else:
            found = value if isinstance(value, date) else None
    except ValueError:
        return None
    return found if found is not None and FIRST_YEAR <= found.year <= LAST_YEAR else None


def _quarter(value: str) -> Period | None:
    """Read one quarter."""
    try:
        first, last = quarter_days(value)
    except ValueError:
        return None
    return (first, last) if FIRST_YEAR <= first.year <= LAST_YEAR else None


def _two_days(value: Any) -> Period | None:  # noqa: ANN401 - what the caller gave
    """Read a pair of days."""
    if not isinstance(value, (tuple, list)) or len(value) != 2:  # noqa: PLR2004 - a pair
        return None
    first, last = (_day(one) for one in value)
    return None if first is None or last is None else (first, last)
