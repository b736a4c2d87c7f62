"""State and average local rates against what their publisher says of them in words: highest, lowest, none.

The facts of the tables came as a list of rates without totals. The totals here are from memory of the text that the
publisher (a research body) puts beside its table of January 2026, not read again.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import numpy as np
import pytest

from taxcalc import places
from taxcalc.days import number
from taxcalc.tables.load import load_tables

DAY = number(date(2026, 1, 1))
OTHERS = {"US-PR", "US-DC", "US-AA", "US-AE", "US-AP"}
"""Places with rows of their own that are no states."""
STATES = [code for code in places.codes() if code.startswith("US-") and code not in OTHERS]


def percent(name: str, column: str) -> dict[str, Decimal]:
    """Give a column of a table of January 2026 by state, in percent; states without a row are left out."""
    table = load_tables()[name]
    where = np.array([places.index(code) for code in STATES], np.int16)
    rows = table.lookup(np.int32(DAY), place=where)
    found = zip(STATES, rows.tolist(), strict=True)
    return {code: Decimal(int(table[column][row])) / 10_000 for code, row in found if row >= 0}


@pytest.fixture(scope="module")
def state() -> dict[str, Decimal]:
    """State rates; California, Utah and Virginia with the local part that is due everywhere."""
    return percent("us/state_rates", "state_percent")


def test_fifty_states_have_both_rates(state: dict[str, Decimal]) -> None:
    assert len(state) == 50
    assert percent("us/local_rates", "average_percent").keys() == state.keys()


def test_the_five_highest_combined_averages_are_those_published(state: dict[str, Decimal]) -> None:
    """From memory: Louisiana 10.11, Tennessee 9.61, Washington 9.51, Arkansas and Alabama 9.46."""
    local = percent("us/local_rates", "average_percent")
    combined = {code: rate + local[code] for code, rate in state.items()}
    highest = sorted(combined, key=lambda code: combined[code], reverse=True)[:5]
    assert {code: str(combined[code]) for code in highest} == {
        "US-LA": "10.11",
        "US-TN": "9.61",
        "US-WA": "9.51",
        "US-AR": "9.46",
        "US-AL": "9.46",
    }


def test_the_highest_and_lowest_state_rates_are_those_published(state: dict[str, Decimal]) -> None:
    """From memory: California 7.25; Indiana, Mississippi, Rhode Island, Tennessee 7; Colorado 2.9 the lowest but none."""
    assert {code for code, rate in state.items() if rate == max(state.values())} == {"US-CA"}
    assert state["US-CA"] == Decimal("7.25")
    assert {code for code, rate in state.items() if rate == 7} == {"US-IN", "US-MS", "US-RI", "US-TN"}
    charged = {code: rate for code, rate in state.items() if rate}
    assert min(charged, key=lambda code: charged[code]) == "US-CO"
    assert state["US-CO"] == Decimal("2.9")


def test_five_states_have_no_tax_of_the_state(state: dict[str, Decimal]) -> None:
    """From memory: Alaska, Delaware, Montana, New Hampshire and Oregon; local tax only in Alaska."""
    none = {code for code, rate in state.items() if not rate}
    assert none == {"US-AK", "US-DE", "US-MT", "US-NH", "US-OR"}
    local = percent("us/local_rates", "average_percent")
    assert {code for code in none if local[code]} == {"US-AK"}
