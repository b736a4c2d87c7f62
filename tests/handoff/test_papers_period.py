"""The sheets of the period: every sale stands in one column, whatever the answer of the rules is."""

from __future__ import annotations

from datetime import date

import pytest
from shop import orders, seller

from taxcalc import assess
from taxcalc.handoff.gathered import MEASURES, Gathered
from taxcalc.handoff.papers_period import OTHER, us_period
from taxcalc.regime import DUTIES


@pytest.mark.parametrize("duty", DUTIES)
def test_every_answer_has_its_column(duty: str) -> None:
    """Also answers that a regime gives rarely: sales that stand nowhere would not be missed."""
    record = assess(orders([{"to": "US-TX", "item_amount": "10.00"}]), seller()).record()
    gathered = Gathered((date(2026, 4, 1), date(2026, 6, 30)), "USD")
    gathered._sums["us", "US-TX", duty, "any"] = {**dict.fromkeys(MEASURES, 0), "sales": 10_00, "lines": 1}  # noqa: SLF001 - stands in for lines
    sheet = us_period(record, gathered)
    (row,) = sheet.rows
    titles = [head.title for head in sheet.heads]
    assert OTHER in titles
    first, last = (
        titles.index(title) for title in ("Gross sales, as charged", "Taxable amount, without tax")
    )
    assert row[first] == 10
    assert sum(row[first + 1 : last + 1]) == 10
