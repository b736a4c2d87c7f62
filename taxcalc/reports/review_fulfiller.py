"""The fulfiller's side: what it may charge, what it charged, and what a document could have avoided."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import count, marked, money, printable, several

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
MONEY = ("May charge", "Charged", "Avoidable")


def fulfiller(record: dict[str, Any]) -> Pieces:
    """Show the fulfiller's tax by reason, then by place."""
    return [*by_reason(record), *_by_places(record)]


def by_reason(record: dict[str, Any]) -> Pieces:
    """Show the fulfiller's tax by the reason for which it may be charged."""
    pieces = heading("Tax your fulfiller may charge you")
    pieces.append(paragraph(
        "Avoidable is the expected tax less what it would be with the best document "
            "you could have given on that day."
    ))  # fmt: skip
    reasons = record.get("fulfiller") or []
    if not reasons:
        return [*pieces, paragraph("No purchase from a fulfiller is in the files of this period.")]
    currency = record["currency"]
    taxed = [row for row in reasons if _taxed(row)]
    below = _untaxed(row for row in reasons if not _taxed(row))
    if not taxed:
        return [*pieces, paragraph(below), paragraph(reasons[0]["caution"])]
    columns = [Column("Why"), Column("Lines", number=True), *(Column(words, number=True) for words in MONEY)]
    rows = [_by_reason(row, currency) for row in taxed]
    return [*pieces, *figures(columns, rows, taxed[0]["caution"], below)]


def _by_places(record: dict[str, Any]) -> Pieces:
    """Show the places in which a document would have helped, nothing where there is none."""
    avoidable = [row for row in record["places"] if Decimal(row["fulfiller_tax_avoidable"])]
    if not avoidable:
        return []
    columns = [Column("Where a document would help"), *(Column(words, number=True) for words in MONEY)]
    rows = [_by_place(row, record["currency"]) for row in sorted(avoidable, key=_weight)]
    return figures(columns, rows, avoidable[0]["caution"])


def _taxed(row: Row) -> bool:
    """Tell whether a reason has any amount."""
    return any(Decimal(amount) for amount in (row["charged"], row["avoidable"], *row["tax"].values()))


def _untaxed(rows: Iterable[Row]) -> str:
    """Name the reasons for which there is no tax and none was charged."""
    named = [f"{_words(row)} ({several(row['lines'], 'line')})" for row in rows]
    return f"No tax, and none charged: {'; '.join(named)}." if named else ""


def _words(row: Row) -> str:
    """Say the reason."""
    return printable(row.get("words") or row["reason"].replace("_", " "))


def _by_reason(row: Row, currency: str) -> list[Cell]:
    """Write one reason."""
    words, charged, avoidable = (
        _words(row),
        *(money(row[name], currency) for name in ("charged", "avoidable")),
    )
    first = words[:1].upper() + words[1:]
    if row.get("own_rows"):
        first += " +"
    return [first, count(row["lines"]), spread(row["tax"], currency), charged, avoidable]


def _weight(row: Row) -> tuple[Decimal, str]:
    """Put what could have been avoided first."""
    return -Decimal(row["fulfiller_tax_avoidable"]), row["place"]


def _by_place(row: Row, currency: str) -> list[Cell]:
    """Write one place."""
    names = ("fulfiller_tax_charged", "fulfiller_tax_avoidable")
    charged, avoidable = (money(row[name], currency) for name in names)
    return [stacked(marked(row)), spread(row["fulfiller_tax"], currency), charged, avoidable]


def totals(record: dict[str, Any]) -> Pieces:
    """Show the sums of the period and since duty began; the shortfalls stay apart."""
    total, currency = record["totals"], record["currency"]
    since = total.get("since_duty") or {}
    columns = [
        Column("Everything together"),
        Column("This period", number=True),
        Column("Since duty began", number=True),
    ]
    rows: list[list[Any]] = [
        ["Orders", count(total["orders"]), ""],
        ["Sales", money(total["sales"], currency), ""],
        ["   of these through marketplaces", money(total["marketplace_sales"], currency), ""],
    ]
    rows += [_total_row(*part, total, since, currency) for part in _PARTS]
    lines = several(total.get("lines") or 0, "order line")
    words = f"{lines} in the period. The sum of the highs is an outer bound: not all can come true at once."
    return [*heading("Totals"), paragraph(words), *figures(columns, rows, total["caution"], ordered=True)]


_PARTS = (
    ("Should collect", "to_collect"),
    ("Collected", "collected"),
    ("Paid over (by your profile)", "remitted"),
    ("Not collected", "shortfall"),
    ("Collected too much", "over_collected"),
    ("Collected without a duty", "collected_without_duty"),
    ("Fulfiller may charge", "fulfiller_tax"),
    ("Fulfiller charged", "fulfiller_tax_charged"),
    ("   avoidable", "fulfiller_tax_avoidable"),
)


def _total_row(words: str, name: str, total: Row, since: Row, currency: str) -> list[Any]:
    """Write one sum of the period and of the time since duty began, blank where there is none."""
    return [words, *(_sum(part.get(name), currency) for part in (total, since))]


def _sum(value: Any, currency: str) -> Any:  # noqa: ANN401 - an amount, a range, or nothing
    """Write an amount or a range."""
    if value is None:
        return ""
    return spread(value, currency) if isinstance(value, dict) else money(value, currency)
