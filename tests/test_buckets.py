"""Buckets that no order falls into are as good as none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shop import orders

from taxcalc import intake
from taxcalc.run import assess

if TYPE_CHECKING:
    import pytest

SELLER = {
    "seller": {
        "name": "Shop",
        "country": "US",
        "region": "US-OR",
        "established_on": "2023-01-01",
        "reporting_currency": "USD",
    }
}


def test_a_crossing_is_found_where_most_buckets_are_empty(monkeypatch: pytest.MonkeyPatch) -> None:
    """One order that passes a threshold by itself, in one of many buckets (common practice, no source)."""
    monkeypatch.setattr(intake, "_LINES_A_BUCKET", 1)
    lines = [{"order_id": "7", "to": "US-WA 98101", "item_amount": "60000.00"} for _ in range(8)]
    found = assess(orders(lines), SELLER)
    assert found.run.intake.spool.buckets > len(found.run.buckets) == 1
    row = found.thresholds.set_index(["place", "measure"]).loc[("US-WA", "amount")]
    assert row["value"] == 8 * 60000_00
    assert row["crossed_by"] == "7"
