"""What needs attention first, the most urgent above."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, figures, heading, paragraph, stacked
from taxcalc.reports.words import URGENCY, money, place, printable

if TYPE_CHECKING:
    from rich.text import Text

    from taxcalc.reports.layout import Cell, Pieces

KINDS: Final = {
    "crossed": "limit crossed",
    "near": "limit near",
    "watch": "limit to watch",
    "not_collected": "not collected",
    "remittance_not_evidenced": "collected, but no payment on record",
    "collected_without_duty": "collected without a duty",
    "over_collected": "more collected than expected",
    "unconfirmed": "rests on an unconfirmed fact",
    "contradiction": "your profile contradicts itself",
}
"""Kinds of findings, in their order inside one urgency; others follow under their own name."""


def findings(record: dict[str, Any]) -> Pieces:
    """List the findings by urgency; each kind of shortfall keeps its own name and amount."""
    pieces = heading("What needs attention first")
    found = sorted(record["findings"], key=_order)
    if not found:
        return [*pieces, paragraph("Nothing was found that needs attention in this period.")]
    currency = record["currency"]
    columns = [Column("When"), Column("What"), Column("Amount", number=True)]
    rows: list[list[Cell]] = [
        [_when(one), _what(one), money(one["amount"], currency) if one.get("amount") else ""] for one in found
    ]
    return [*pieces, *figures(columns, rows, found[0]["caution"], gaps=True)]


def _order(finding: dict[str, Any]) -> tuple[int, int]:
    """Put urgent ones first, then by kind; the record's order decides inside a kind."""
    kinds = list(KINDS)
    kind = finding["kind"]
    return finding["urgency"], kinds.index(kind) if kind in KINDS else len(kinds)


def _when(finding: dict[str, Any]) -> str:
    """Name the urgency."""
    return URGENCY.get(finding["urgency"], printable(finding["urgency"]))


def _what(finding: dict[str, Any]) -> Text:
    """Write place and kind, and below them the sentence."""
    kind = KINDS.get(finding["kind"], printable(finding["kind"]).replace("_", " "))
    where = place(finding) if finding.get("place") else ""
    head = f"{where}: {kind}" if where else kind[:1].upper() + kind[1:]
    return stacked(head, printable(finding["text"]))
