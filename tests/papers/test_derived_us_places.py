"""United States, where the place of the address decides: our own arithmetic from a published rule or rate."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import asked, registered, seller

from taxcalc.local_rates.add import add_local
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from pathlib import Path

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]


@pytest.fixture(scope="module")
def new_york(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give rows of our own: New York City with its 8.875 %, and a county with 4 % of its own on the state's 4 %."""
    where = tmp_path_factory.mktemp("rates")
    header = "state,postal_code,rate_percent,valid_from,valid_to,source"
    rows = ("NY,10001,8.875,2020-01-01,,the examples below", "NY,12207,8,2020-01-01,,the examples below")
    (where / "rates.csv").write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    add_local([where / "rates.csv"], where / "own", load_tables(), date(2026, 11, 25))
    return where / "own"


@pytest.mark.source("ny-pub-718-c", "ny-tsb-m-06-6-s")
@pytest.mark.parametrize(
    ("to", "price", "cents"),
    [
        pytest.param(
            "US-NY 10001", "109.99", 0, id="New York City below 110: the commuter district part too"
        ),
        pytest.param("US-NY 10001", "110.00", 976, id="New York City at 110: 8.875 %"),
        pytest.param("US-NY 12207", "40.00", 160, id="a county that did not elect: its 4 %"),
        pytest.param("US-NY 12207", "110.00", 880, id="the same county at 110: 8 %"),
    ],
)
def test_new_york_clothing_where_the_rate_of_the_place_is_known(
    new_york: Path, to: str, price: str, cents: int
) -> None:
    """New York, Publication 718-C and TSB-M-06(6)S: derived; with the rate of the address no range is left.

    The 0.375 % of the commuter district is off only inside localities that elected, as New York City did.
    """
    row = {"to": to, "item_amount": price, "product_class": "clothing"}
    found = asked(seller(registration=registered("US-NY")), row, tables=new_york)
    assert found[ENDS].to_numpy().tolist() == [[cents] * 3]


@pytest.mark.source("id-code-63-3611")
def test_idaho_remote_sellers_collect_no_local_tax() -> None:
    """Idaho Code 63-3611(3)(h): stated; 6 % of 100.00 is derived. A seller that is present there may owe more."""
    row = {"to": "US-ID", "item_amount": "100.00"}
    assert asked(seller(registration=registered("US-ID")), row)[ENDS].to_numpy().tolist() == [[600] * 3]
    present = seller(presence=[{"place": "US-ID", "kind": "premises", "from": date(2020, 1, 1)}])
    line = asked(present, row).iloc[0]
    assert line.to_collect_low == 600
    assert line.to_collect_high > 600


FLAT: dict[str, tuple[str, str, int]] = {
    "US-IL": ("2020-12-31", "2021-01-01", 625),
    "US-NM": ("2021-06-30", "2021-07-01", 513),
    "US-LA": ("2020-06-30", "2020-07-01", 845),
    "US-TX": ("2019-10-01", "2019-09-30", 800),
}
"""By state: a day with a flat rate, the day beside it without, and the tax on 100.00 at that rate."""


@pytest.mark.source("tx-comptroller-single-local-rate")
@pytest.mark.parametrize("state", FLAT)
def test_a_flat_rate_holds_from_its_first_to_its_last_day(state: str) -> None:
    """Texas, Single Local Use Tax Rate from 1 October 2019: stated; the last days of the others are from memory.

    Derived: 6.25 % in Illinois and 5.125 % in New Mexico by law, 8.45 % in Louisiana and 6.25 + 1.75 % in Texas by choice.
    """
    inside, outside, tax = FLAT[state]
    chosen = [{"name": "flat_rate", "place": state, "from": date(2018, 7, 1)}]
    profile = seller(registration=registered(state), election=chosen if state in ("US-LA", "US-TX") else [])
    rows = [
        {"order_id": day, "to": state, "item_amount": "100.00", "ordered_on": day}
        for day in (inside, outside)
    ]
    found = asked(profile, *rows)[ENDS]
    assert found.loc[inside].tolist() == [tax] * 3
    assert found.loc[outside, "to_collect_low"] < found.loc[outside, "to_collect_high"]
