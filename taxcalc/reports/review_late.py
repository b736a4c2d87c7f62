"""Interest and penalties as a scenario of their own, shown only where it was asked for."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, bullets, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import day, marked, place, printable

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
NONE: Final = "not on file"
SUMS: Final = ("Not collected", "Interest", "Penalties")


def interest_and_penalties(record: dict[str, Any]) -> Pieces:
    """Show the scenario by place, then by quarter; nothing where it was not asked for."""
    found = record.get("interest_and_penalties")
    if not found:
        return []
    pieces = [*heading("Scenario: interest and penalties"), paragraph(found["words"])]
    rows = sorted(found["places"], key=lambda row: (-Decimal(row["shortfall"]["expected"]), row["place"]))
    currency = record["currency"]
    numbers = [Column(words, number=True) for words in SUMS]
    if not rows:
        pieces += ["", paragraph("Nothing that was due before the day of the review lacks anything.")]
        return [*pieces, paragraph(found["caution"])]
    columns = [Column("Place"), *numbers]
    pieces += figures(columns, [[marked(row), *_sums(row, currency)] for row in rows], found["caution"])
    columns = [Column("Place and quarter"), *numbers]
    lines = [_quarter(row, one, currency) for row in rows for one in row["quarters"]]
    pieces += figures(columns, lines, found["caution"])
    notes = [f"{place(row)}: {printable(' '.join(row['words']))}" for row in rows if row["words"]]
    return [*pieces, "", *bullets([*map(printable, found["assumptions"]), *notes, *_others(found)])]


def _sums(row: Row, currency: str) -> list[Cell]:
    """Write the lack, the interest and the penalties; what is not known is said and never a zero."""
    names = ("shortfall", "interest", "penalties")
    return [NONE if row[name] is None else spread(row[name], currency) for name in names]


def _quarter(row: Row, one: Row, currency: str) -> list[Cell]:
    """Write one quarter of one place."""
    return [
        stacked(f"{place(row)} {printable(one['quarter'])}", f"due {day(one['due_on'])}"),
        *_sums(one, currency),
    ]


def _others(found: Row) -> list[str]:
    """Name the places that have no part in it."""
    named = (
        ("Not due before the day of the review", "not_due_yet"),
        ("No such tables are held for", "without_tables"),
    )
    return [f"{words}: {printable(', '.join(found[name]))}." for words, name in named if found[name]]
