"""Orders of the same lines in every state for every kind of goods, assessed together: what the laws of the states are held on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from shop import fulfiller, orders, registered, seller
from us_matrix import AS_OF, CHARGED, COLLECT, SOLD, STATES

from taxcalc import assess, places
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.days import number
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from datetime import date

FEW = settings(
    max_examples=3,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.target],
    suppress_health_check=[HealthCheck.too_slow],
)
"""Few examples, as each asks 561 cells; without shrinking, as the cell that fails says which rule it was."""

CELLS = [(state, kind) for state in STATES for kind in PRODUCT_CLASSES]
ENDS = (*COLLECT, *CHARGED)
SHOP = seller(registration=registered(*STATES), fulfiller=[fulfiller(collects_in="all")])
BY_ORDER = seller(registration=registered(*STATES), rounding="order")
NEAR_LIMITS = sorted({limit + step for limit in (11_000, 17_500, 25_000, 100_000) for step in (-1, 0, 1)})

amounts = st.one_of(st.integers(1, 200_000), st.sampled_from(NEAR_LIMITS))
small = st.integers(0, 2_500)
quantities = st.integers(1, 5)


def money(cents: int) -> str:
    """Write cents as an amount."""
    return f"{cents // 100}.{cents % 100:02}"


def line(
    goods: int, shipping: int = 0, cost: int = 0, postage: int = 0, quantity: int = 1, **more: str
) -> dict[str, str]:
    """Write one line of an order, without state and kind of goods."""
    return {
        "item_amount": money(goods),
        "shipping_amount": money(shipping),
        "fulfiller_item_cost": money(cost),
        "fulfiller_shipping_cost": money(postage),
        "quantity": str(quantity),
        **more,
    }


def in_every_cell(
    profile: dict[str, Any],
    day: date = SOLD,
    cells: list[tuple[str, str]] = CELLS,
    **named: list[dict[str, str]],
) -> pd.DataFrame:
    """Assess orders of these lines, sold on a day, in every cell.

    Gives a frame with an index of (state, kind) and columns of (end of the tax, name of the order), in cents.
    """
    rows = [
        {
            "order_id": f"{state} {kind} {name}",
            "line_id": str(at),
            "to": state,
            "product_class": kind,
            "ordered_on": day.isoformat(),
            **each,
        }
        for state, kind in cells
        for name, lines in named.items()
        for at, each in enumerate(lines)
    ]
    found = assess(orders(rows), profile, as_of=AS_OF)
    assert found.set_aside.empty
    sums = found.lines.groupby("order_id")[list(ENDS)].sum()
    sums.index = pd.MultiIndex.from_tuples([tuple(name.split()) for name in sums.index])
    return sums.unstack().reindex(cells)  # noqa: PD010 - the last level becomes columns


def delivery_in_item_price() -> list[tuple[str, str]]:
    """List the cells in which delivery belongs to the price of the items, by the rows of us/product_rules."""
    tables, day = load_tables(), number(SOLD)
    goods = tables["us/product_rules"]
    found = []
    for state, kind in CELLS:
        rows = [
            goods.row(day, place=places.index(state), product_class=PRODUCT_CLASSES.index(kind), part=part)
            for part in ("both", "state")
        ]
        if any(row >= 0 and goods["delivery_in_item_price"][row] for row in rows):
            found.append((state, kind))
    return found


def highest_rates(on: date = SOLD) -> dict[str, pd.Series]:
    """Give the rate in ppm that the tax of a state cannot pass, by end: its own (or its higher one) and the local one."""
    tables = load_tables()
    day, where = number(on), np.array([places.index(state) for state in STATES], np.int16)
    state_rows = tables["us/state_rates"].lookup(day, place=where)
    own = tables["us/state_rates"]["state_percent"][state_rows].astype(np.int64)
    goods = tables["us/product_rules"]
    dearer = [max([0, *goods["percent"][goods.rows(place=state)]]) for state in STATES]
    own = np.maximum(own, np.array(dearer, np.int64))
    local_rows = tables["us/local_rates"].lookup(day, place=where)
    lowest, average, highest = (
        tables["us/local_rates"][f"{name}_percent"][local_rows].astype(np.int64)
        for name in ("lowest", "average", "highest")
    )
    by_end = (lowest, np.maximum(average, lowest), np.maximum(highest, average))
    found = {
        end: pd.Series(own + by_end[at % 3], STATES).reindex([state for state, _ in CELLS]).set_axis(CELLS)
        for at, end in enumerate(ENDS)
    }
    fixed = tables["us/class_local_rates"]
    for row in fixed.rows():
        cell = places.code(int(fixed["place"][row])), PRODUCT_CLASSES[fixed["product_class"][row]]
        for rates in found.values():
            rates[cell] = own[STATES.index(cell[0])] + int(fixed["local_percent"][row])
    return found
