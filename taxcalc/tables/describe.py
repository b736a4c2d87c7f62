"""The columns of the rate tables in words, as the README of the tables prints them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc.tables.schema import DATED, SCHEMAS, SOURCED

if TYPE_CHECKING:
    from taxcalc.tables.schema import Field, Schema

_KIND_WORDS = {
    "place": "a code of `places.csv`",
    "product_class": "a class of goods, or `*`",
    "product_classes": "classes of goods separated by spaces, or `*`",
    "text": "text",
    "choice": "one of",
    "code": "a key of",
    "day": "a day, `2026-11-25`",
    "percent": "percent as printed, `7.25`",
    "amount": "an amount as printed, `100000` or `110.00`",
    "count": "a whole number",
    "currency": "ISO 4217, `USD`",
    "yes_no": "`yes` or `no`",
    "pattern": "a regular expression",
}


def describe(schema: Schema) -> str:
    """Describe one table in Markdown: its file, what it holds, and a line for each column of its own."""
    shared = [name for name, has in (("dated", schema.dated), ("sourced", schema.sourced)) if has]
    ends = f" Its rows are {' and '.join(shared)}." if shared else ""
    head = f"### `{schema.name}.csv`: {schema.title}\n\n{_key_words(schema)}{ends}\n"
    return f"{head}\n{_columns(schema.fields)}"


def describe_all() -> str:
    """Describe every table, after the columns that dated and sourced tables share."""
    shared = (
        f"### Columns of dated tables\n\n{_columns(DATED)}",
        f"### Columns of sourced tables\n\n{_columns(SOURCED)}",
    )
    return "\n".join((*shared, *(describe(schema) for schema in SCHEMAS)))


def _key_words(schema: Schema) -> str:
    """Say which columns make a row the only one of its kind."""
    names = " and ".join(f"`{field.name}`" for field in schema.fields if field.key)
    per_day = " on each first day" if schema.dated else ""
    return f"One row for each {names}{per_day}."


def _columns(fields: tuple[Field, ...]) -> str:
    """List columns as a Markdown table."""
    lines = ["| column | holds | meaning |", "|---|---|---|"]
    lines += [
        f"| `{field.name}` | {_holds(field)} | {field.meaning.replace('|', chr(92) + '|')} |"
        for field in fields
    ]
    return "\n".join(lines) + "\n"


def _holds(field: Field) -> str:
    """Say what may stand in a column."""
    words = _KIND_WORDS[field.kind]
    if field.choices:
        words += " " + ", ".join(f"`{choice}`" for choice in field.choices)
    if field.refers_to:
        words += f" `{field.refers_to}.csv`"
    return words if field.required else f"{words}; may be blank"
