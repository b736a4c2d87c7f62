"""Prices to consumers in the Union: what the same ones leave in some states, and what prices without VAT lack."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread
from taxcalc.reports.words import money, place, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
MARKETS = 3
"""States with the largest sales that get a line, besides the one that leaves most and the one that leaves least."""
SHOWN = 5
"""Places of sales without VAT that get a line; the record has all of them."""


def same_price(record: dict[str, Any]) -> Pieces:
    """Show what the period's prices leave in the largest markets, and where most and least is left."""
    found = record.get("same_price")
    if not found:
        return []
    currency = found["currency"]
    columns = [
        Column("If all were taxed in"),
        *(Column(words, number=True) for words in ("VAT inside", "Left without VAT", "Left of an order")),
    ]
    words = (
        f"Your prices to consumers in the Union contain VAT: {money(found['gross'], currency)} for "
        f"{several(found['orders'], 'order')} of the period, {money(found['gross_of_an_order'], currency)} each on average. The "
        "customer pays the same everywhere; what is left to you depends on the state that taxes the sale."
    )
    rows: list[list[Cell]] = [
        [
            f"{place(row)}{note}",
            money(row["vat"], currency),
            money(row["net"], currency),
            money(row["net_of_an_order"], currency),
        ]
        for row, note in _chosen(found["states"])
    ]
    return [
        *heading("What the same prices leave in each member state"),
        paragraph(words),
        *figures(columns, rows, found["caution"], f"All {len(found['states'])} are in record.json."),
    ]


def _chosen(states: list[Row]) -> list[tuple[Row, str]]:
    """Choose the states that are shown, the one that leaves most first."""
    ordered = sorted(states, key=lambda row: (-Decimal(row["net"]), row["place"]))
    sold = [row for row in states if Decimal(row["sold"])]
    markets = sorted(sold, key=lambda row: (-Decimal(row["sold"]), row["place"]))[:MARKETS]
    most, least = ordered[0], ordered[-1]
    notes = {most["place"]: ", most is left", least["place"]: ", least is left"}
    shown = {row["place"] for row in (most, least, *markets)}
    return [(row, notes.get(row["place"], "")) for row in ordered if row["place"] in shown]


def priced_without_vat(record: dict[str, Any]) -> Pieces:
    """Show both readings of sales priced without VAT on which nothing was collected."""
    found = record.get("priced_without_vat")
    if not found:
        return []
    currency = record["currency"]
    columns = [
        Column("Place"),
        *(Column(words, number=True) for words in ("Sales", "VAT on top", "VAT out of the price")),
    ]
    ordered = sorted(found["places"], key=lambda row: (-Decimal(row["on_top"]["expected"]), row["place"]))
    rows = [_row(place(row), row, currency) for row in ordered[:SHOWN]]
    if len(ordered) > 1:
        rows.append(_row(f"All {len(ordered)} places", found["total"], currency))
    words = (
        "Nothing was collected on these sales of the period. Either the price is without VAT and the VAT is missing on top (the "
        "other figures take it so), or it cannot be asked of your customers afterwards and comes out of the price. Which "
        "holds is a matter for a professional."
    )
    return [
        *heading("Sold to consumers in the Union at prices without VAT"),
        paragraph(words),
        *figures(columns, rows, found["caution"]),
    ]


def _row(words: str, row: Row, currency: str) -> list[Cell]:
    """Write one line."""
    return [
        words,
        money(row["sales"], currency),
        spread(row["on_top"], currency),
        spread(row["out_of_the_price"], currency),
    ]
