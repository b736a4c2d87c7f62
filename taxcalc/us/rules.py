"""The dated rows of `us/thresholds` as tests: what counts, over which window, met how."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.columns import NO_DAY, Buyer, Channel
from taxcalc.crossing import Test
from taxcalc.facts import OPEN
from taxcalc.tables.schema import NO_VALUE
from taxcalc.us.windows import WindowRule

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.tables.load import Tables
    from taxcalc.totals import Counted, DayOrders

RESALE = int(Buyer.RESALE)


@dataclass(frozen=True)
class Rule:
    """One dated row: its test and window, the days on which it holds, and what counts.

    `earliest` is the first day on which anybody had to collect under it.
    """

    row: int
    first: int
    last: int
    test: Test
    window: WindowRule
    earliest: int
    counts_exempt: bool
    counts_resale: bool
    counts_marketplace: bool

    def counting(self, items: Counted | DayOrders) -> npt.NDArray[np.bool_]:
        """Tell which totals (or orders of a day) count: a buyer that resells, exempt sales, a facilitator's sales."""
        resale = items.buyer == RESALE
        exempt = ~items.taxable & ~resale
        own = items.channel != Channel.MARKETPLACE
        return np.asarray(
            (self.counts_marketplace | own) & (self.counts_resale | ~resale) & (self.counts_exempt | ~exempt),
            dtype=np.bool_,
        )


def rules_of(code: int, tables: Tables) -> list[Rule]:
    """Read a state's rows in their order, each holding until the day before the next.

    Rows that gave a choice to collect or to report are no duty and are left out.
    """
    table = tables["us/thresholds"]
    days = [int(day) for day in table.change_days(code)]
    found = []
    for first, last in zip(days, [*(day - 1 for day in days[1:]), OPEN], strict=True):
        row = table.row(first, place=code)
        if row >= 0 and table["duty_kind"][row] == "collect":
            found.append(_rule(row, first, last, tables))
    return found


def _rule(row: int, first: int, last: int, tables: Tables) -> Rule:
    """Turn one table row into a rule."""
    table = tables["us/thresholds"]
    count, earliest = int(table["transactions"][row]), int(table["no_duty_before"][row])
    test = Test(
        amount=int(table["amount"][row]),
        amount_over=table["amount_met_when"][row] == "over",
        count=None if count == NO_VALUE else count,
        count_over=table["transactions_met_when"][row] == "over",
        both=table["connector"][row] == "both",
    )
    return Rule(
        row,
        first,
        last,
        test,
        WindowRule.named(str(table["window"][row]), tables),
        first if earliest == NO_DAY else earliest,
        bool(table["exempt_sales_count"][row]),
        bool(table["resale_sales_count"][row]),
        bool(table["marketplace_sales_count"][row]),
    )
