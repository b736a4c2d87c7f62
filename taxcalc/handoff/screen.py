"""What a hand-off says on the screen: where it is, and how its control totals stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich.text import Text

from taxcalc.reports.layout import STRONG, Column, figures, labelled, paragraph
from taxcalc.reports.screen import show
from taxcalc.reports.words import day, money, printable, several

if TYPE_CHECKING:
    from collections.abc import Iterable
    from decimal import Decimal
    from pathlib import Path

    from taxcalc.handoff.controls import Control
    from taxcalc.reports.layout import Pieces


def print_handoff(record: dict[str, Any], checks: list[Control], out: Path) -> None:
    """Print it."""
    show(lambda _width: pieces(record, checks, out))


def pieces(record: dict[str, Any], checks: list[Control], out: Path) -> Pieces:
    """Give the title, the folder, and the sums that do not agree or that the user gave."""
    period, apart = record["period"], [one for one in checks if one.difference]
    words = f"{record['title']}: hand-off"
    facts = [
        ("Folder", printable(str(out))),
        ("Period", f"{period['name']}: {day(period['from'])} to {day(period['to'])}"),
        (
            "Control totals",
            f"{several(len(checks), 'sum')} held against another one, {len(checks) - len(apart)} agree",
        ),
    ]
    shown = [one for one in checks if one.difference or one.agreed == "C"]
    return [
        Text(words, style=STRONG), Text("=" * len(words), style=STRONG), *labelled(facts), *_table(shown, record["caution"]),
        "", paragraph("Open exposure.xlsx first; README.txt says what each file is."), "", paragraph(record["caution"], "bold"),
    ]  # fmt: skip


def _table(shown: Iterable[Control], caution: str) -> Pieces:
    """Show sums beside those that they were held against."""
    rows = [
        [
            f"{one.name}\n  {one.about}",
            *(_shown(value, one.currency) for value in (one.computed, one.held_against, one.difference)),
            "agrees" if not one.difference else "differs",
        ]
        for one in shown
    ]
    if not rows:
        return []
    columns = [
        Column("Sum"),
        *(Column(words, number=True) for words in ("Computed", "Against", "Difference")),
        Column(""),
    ]
    return figures(columns, rows, caution)


def _shown(value: Decimal | int, currency: str) -> str:
    """Write an amount with its currency, or a count."""
    return money(str(value), currency) if currency else f"{value:,}"
