"""Every state and kind of goods against a plain reading of the rows, in fractions, straight from the CSV files.

It shares no look-up and no arithmetic with the program: rows are read as text, rates as fractions of percent.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

import pytest
from shop import answers, orders, registered, seller
from us_matrix import AS_OF, COLLECT, PRICES, SOLD, STATES

from taxcalc import assess
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.tables.where import folder

if TYPE_CHECKING:
    import pandas as pd

Row = dict[str, str]
LEVELS = ("lowest_percent", "average_percent", "highest_percent")
SHIPPING, POSTAGE = 600, 450


@cache
def in_force(name: str) -> list[Row]:
    """Read the rows of a table that hold on the day of the tests: the last one of each key, unless it is ended."""
    keys = ("place", "product_class", "part", "locality")
    with (folder() / "us" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = sorted(csv.DictReader(file), key=lambda row: row["valid_from"])
    last = {tuple(row.get(key, "") for key in keys): row for row in rows if row["valid_from"] <= str(SOLD)}
    return [row for row in last.values() if row.get("ended") != "yes"]


def of(name: str, state: str) -> Row:
    """Give the one row of a state."""
    (row,) = [row for row in in_force(name) if row["place"] == state]
    return row


def goods_row(state: str, kind: str, part: str) -> Row:
    """Find the row for a kind of goods: the state's own before the country's, a part's own before that of both."""
    places = ((state, kind), (state, "*"), ("US", kind), ("US", "*"))
    for asked in (part, "both"):
        for place, product_class in places:
            for row in in_force("product_rules"):
                key = (row["place"], row["product_class"], row["part"], row["locality"])
                if key == (place, product_class, asked, ""):
                    return row
    raise AssertionError((state, kind, part))


def taxed(row: Row, price: int) -> int:
    """Give how much of the price of one item a row taxes, in cents."""
    limit = int(row["item_price"] or 0) * 100
    if row["treatment"] == "exempt":
        return 0
    if row["treatment"] == "exempt_below_item_price":
        return 0 if price < limit else price
    if row["treatment"] == "taxable_excess_over_item_price":
        return max(price - limit, 0)
    assert row["treatment"] in ("taxable", "exempt_for_some", "higher_rate_over_item_price"), row
    return price


def rounded(value: Fraction) -> int:
    """Round half up."""
    return int(value + Fraction(1, 2))


def plain_tax(state: str, kind: str, price: int) -> list[int]:
    """Give low, expected and high tax on one item without shipping, as a remote seller of the state collects it."""
    own, local = (goods_row(state, kind, part) for part in ("state", "local"))
    rate = Fraction(of("state_rates", state)["state_percent"])
    if own["treatment"] == "higher_rate_over_item_price" and price > int(own["item_price"]) * 100:
        rate = Fraction(own["percent"])
    levels = [max(Fraction(of("local_rates", state)[level]), Fraction(0)) for level in LEVELS]
    flat = [row for row in in_force("flat_rates") if row["place"] == state and row["by"] == "law"]
    if flat:
        levels = [Fraction(flat[0]["flat_percent"]) - rate] * 3
    counties = {row["place"] for row in in_force("product_rules") if row["locality"]}
    at_least = own if state in counties and own["treatment"] != "taxable" else local
    found = [
        rounded((taxed(own, price) * rate + taxed(row, price) * level) / 100)
        for row, level in zip((at_least, local, local), levels, strict=True)
    ]
    return [0, *found[1:]] if own["treatment"] == "exempt_for_some" else found


@pytest.fixture(scope="module")
def goods() -> pd.DataFrame:
    """Assess one item without shipping for each state, kind of goods and price."""
    rows = [
        {"order_id": f"{state} {kind} {price}", "to": state, "product_class": kind, "item_amount": price}
        for state in STATES
        for kind in PRODUCT_CLASSES
        for price in PRICES
    ]
    profile = seller(registration=registered(*STATES))
    return answers(assess(orders(rows, ordered_on=SOLD.isoformat()), profile, as_of=AS_OF))


@pytest.mark.parametrize("state", STATES)
def test_goods_are_taxed_as_the_rows_say(goods: pd.DataFrame, state: str) -> None:
    """No paper: rows of us/product_rules, us/state_rates, us/local_rates and us/flat_rates, read as text."""
    for kind in PRODUCT_CLASSES:
        for price in PRICES:
            found = goods.loc[f"{state} {kind} {price}", list(COLLECT)].tolist()
            assert found == plain_tax(state, kind, int(price.replace(".", ""))), f"{kind} {price}"


def taxed_shipping(state: str, *, avoidable: bool) -> int:
    """Give how much of a shipping charge stated apart is taxed with taxed goods, in cents."""
    row = of("shipping_rules", state)
    free = {
        "exempt_if_stated": True,
        "exempt_by_carrier": True,
        "no_tax": True,
        "local_rules": True,
        "exempt_if_avoidable": avoidable,
        "taxable": False,
        "follows_goods": False,
    }[row["treatment"]]
    if free:
        return SHIPPING - POSTAGE if row["actual_cost_only"] == "yes" else 0
    return SHIPPING


@pytest.mark.parametrize("avoidable", [False, True], ids=["parcels only", "pickup offered"])
def test_shipping_with_taxed_goods_is_taxed_as_the_rows_say(*, avoidable: bool) -> None:
    """No paper: rows of us/shipping_rules, read as text; the state's part of 100.00 and 6.00, of which 4.50 is postage."""
    rows = [
        {
            "order_id": state,
            "to": state,
            "item_amount": "100.00",
            "shipping_amount": "6.00",
            "fulfiller_shipping_cost": "4.50",
            "ordered_on": SOLD.isoformat(),
        }
        for state in STATES
    ]
    profile = seller(registration=registered(*STATES), pickup_offered=avoidable)
    found = answers(assess(orders(rows), profile, as_of=AS_OF)).to_collect_low
    for state in STATES:
        base = 10_000 + taxed_shipping(state, avoidable=avoidable)
        assert found[state] == rounded(base * Fraction(of("state_rates", state)["state_percent"]) / 100), (
            state
        )
