"""What a DataFrame holds where a cell is missing, and days and moments of every kind it knows."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest
from plain_order import PLAIN

from taxcalc.intake import read_orders

if TYPE_CHECKING:
    from taxcalc.intake import Intake
    from taxcalc.tables.load import Tables

DAY = "2026-05-04"
NUMBER = (date(2026, 5, 4) - date(1970, 1, 1)).days


def read(tables: Tables, **columns: Any) -> Intake:  # noqa: ANN401 - columns of any kind
    """Read two plain orders with some columns replaced."""
    frame = pd.DataFrame([PLAIN, {**PLAIN, "order_id": "A-2"}])
    return read_orders(frame.assign(**columns), tables=lambda: tables, time_zone="America/New_York")


@pytest.mark.parametrize(
    "days",
    [
        pytest.param(pd.to_datetime([DAY, DAY]), id="datetime64[ns]"),
        pytest.param(np.array([DAY, DAY], "datetime64[s]"), id="datetime64[s]"),
        pytest.param([date(2026, 5, 4), pd.Timestamp(f"{DAY}T23:59:59.5")], id="dates and moments"),
        pytest.param([np.datetime64(DAY), DAY], id="NumPy days and text"),
        pytest.param(pd.to_datetime([f"{DAY}T22:00"] * 2).tz_localize("America/New_York"), id="with a zone"),
        pytest.param(pd.to_datetime(["2026-05-05T02:00Z"] * 2), id="the evening before, in the shop's zone"),
    ],
)
def test_days_of_every_kind_are_the_same_day(days: Any, tables: Tables) -> None:  # noqa: ANN401 - as above
    """A moment without a zone is in the seller's; one with a zone is dated there."""
    assert read(tables, ordered_on=days).spool.read(0)["day"].tolist() == [NUMBER, NUMBER]


@pytest.mark.parametrize("gap", [None, np.nan, pd.NaT, pd.NA, ""], ids=str)
def test_a_missing_cell_is_blank_whatever_stands_for_it(gap: object, tables: Tables) -> None:
    """Blank where it may be, set aside where it is needed; no text "nan" or "None" is ever read."""

    def beside(value: object) -> pd.Series[Any]:
        return pd.Series([value, gap], dtype=object)

    intake = read(
        tables,
        supplied_on=beside(date(2026, 5, 9)),
        shipping_amount=beside(Decimal("4.50")),
        fulfiller=beside("north"),
        buyer_tax_number=beside("DE136695976"),
    )
    lines = intake.spool.read(0)
    assert intake.tie_out.rows_used == 2
    assert lines["shipping_amount"].tolist() == [450, 0]
    assert lines["tax_day"].tolist() == [NUMBER + 5, lines["day"][1]]
    assert (intake.fulfillers, int(lines["buyer_number"][1])) == (["north", "main"], 0)
    intake = read(tables, ordered_on=beside(date(2026, 5, 4)), order_id=beside("A-1"))
    assert intake.set_aside.frame()[["value", "reason"]].to_numpy().tolist() == [["", "no_order_id"]]
    intake = read(tables, ordered_on=beside(date(2026, 5, 4)))
    assert intake.set_aside.frame()[["value", "reason"]].to_numpy().tolist() == [["", "no_date"]]
