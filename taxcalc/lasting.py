"""How long a document lasts once the fulfiller has it, and how late it may come: the rows of `us/certificates`."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

from taxcalc.days import day as to_day
from taxcalc.days import plus_months
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from taxcalc.tables.table import Table


class Lasting(NamedTuple):
    """How long a document given on some day lasts in a state.

    `lasts` is the word of the table ("" where no row is held), `last_day` the last day on which it works (None: no day
    follows from the table), `renew_by` the day by which a new one is advised, `days_to_obtain` the days after a sale
    within which it may still come (None: not held), `row` the row of `us/certificates` (-1 none).
    """

    lasts: str
    last_day: date | None
    renew_by: date | None
    days_to_obtain: int | None
    row: int


def lasting(table: Table, place: int, given: int) -> Lasting:
    """Tell how long a document lasts that is given at a place (place code) on a day (days since 1970-01-01)."""
    row = table.row(given, place=place)
    if row < 0:
        return Lasting("", None, None, None, -1)
    lasts, months, late = (
        str(table["lasts"][row]),
        int(table["months"][row]),
        int(table["days_to_obtain"][row]),
    )
    after = None if months == NO_VALUE else plus_months(to_day(given), months) - timedelta(days=1)
    last_day = after if lasts == "months" else None
    if lasts == "calendar_year":
        last_day = date(to_day(given).year, 12, 31)
    return Lasting(
        lasts,
        last_day,
        after if lasts == "renewal_advised" else None,
        None if late == NO_VALUE else late,
        row,
    )
