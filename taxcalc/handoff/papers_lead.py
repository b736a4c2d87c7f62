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
        Head("Currency"),
        Head("Computed", "row_money"),
        Head("Held against", "row_money"),
        Head("Difference", "row_money"),
        Head("Tick"),
    )
    rows: list[Row] = [
        _said(
            "Purpose", "", "Exposure to sales tax and VAT: an estimate for review by a licensed professional."
        ),
        _said("Entity", "", f"{seller['name']}, {seller['region'] or seller['country']}"),
        _said("Period", "", f"{period['name']}: {period['from']} to {period['to']}"),
        _said("Seen from", "", record["as_of"]),
        _said("Amounts in", "", f"{record['currency']} unless a column says otherwise"),
        _said("Computed by", "", f"taxcalc {record['program']['version']}; tables {tables['version']}"),
        _said("Prepared by", "name, day", ""),
        _said("Reviewed by", "name, day", ""),
        _said("Conclusion", "", ""),
    ]
    rows += [
        _said("Source file", file["name"], f"{file['rows']} rows, SHA-256 {file['sha256']}")
        for file in record["files"]
    ]
    rows += [
        (
            *("Control total", one.name, one.about, one.currency),
            *(one.computed, one.held_against, one.difference, one.tick),
        )
        for one in controls
    ]
    rows += [_said("Tick", tick, words) for tick, words in TICKS]
    rows += [_said("Sheet", sheet.tab, sheet.title) for sheet in others]
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


def _said(part: str, what: str, value: str) -> Row:
    """Write a row without amounts."""
    return (part, what, value, "", None, None, None, "")
