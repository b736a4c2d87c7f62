"""What customers may be asked for at the door: a short section of its own, in no other figure."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread
from taxcalc.reports.words import count, money, place, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
SHOWN = 5
"""Places that get a line; the record has all of them."""


def at_the_door(record: dict[str, Any]) -> Pieces:
    """Show what the customers of the largest places may be asked for, the sum, and what the import scheme spares."""
    found = record.get("at_the_door")
    if not found:
        return []
    pieces = heading("What customers may be asked for at the door")
    pieces.append(paragraph(
        "Parcels from outside the European Union, with import VAT, the flat customs duty and fees of single states as far as "
            "they are known. The customer pays this to the carrier; it is in no other figure."
    ))  # fmt: skip
    columns = [
        Column("Into"),
        *(
            Column(words, number=True)
            for words in ("Parcels", "Goods and shipping", "Import VAT", "Duty and fees", "At the door")
        ),
    ]
    euro, asked, spared = found["currency"], found["asked"], found["spared_by_scheme"]
    ordered = sorted(found["places"], key=lambda row: -Decimal(row["at_the_door"]["expected"]))
    rows = [_row(place(row), row, euro) for row in ordered[:SHOWN]]
    if asked and len(ordered) > 1:
        rows.append(_row(f"All {len(ordered)} places", asked, euro))
    if spared:
        rows.append(_row("Without your import scheme", spared["without_scheme"], euro))
    return [*pieces, *figures(columns, rows, found["caution"], _below(found, euro))]


def _row(words: str, row: Row, euro: str) -> list[Cell]:
    """Write one line."""
    return [
        words,
        count(row["parcels"]),
        money(row["price"], euro),
        spread(row["import_vat"], euro),
        spread(row["duty_and_fees"], euro),
        spread(row["at_the_door"], euro),
    ]


def _below(found: Row, euro: str) -> str:
    """Say what is not in the table, and what is due under the scheme all the same."""
    said = [
        f"Not known and in no figure: the carrier's own fee{_above(found)}.",
        "Assumed: one customs classification for each kind of goods in a parcel, one parcel for an order.",
    ]
    spared = found["spared_by_scheme"]
    if spared and Decimal(spared["duty_and_fees_all_the_same"]["expected"]):
        duty = money(spared["duty_and_fees_all_the_same"]["expected"], euro)
        said.append(f"The scheme spares the VAT only: its parcels bear duty and fees of {duty} all the same.")
    if found["not_in_force"]:
        said.append("Charges that are planned or put off are not counted; record.json names their rows.")
    return " ".join(said)


def _above(found: Row) -> str:
    """Name the parcels for which the tariff's duty is not computed."""
    above = found["asked"]["above_limit"] if found["asked"] else 0
    return (
        f", and the tariff's customs duty on {several(above, 'parcel')} above the value limit"
        if above
        else ""
    )
