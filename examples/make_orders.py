"""Write the orders of the invented shop: orders-2024.csv, orders-2025.csv and orders-2026.csv.

    python examples/make_orders.py [FOLDER]

Every run writes the same bytes: one seed, whole cents, no clock. The shop stands in `invented_shop.py`, its
orders in `invented_orders.py`, the rows that are wrong on purpose in `spoil` below.
"""

from __future__ import annotations

import csv
import random
import sys
from datetime import UTC, date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import invented_shop as shop
from invented_orders import LAST_DAY, MONEY, ORDERS, Row, all_rows

SEED = 20_261_020
HOME = ZoneInfo("America/Los_Angeles")

COLUMNS = (
    "order_id", "line_id", "ordered_on", "supplied_on", "entry", "original_ordered_on", "currency",
    "ship_to_country", "ship_to_region", "ship_to_postal_code", "product_class", "sku", "description",
    "quantity", "item_amount", "shipping_amount", "tax_included", "tax_collected", "channel", "marketplace",
    "buyer_tax_number", "buyer_exempt", "fulfiller_item_cost", "fulfiller_shipping_cost",
    "fulfiller_tax_charged", "fulfiller_currency", "ship_from_country", "ship_from_region",
)  # fmt: skip
HEADERS_2026 = {
    "order_id": "Order no",
    "line_id": "Line no",
    "ordered_on": "Placed at",
    "ship_to_region": "Ship to state",
    "tax_collected": "Tax charged",
}
"""The shop changed its export in 2026; columns.toml leads these headers back to the canonical ones."""


def written(value: object) -> str:
    """Write a value as the export does; amounts are done before."""
    return "" if value is None else str(value)


def in_cents(cents: object) -> str:
    """Write an amount with a point and two decimals."""
    if not isinstance(cents, int):
        return ""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def exported(row: Row) -> dict[str, str]:
    """Write a row as text, under canonical headers."""
    return {c: in_cents(row.get(c)) if c in MONEY else written(row.get(c)) for c in COLUMNS}


def in_new_export(chance: random.Random, rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """Turn rows into the 2026 form: time in UTC instead of a local day, states by name."""
    names = {state.code: state.name for state in shop.STATES}
    clock: dict[tuple[str, str], str] = {}
    for row in rows:
        key = (row["order_id"], row["ordered_on"])
        if key not in clock:
            at = time(chance.randint(6, 23), chance.randrange(60), chance.randrange(60))
            local = datetime.combine(date.fromisoformat(row["ordered_on"]), at, HOME)
            clock[key] = local.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    return [
        row
        | {
            "ordered_on": clock[row["order_id"], row["ordered_on"]],
            "ship_to_region": names[row["ship_to_region"]]
            if row["ship_to_country"] == "US"
            else row["ship_to_region"],
        }
        for row in rows
    ]


def spoil(files: dict[int, list[dict[str, str]]]) -> None:
    """Add the rows that are wrong on purpose, copies of sound ones with one slip each."""
    slips: tuple[tuple[int, int, dict[str, str]], ...] = (
        (2024, 120, {"order_id": "QL-X01", "ordered_on": "2024-02-31"}),
        (2024, 410, {"order_id": "QL-X02", "ship_to_country": ""}),
        (2024, 800, {"order_id": "QL-X03", "item_amount": "12,5O"}),
        (2025, 300, {"order_id": "QL-X04", "product_class": "mugs & more"}),
        (2025, 638, {"order_id": "QL-X05", "ship_to_region": "TX", "ship_to_postal_code": "98101"}),
        (2025, 900, {}),
        (2025, 1500, {"order_id": "QL-X06", "quantity": "0"}),
        (2026, 200, {"order_id": "QL-X07", "currency": "USX"}),
        (2026, 700, {"order_id": "QL-X08", "item_amount": ""}),
        (2026, 1100, {"item_amount": "19.99"}),
    )
    for year, index, slip in reversed(slips):
        files[year].insert(index + 1, files[year][index] | slip)


def write(path: Path, rows: list[dict[str, str]], headers: dict[str, str]) -> None:
    """Write one export, with the same line ends on every system."""
    with path.open("w", encoding="utf-8", newline="") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow([headers.get(column, column) for column in COLUMNS])
        table.writerows([row[column] for column in COLUMNS] for row in rows)


def main() -> None:
    """Write the three exports into the folder given, or beside this script."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    chance = random.Random(SEED)
    files: dict[int, list[dict[str, str]]] = {year: [] for year in ORDERS}
    for row in all_rows(chance):
        text = exported(row)
        files[int(text["ordered_on"][:4])].append(text)
    files[2026] = in_new_export(chance, files[2026])
    spoil(files)
    for year, rows in files.items():
        write(folder / f"orders-{year}.csv", rows, HEADERS_2026 if year == LAST_DAY.year else {})


if __name__ == "__main__":
    main()
