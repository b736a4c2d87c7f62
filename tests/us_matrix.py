"""A picture of the rules of the United States: every state by every kind of goods at three prices, as a table of text.

`python tests/us_matrix.py` writes `tests/pictures/us_matrix.txt` again; `test_us_pictures.py` compares the two. The
picture shows that something moved, never that it is right: results of published papers stand in `tests/papers/`.
"""

from __future__ import annotations

import sys
import textwrap
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pycountry
from shop import answers, orders, registered, seller

from taxcalc import assess, places
from taxcalc.caution import CAUTION
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.money import PPM

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pandas as pd

PICTURE = Path(__file__).parent / "pictures" / "us_matrix.txt"
COMMAND = "python tests/us_matrix.py"
STATES = tuple(
    sorted(
        item.code
        for item in pycountry.subdivisions.get(country_code="US")
        if item.type in ("State", "District")
    )
)
"""The fifty states and the District of Columbia, by ISO 3166-2 (package pycountry)."""

PRICES = ("100.00", "200.00", "1100.00")
"""On both sides of every price per item that a state's rule names: 110, 175, 250 and 1000."""

SHOWN = PRICES[1]
"""The order whose tax on the fulfiller's sale is shown."""

SOLD = date(2026, 10, 14)
AS_OF = date(2026, 10, 20)
COLLECT = ("to_collect_low", "to_collect", "to_collect_high")
CHARGED = ("fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high")
MADE_UP = (
    "Made up: one item at the price that heads the column and 6.00 of shipping stated apart, sold and sent on "
    f"{SOLD}, a day without a sales-tax holiday, by a shop in Oregon that is registered in every state. A fulfiller in "
    "Indiana that collects everywhere and holds no document bills 60.00 and 4.50 of transport; its tax is that on the "
    f"order of {SHOWN}."
)
READING = (
    f"Amounts in dollars: low, expected, high. Written by `{COMMAND}`. A line that changes is a rule that changed: "
    "read it against the paper of the new row before you write the picture again."
)


def assessed() -> pd.DataFrame:
    """Assess one order a state, kind of goods and price, by the public call."""
    rows = [
        {
            "order_id": f"{state} {kind} {price}",
            "to": state,
            "product_class": kind,
            "item_amount": price,
            "shipping_amount": "6.00",
            "fulfiller_item_cost": "60.00",
            "fulfiller_shipping_cost": "4.50",
            "ordered_on": SOLD.isoformat(),
        }
        for state in STATES
        for kind in PRODUCT_CLASSES
        for price in PRICES
    ]
    return answers(assess(orders(rows), seller(registration=registered(*STATES)), as_of=AS_OF))


def picture() -> list[str]:
    """Give the lines of the picture."""
    found = assessed().to_dict("index")
    return [
        "United States: what the shop should collect and its fulfiller may charge, by state and kind of goods",
        *textwrap.wrap(CAUTION, 118),
        "",
        *textwrap.wrap(MADE_UP, 118),
        *textwrap.wrap(READING, 118),
        "",
        _heads(),
        *(line for state in STATES for line in _state(state, found)),
    ]


def _heads() -> str:
    """Name the columns."""
    prices = " | ".join(f"{price:>23}" for price in PRICES)
    return f"{'state kind of goods':23} | {prices} | {'duty, reason':29} | {'fulfiller':>20} | rules on goods; on shipping"


def _state(state: str, found: dict[str, dict[str, object]]) -> Iterator[str]:
    """Give the heading of a state with its rates, then one line a kind of goods."""
    shown = [found[f"{state} {kind} {SHOWN}"] for kind in PRODUCT_CLASSES]
    rate = _several(f"state {_percent(line['state_ppm'])} %, local {_local(line)} %" for line in shown)
    yield ""
    yield f"{state} {places.name(state)}: {rate}; {_several(line['fulfiller_reason'] for line in shown)}"
    for kind in PRODUCT_CLASSES:
        lines = [found[f"{state} {kind} {price}"] for price in PRICES]
        prices = " | ".join(" ".join(_dollars(line[end], 7) for end in COLLECT) for line in lines)
        charged = " ".join(_dollars(found[f"{state} {kind} {SHOWN}"][end], 6) for end in CHARGED)
        duty = _several(f"{line['duty']}, {line['reason']}" for line in lines)
        yield f"{state} {kind:17} | {prices} | {duty:29} | {charged} | {_rules(lines[0])}"


def _several(words: Iterable[object]) -> str:
    """Join what differs; mostly nothing does."""
    return " or ".join(dict.fromkeys(map(str, words)))


def _local(line: dict[str, object]) -> str:
    """Give the local rates: low, expected, high."""
    return " ".join(_percent(line[f"local_ppm{end}"]) for end in ("_low", "", "_high"))


def _rules(line: dict[str, object]) -> str:
    """Name the rules of a kind of goods: those of state and locality where they differ, and of shipping."""
    state, local, limit = line["item_rule"], line["local_item_rule"], int(str(line["item_limit"]))
    goods = state if state == local else f"state {state}, local {local}"
    return f"{goods}{f' {limit // 100}' if limit > 0 else ''}; {line['shipping_rule']}"


def _percent(ppm: object) -> str:
    """Write a rate as the law prints it."""
    whole, part = divmod(int(str(ppm)), PPM // 100)
    return f"{whole}.{part:04}".rstrip("0").rstrip(".")


def _dollars(cents: object, width: int) -> str:
    """Write cents as dollars."""
    whole, part = divmod(int(str(cents)), 100)
    return f"{whole}.{part:02}".rjust(width)


def write() -> None:
    """Write the picture."""
    PICTURE.write_text("\n".join(picture()) + "\n", encoding="utf-8")
    sys.stderr.write(f"wrote {PICTURE.relative_to(PICTURE.parents[2])}\n")


if __name__ == "__main__":
    write()
