"""Running totals: they rise to the value that the limit shows, and cross it when the limit says so."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any

from example import record
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import net_sale, orders, union_seller

from taxcalc.run import assess


def numbers(row: dict[str, Any]) -> list[Decimal]:
    """Give the steps of a limit."""
    return [Decimal(str(step["value"])) for step in row["steps"]]


def key(row: dict[str, Any]) -> tuple[str, str, str]:
    """Tell limits apart."""
    return row["place"], row["measure"], row["row_ids"]


def limit_of(found: dict[str, Any], row: dict[str, Any]) -> dict[str, Any]:
    """Give the limit that a running total is of."""
    (limit,) = (one for one in found["thresholds"] if key(one) == key(row))
    return limit


def test_the_last_step_is_the_value_of_the_limit() -> None:
    """On the last day of the window so far; steps never fall, since refunds do not count."""
    found = record()
    assert {row["place"] for row in found["running_totals"]} == {
        row["place"] for row in found["thresholds"] if row["status"] != "clear"
    }
    for row in found["running_totals"]:
        limit = limit_of(found, row)
        assert str(row["steps"][-1]["value"]) == str(limit["value"])
        assert row["steps"][-1]["on"] == min(row["window_end"], found["as_of"])
        assert all(before <= after for before, after in pairwise(numbers(row)))


def test_the_limit_is_passed_in_the_week_in_which_it_was_crossed() -> None:
    """Not a week before."""
    found = record()
    crossed = [row for row in found["running_totals"] if limit_of(found, row)["crossed_on"]]
    assert crossed
    for row in crossed:
        limit = limit_of(found, row)
        reached = next(
            step for step in row["steps"] if Decimal(str(step["value"])) >= Decimal(str(row["limit"]))
        )
        assert 0 <= (date.fromisoformat(reached["on"]) - date.fromisoformat(limit["crossed_on"])).days < 7


@given(st.lists(st.tuples(st.integers(0, 170), st.integers(1, 4000)), min_size=1, max_size=12))
@settings(max_examples=15, deadline=None)
def test_a_seller_in_the_union_is_followed_along_its_one_limit(sales: list[tuple[int, int]]) -> None:
    """Net at home up to the crossing and net on arrival after it, as the limit's own value is."""
    first = date(2026, 1, 5).toordinal()
    rows = [
        net_sale(str(number), "FR", f"{amount}.00", date.fromordinal(first + day).isoformat(), sent_from="DE")
        for number, (day, amount) in enumerate(sales)
    ]
    found = assess(orders(rows), union_seller("DE")).record()
    union = [row for row in found["thresholds"] if row["place"] == "EU"]
    followed = [row for row in found["running_totals"] if row["place"] == "EU"]
    assert len(followed) == sum(row["status"] != "clear" for row in union)
    for row in followed:
        assert row["steps"][-1]["value"] == limit_of(found, row)["value"]
