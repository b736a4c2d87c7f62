"""Stock at an outside fulfiller: no presence in New York by an opinion for its own facts, presence elsewhere."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from shop import asked, dropped, orders, registered, seller

from taxcalc import assess

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]


def line(place: str, kind: str = "stock", **more: Any) -> pd.Series:  # noqa: ANN401 - values of a profile
    """Assess one order of 100.00 into the state in which the profile names a presence since 2026."""
    here = [{"place": place, "kind": kind, "from": date(2026, 1, 1)}]
    return asked(seller(presence=here, **more), dropped("a", place)).loc["a"]


@pytest.mark.source("ny-tsb-a-24-45-s")
def test_new_york_stock_at_an_outside_fulfiller_is_no_presence() -> None:
    """New York, TSB-A-24(45)S: stated officially, for its facts only; neither stock nor service makes a vendor.

    The profile does not say at whose place the stock lies, so the high end is taxed as if it were a presence.
    """
    found, bound = line("US-NY"), line("US-NY", "premises")
    assert found["duty"] == "below_threshold"
    assert found["reason"] == "us_stock_no_presence"
    assert found[ENDS].tolist() == [0, 0, bound[ENDS[2]]]
    assert found["shortfall"] == 0
    assert "us/stock_rules:US-NY" in found["rows"]


@pytest.mark.parametrize("kind", ["premises", "staff", "event"])
def test_any_other_presence_in_new_york_binds(kind: str) -> None:
    """The opinion speaks of a seller without another link to the state."""
    assert line("US-NY", kind)["reason"] == "us_present"


@pytest.mark.source("ca-cdtfa-pub-77")
def test_stock_elsewhere_is_a_presence() -> None:
    """California CDTFA, Publication 77: stated; stock at a fulfilment centre in the state, the seller must register."""
    assert line("US-CA")["duty"] == "collect"


def test_a_registration_goes_before_the_rule() -> None:
    """A registered seller collects, whatever its stock means."""
    found = line("US-NY", registration=registered("US-NY"))
    assert (found["duty"], found["reason"]) == ("collect", "us_registered")


def test_the_stock_is_a_finding_with_the_tax_at_stake() -> None:
    """It is never dropped in silence: the finding names it, with the high end of the period, until another duty holds."""
    stock = [{"place": "US-NY", "kind": "stock", "from": date(2026, 1, 1)}]
    rows = orders([dropped("a", "US-NY", ordered_on="2026-05-04")])

    def found(**more: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - values of a profile
        record = assess(rows, seller(presence=stock, **more), period="2026-Q2").record()
        return [f for f in record["findings"] if f["kind"] == "stock_not_counted"]

    (finding,) = found()
    high = assess(rows, seller(presence=stock), period="2026-Q2").lines[ENDS[2]].sum()
    assert finding["place"] == "US-NY"
    assert finding["amount"] == f"{high // 100}.{high % 100:02}"
    assert not found(registration=registered("US-NY"))


def test_a_rule_of_ones_own_that_ends_makes_the_stock_bind_from_its_day(tmp_path: Path) -> None:
    """An own row that ends the rule on 2026-05-01 binds stock from that day, not before."""
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "stock_rules.csv").write_text(
        "place,at_outside_fulfiller,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
        "US-NY,,2026-05-01,yes,memory,unconfirmed,,2026-01-01,invented for this test\n",
        encoding="utf-8",
    )
    stock = [{"place": "US-NY", "kind": "stock", "from": date(2026, 1, 1), "until": date(2026, 6, 30)}]
    days = ("2025-12-31", "2026-04-30", "2026-05-01", "2026-06-30", "2026-07-01")
    rows = [dropped(day, "US-NY", ordered_on=day) for day in days]
    reasons = asked(seller(presence=stock), *rows, tables=tmp_path)["reason"].tolist()
    assert reasons == [
        "us_no_duty",
        "us_stock_no_presence",
        "us_present",
        "us_present",
        "us_no_duty",
    ]
