"""The canonical order columns (what a user gives) and the canonical lines (what intake makes of them).

`COLUMNS` describes the input, one entry a column; intake, its messages and the template of the column map are
derived from it. `LINE_SCHEMA` is the one form in which lines travel through the program: no nulls, codes and
integers only, so that every column is a NumPy array without a copy. Everything that is blank on input and may
stay blank is told apart by `blanks`, a bit mask with the bits of `BLANK`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, IntFlag
from typing import Literal

Kind = Literal[
    "id",
    "day",
    "entry",
    "currency",
    "country",
    "region",
    "postal_code",
    "product_class",
    "text",
    "quantity",
    "amount",
    "yes_no",
    "channel",
    "buyer_exempt",
]


@dataclass(frozen=True)
class Column:
    """One canonical order column. `currency` names the column that holds the currency of an amount."""

    name: str
    kind: Kind
    meaning: str
    required: bool = False
    currency: str | None = None


COLUMNS: tuple[Column, ...] = (
    Column("order_id", "id", "number of the order, as text", required=True),
    Column(
        "line_id",
        "id",
        "number of the line inside its order; without this column identical rows are separate lines",
    ),
    Column(
        "ordered_on",
        "day",
        "ISO date or timestamp; a timestamp is dated in the profile's time zone",
        required=True,
    ),
    Column("supplied_on", "day", "dispatch day or tax point where it differs from ordered_on"),
    Column("entry", "entry", "sale (default), refund, or sample (the seller's own order)"),
    Column("original_ordered_on", "day", "day of the refunded sale where the sale is not in the file"),
    Column("currency", "currency", "ISO 4217 code of the amounts charged to the customer", required=True),
    Column("ship_to_country", "country", "where the goods arrive: ISO code or name", required=True),
    Column("ship_to_region", "region", "state or region of arrival: ISO code or name"),
    Column("ship_to_postal_code", "postal_code", "postal code of arrival, as text"),
    Column("product_class", "product_class", "what kind of goods; blank is `other`"),
    Column("description", "text", "free text, never needed for a figure"),
    Column("sku", "text", "free text, never needed for a figure"),
    Column("quantity", "quantity", "whole number of items, default 1"),
    Column(
        "item_amount",
        "amount",
        "charged for the goods of the line after discounts, without shipping",
        required=True,
        currency="currency",
    ),
    Column("shipping_amount", "amount", "charged for shipping on this line", currency="currency"),
    Column("tax_included", "yes_no", "whether the two amounts contain the tax; default from the profile"),
    Column("tax_collected", "amount", "tax charged to the customer", currency="currency"),
    Column("channel", "channel", "own (default) or marketplace"),
    Column("marketplace", "text", "id of the marketplace"),
    Column("buyer_tax_number", "text", "a business buyer's VAT number"),
    Column("buyer_exempt", "buyer_exempt", "no (default), resale or exempt"),
    Column("fulfiller", "text", "id of the fulfiller, default `main`"),
    Column(
        "fulfiller_item_cost",
        "amount",
        "billed by the fulfiller for the goods of this line, without tax; on a refund what it gave back, blank for nothing",
        currency="fulfiller_currency",
    ),
    Column(
        "fulfiller_shipping_cost",
        "amount",
        "billed by the fulfiller for shipping, without tax",
        currency="fulfiller_currency",
    ),
    Column(
        "fulfiller_tax_charged",
        "amount",
        "tax billed by the fulfiller; on a refund what it gave back, blank where that is not known",
        currency="fulfiller_currency",
    ),
    Column(
        "fulfiller_currency",
        "currency",
        "ISO 4217 code of the fulfiller's amounts, default the line's currency",
    ),
    Column("ship_from_country", "country", "where the goods started; default from the profile"),
    Column("ship_from_region", "region", "state or region where the goods started"),
)

BY_NAME: dict[str, Column] = {column.name: column for column in COLUMNS}
REQUIRED: tuple[str, ...] = tuple(column.name for column in COLUMNS if column.required)
AMOUNTS: tuple[str, ...] = tuple(column.name for column in COLUMNS if column.kind == "amount")
AMOUNT_CURRENCY: dict[str, str] = {c.name: c.currency for c in COLUMNS if c.currency is not None}

PRODUCT_CLASSES: tuple[str, ...] = (
    "clothing",
    "clothing_children",
    "headwear",
    "footwear",
    "accessories",
    "homeware",
    "wall_art",
    "books",
    "stationery",
    "digital",
    "other",
)
PRODUCT_WORDS: dict[str, str] = {
    "clothing": "clothing",
    "clothing_children": "children's clothing",
    "headwear": "hats and caps",
    "footwear": "footwear",
    "accessories": "bags and accessories",
    "homeware": "homeware",
    "wall_art": "pictures and posters",
    "books": "books",
    "stationery": "stationery",
    "digital": "digital goods",
    "other": "other goods",
}


class Entry(IntEnum):
    """What a line is."""

    SALE = 0
    REFUND = 1
    SAMPLE = 2


class Channel(IntEnum):
    """Through whom the line was sold."""

    OWN = 0
    MARKETPLACE = 1


class Buyer(IntEnum):
    """What the seller's own record says of the buyer (a VAT number is kept apart, in `buyer_number`)."""

    CONSUMER = 0
    RESALE = 1
    EXEMPT = 2


class Blank(IntFlag):
    """Bits of `blanks`: which optional values were blank on input (their number is then 0)."""

    SHIPPING_AMOUNT = 1
    TAX_COLLECTED = 2
    FULFILLER_ITEM_COST = 4
    FULFILLER_SHIPPING_COST = 8
    FULFILLER_TAX_CHARGED = 16


NO_DAY = -(2**31)
"""An int32 day that is not there (`original_day`)."""

TAX_INCLUDED_BY_PROFILE = -1
"""`tax_included` of a line that leaves the answer to the profile (0 no, 1 yes)."""

NO_NUMBER = 0
BAD_NUMBER = -1
"""`buyer_number`: 0 no VAT number, -1 a number of no valid form, else the place code of the country in it."""

NO_PLACE = -1
"""`ship_from` of a line that leaves the answer to the profile."""

# name → (NumPy dtype, meaning). order_id and line_id are Arrow strings (line_id is "" where there is none).
LINE_SCHEMA: dict[str, tuple[str, str]] = {
    "order_id": ("string", "as given"),
    "line_id": ("string", "as given, empty where the file has none"),
    "file": ("int16", "index into the list of input files"),
    "row": ("int32", "row as the user's spreadsheet numbers it"),
    "day": ("int32", "ordered_on in the profile's time zone, days since 1970-01-01"),
    "second": ("int32", "second of that day, 0 where only a date is given"),
    "tax_day": ("int32", "supplied_on, else day"),
    "original_day": ("int32", "original_ordered_on, or NO_DAY"),
    "entry": ("int8", "Entry"),
    "currency": ("int16", "index into taxcalc.money.CURRENCIES"),
    "destination": ("int16", "place code (taxcalc.places): where the goods arrive; 0 is `unknown`"),
    "zone": ("int16", "local zone inside the place (index into places.ZONES), 0 unknown"),
    "product_class": ("int8", "index into PRODUCT_CLASSES"),
    "quantity": ("int32", "items, always above 0"),
    "item_amount": ("int64", "minor units of currency; negative for refunds"),
    "shipping_amount": ("int64", "minor units of currency; negative for refunds"),
    "tax_included": ("int8", "0 no, 1 yes, TAX_INCLUDED_BY_PROFILE"),
    "tax_collected": ("int64", "minor units of currency; negative for refunds"),
    "channel": ("int8", "Channel"),
    "marketplace": ("int16", "index into the run's marketplace names, 0 none"),
    "buyer": ("int8", "Buyer"),
    "buyer_number": ("int16", "see NO_NUMBER"),
    "buyer_mark": (
        "int32",
        "tells VAT numbers apart as they are written, 0 where the cell is blank; no number is kept",
    ),
    "fulfiller": ("int16", "index into the run's fulfiller names"),
    "fulfiller_currency": ("int16", "index into taxcalc.money.CURRENCIES"),
    "fulfiller_item_cost": ("int64", "minor units of fulfiller_currency; negative for refunds"),
    "fulfiller_shipping_cost": ("int64", "minor units of fulfiller_currency; negative for refunds"),
    "fulfiller_tax_charged": ("int64", "minor units of fulfiller_currency; negative for refunds"),
    "ship_from": ("int16", "place code where the goods started, or NO_PLACE"),
    "blanks": ("int8", "Blank bits"),
}
