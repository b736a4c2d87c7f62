"""What a table's description is made of: fields, schemas, and the fields that many tables share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "place",  # a code of places.csv                           → int16 place code
    "product_class",  # a class of taxcalc.columns, or * for all       → int8 index, -1 for *
    "product_classes",  # classes separated by spaces, or *           → int64, bit n is class n
    "text",  # free text                                      → str
    "choice",  # one of `choices`                               → str
    "code",  # a key of another table (`refers_to`)           → str
    "day",  # ISO date, blank allowed where not required     → int32 days since 1970-01-01, NO_DAY blank
    "percent",  # as printed, "7.25"                             → int64 parts per million, NO_VALUE blank
    "amount",  # as printed, "100000" or "110.00"               → int64 minor units of `currency`, NO_VALUE
    "count",  # whole number                                   → int64, NO_VALUE blank
    "currency",  # ISO 4217                                       → str
    "yes_no",  # yes / no                                       → bool
    "pattern",  # regular expression                             → str
]

NO_VALUE = -(2**62)
"""An int64 value that is blank in the table."""

BASES = ("official", "secondary", "unconfirmed")
"""Weakness of a fact, strongest first: read in the official text; in a copy or a summary; from memory."""


@dataclass(frozen=True)
class Field:
    """One column of a table."""

    name: str
    kind: Kind
    meaning: str
    required: bool = True
    key: bool = False
    choices: tuple[str, ...] = ()
    refers_to: str | None = None


@dataclass(frozen=True)
class Schema:
    """One table: its name (path without .csv), its own fields, and whether its rows are dated and sourced.

    `last_day` names the field whose day, where it is filled in, ends the row before the next one of its key begins.
    """

    name: str
    title: str
    fields: tuple[Field, ...]
    dated: bool = True
    sourced: bool = True
    last_day: str = ""


DATED = (
    Field("valid_from", "day", "first day on which the row holds; it holds until the next row of its key"),
    Field(
        "ended",
        "yes_no",
        "yes: from this day nothing holds for this key (the values are then blank)",
        required=False,
    ),
)
SOURCED = (
    Field("source", "code", "id in sources.csv of the paper that says so", refers_to="sources"),
    Field("basis", "choice", "how sure the fact is", choices=BASES),
    Field(
        "unconfirmed_columns",
        "text",
        "columns of this row that rest on memory, separated by spaces",
        required=False,
    ),
    Field("checked_on", "day", "day on which the row was last held against its source"),
    Field("note", "text", "what a reader should know", required=False),
)

PLACE = Field("place", "place", "where the row holds, a code of places.csv", key=True)
CLASS = Field(
    "product_class", "product_class", "kind of goods, or * for all that have no row of their own", key=True
)
