"""The sheet that says of every column of the others what it holds, and whether its figures are facts or estimates."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.handoff.papers_period import COLUMNS, EU_COLUMNS, OTHER
from taxcalc.handoff.sheet import Head, Kind, Row, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterable

KINDS: Final[dict[Kind, str]] = {
    "text": "text",
    "long": "text",
    "day": "day",
    "count": "whole number",
    "percent": "number",
    "number": "number",
    "row_money": "amount in the currency of its row, or a count where it has none",
}
"""Kinds of columns in words; an amount names the currency of its sheet."""
WORDS: Final = ("text", "long", "day")
"""Kinds that are no figures."""

FACT: Final = "fact: added up from your files"
SORTED: Final = "fact from your files, put into this column by rules"
STATED: Final = "seller's statement: from the profile"
ASSUMED: Final = "assumption"
ESTIMATE: Final = "estimate: computed from your files, the profile and table rows"
MIXED: Final = "as its row says"

FACTS: Final = frozenset(
    {
        *("Orders", "Sales", "through marketplaces", "Collected", "Fulfiller charged", "Lines", "Row"),
        "Gross sales, as charged",
    }
)
"""Titles of columns that add up what stands in the files."""
BY_RULES: Final = frozenset(
    {
        *COLUMNS.values(),
        *EU_COLUMNS.values(),
        OTHER,
        "Value",
        "On duty: not taxed, or tax inside the price",
        "Charged: avoidable",
        "Charged: may come back",
        "Charged: final",
        "Charged with a document on file",
    }
)
"""Titles of columns of sales and charges that rules choose."""
OF_TITLE: Final = {
    **dict.fromkeys(FACTS, FACT),
    **dict.fromkeys(BY_RULES, SORTED),
    "Paid over (seller's statement)": STATED,
    "Limit": "table row, named beside it",
    "VAT rate": "table row, named in rows-used",
    **dict.fromkeys(("May reach, low", "May reach", "May reach, high"), ASSUMED),
}
OF_SHEET: Final = {"A": MIXED, "L": "estimate of what the other choice would change", "O": STATED, "R": MIXED}
"""Sheets all of whose figures rest on the same, by their codes."""


def dictionary(record: dict[str, Any], sheets: Iterable[Sheet]) -> Sheet:
    """Give every column of every sheet, with its kind and what its figures rest on."""
    heads = (Head("Sheet"), Head("Column"), Head("Kind"), Head("What it rests on", "long"), Head("Added up"))
    rows: list[Row] = [
        (
            sheet.tab,
            head.title,
            KINDS.get(head.kind, f"amount in {sheet.currency}"),
            rests_on(sheet, head),
            "by formula, beside the total of the program" if head.total is not None else "",
        )
        for sheet in sheets
        for head in sheet.heads
    ]
    about = (
        "What each column holds, and whether its figures are facts, the seller's statements, assumptions or estimates.",
    )
    return Sheet(
        *("T", "dictionary", "Columns of the sheets", about, heads, tuple(rows)),
        record["caution"],
        record["currency"],
    )


def rests_on(sheet: Sheet, head: Head) -> str:
    """Say what the figures of a column rest on; "" for a column of words or days."""
    if head.kind in WORDS:
        return ""
    return OF_SHEET.get(sheet.code) or OF_TITLE.get(head.title) or ESTIMATE
