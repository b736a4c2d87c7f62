"""Fees on deliveries: a small block of its own, because they are no tax."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import day, marked, money, printable

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]


def delivery_fees(record: dict[str, Any]) -> Pieces:
    """Show the fees that may be due; where there are none, nothing is shown and the record has the reason."""
    due = [row for row in record.get("delivery_fees", []) if row["since_liable"]["orders"]["high"]]
    if not due:
        return []
    columns = [
        Column("Place"),
        Column("Due since"),
        Column("Orders", number=True),
        Column("In the period", number=True),
        Column("Since then", number=True),
    ]
    words = (
        "A fee for each order, no tax and in no other figure. A seller is free by its sales into the state in the "
        "calendar year before; sales through a marketplace are the marketplace's. Low leaves out orders that were refunded in "
        "full, where it is not known that the fee stays."
    )
    rows = [_row(row, record["currency"]) for row in due]
    return [*heading("Fees on deliveries"), paragraph(words), *figures(columns, rows, due[0]["caution"])]


def _row(row: Row, currency: str) -> list[Cell]:
    """Write one fee; the orders are those since it may be due."""
    since, orders = row["since_liable"], row["since_liable"]["orders"]
    sold = f"sales of the year before: {money(row['sales_previous_year'], row['limit_currency'])}"
    begun = row["liable_from"] or row["may_be_liable_from"]
    spanned = [str(count) for count in sorted(set(orders.values()))]
    return [
        stacked(marked(row), printable(row["fee"]), sold),
        day(begun) if begun else "",
        " to ".join(spanned),
        spread(row["period"]["amount"], currency),
        spread(since["amount"], currency),
    ]
