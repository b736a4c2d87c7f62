"""The lead sheet: what this is, of whom, for when, by what; control totals with ticks; what the other sheets hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.handoff.sheet import Head, Row, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.handoff.controls import Control

TICKS: Final = (
    ("F", "footed: the parts were added up and equal the total"),
    ("S", "agreed to source: the sum over your files, read = used + set aside"),
    ("L", "agreed to lines: the sum over lines.csv and lines.parquet, line by line"),
    ("C", "agreed to a control total that was given"),
    ("X", "does not agree: the difference is shown"),
)


def lead(record: dict[str, Any], controls: Iterable[Control], others: Iterable[Sheet]) -> Sheet:
    """Build the lead sheet."""
    seller, period, tables = record["seller"], record["period"], record["tables"]
    heads = (
        Head("Part"),
        Head("What"),
        Head("Value", "long"),
        Head("Computed", "money"),
        Head("Held against", "money"),
        Head("Difference", "money"),
        Head("Tick"),
    )
    rows: list[Row] = [
        (
            "Purpose",
            "",
            "Exposure to sales tax and VAT: an estimate for review by a licensed professional.",
            None,
            None,
            None,
            "",
        ),
        ("Entity", "", f"{seller['name']}, {seller['region'] or seller['country']}", None, None, None, ""),
        ("Period", "", f"{period['name']}: {period['from']} to {period['to']}", None, None, None, ""),
        ("Seen from", "", record["as_of"], None, None, None, ""),
        ("Amounts in", "", f"{record['currency']} unless a column says otherwise", None, None, None, ""),
        (
            "Computed by",
            "",
            f"taxcalc {record['program']['version']}; tables {tables['version']}",
            None,
            None,
            None,
            "",
        ),
        ("Prepared by", "name, day", "", None, None, None, ""),
        ("Reviewed by", "name, day", "", None, None, None, ""),
        ("Conclusion", "", "", None, None, None, ""),
    ]
    rows += [
        ("Source file", file["name"], f"{file['rows']} rows, SHA-256 {file['sha256']}", None, None, None, "")
        for file in record["files"]
    ]
    rows += [
        ("Control total", one.name, one.about, one.computed, one.held_against, one.difference, one.tick)
        for one in controls
    ]
    rows += [("Tick", tick, words, None, None, None, "") for tick, words in TICKS]
    rows += [("Sheet", sheet.tab, sheet.title, None, None, None, "") for sheet in others]
    return Sheet(
        "A",
        "lead",
        f"{record['title']}: workpapers for {seller['name']}",
        ("Prepared by, reviewed by and the conclusion are left to the people who sign them.",),
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )
