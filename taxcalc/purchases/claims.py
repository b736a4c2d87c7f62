"""Until when tax that was paid to the fulfiller can be asked back from a state: the `refund` rows of `us/time_limits`.

Usually the buyer asks the fulfiller, which repays it and files the claim with the state (Texas Comptroller, Sales Tax
Refunds; elsewhere common practice, no source). From which day the years count differs: the due day of the fulfiller's
return, its filing, a payment, the end of a year. Sums are kept by quarter, so that there are two days: one that no reading
of the row makes too late, and one after which every reading has (returns by calendar quarter, due in the month after).
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc.days import MONTHS_A_YEAR, first_of_month, plus_months, quarter_days, quarter_name
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from taxcalc.facts import Facts


class LastDay(NamedTuple):
    """Until when to ask for the tax of a quarter: safe, and at the very latest; with basis and row id of `us/time_limits`."""

    safe: date
    latest: date
    basis: str
    row_id: str

    def passed(self, day: date) -> bool:
        """Tell whether it is too late on a day, however the years are counted."""
        return self.latest < day

    def shown(self) -> dict[str, str]:
        """Write it for the record."""
        return {
            "ask_by": self.safe.isoformat(),
            "ask_by_at_latest": self.latest.isoformat(),
            "ask_by_basis": self.basis,
            "ask_by_row": self.row_id,
        }


NOT_HELD = dict.fromkeys(("ask_by", "ask_by_at_latest", "ask_by_basis", "ask_by_row"))
"""What the record shows where no limit is held."""


def last_day_to_ask(facts: Facts, place: int, quarter: int) -> LastDay | None:
    """Give the last day to ask for tax paid in a quarter (its number); None where no limit is held."""
    table = facts.tables["us/time_limits"]
    row = table.row(facts.as_of_day, place=place, limit="refund")
    if row < 0:
        return None
    rows, years = np.array([row], np.int32), int(table["years"][row]) * MONTHS_A_YEAR
    first, last = quarter_days(quarter_name(quarter))
    due = first_of_month(last, 2) - timedelta(days=1)
    counted = due.replace(month=12, day=31) if table["counted_from"][row] == "end_of_calendar_year" else due
    return LastDay(
        plus_months(first, years) - timedelta(days=1),
        plus_months(counted, years),
        BASES[int(table.basis(rows)[0])],
        str(table.row_ids(rows)[0]),
    )
