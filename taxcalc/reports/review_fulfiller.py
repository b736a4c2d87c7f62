"""The fulfiller's side: what it may charge, what it charged, and what a document could have avoided."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import count, money, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Pieces

Row = dict[str, Any]
MONEY = ("May charge", "Charged", "Avoidable")


def fulfiller(record: dict[str, Any]) -> Pieces:
    """Show the fulfiller's tax by reason, then by place."""
    pieces = heading("Tax your fulfiller may charge you")
    pieces.append(paragraph(
        "Avoidable is the expected tax less what it would be with the best document "
            "you could have given on that day."
    ))  # fmt: skip
    reasons = record.get("fulfiller") or []
    if not reasons:
        return [*pieces, paragraph("No purchase from a fulfiller is in the files of this period.")]
    currency = record["currency"]
    columns = [Column("Why"), Column("Lines", number=True), *(Column(words, number=True) for words in MONEY)]
    rows = [_by_reason(row, currency) for row in reasons]
    pieces += figures(columns, rows, reasons[0]["caution"], gaps=True)
    charged = [row for row in record["places"] if _charged(row)]
    if charged:
        columns = [Column("Where it is taxed"), *(Column(words, number=True) for words in MONEY)]
        rows = [_by_place(row, currency) for row in sorted(charged, key=_weight)]
        pieces += figures(columns, rows, charged[0]["caution"])
    return pieces


def _by_reason(row: Row, currency: str) -> list[Any]:
    """Write one reason."""
    words = printable(row.get("words") or row["reason"]).replace("_", " ")
    amounts = [money(row[name], currency) for name in ("charged", "avoidable")]
    return [words, count(row["lines"]), spread(row["tax"], currency), *amounts]


def _charged(row: Row) -> bool:
    """Tell whether the fulfiller's side has any amount in the place."""
    alone = (row["fulfiller_tax_charged"], row["fulfiller_tax_avoidable"])
    return any(Decimal(amount) for amount in (*alone, *row["fulfiller_tax"].values()))


def _weight(row: Row) -> tuple[Decimal, Decimal, str]:
    """Put what could have been avoided first, then the largest tax."""
    return -Decimal(row["fulfiller_tax_avoidable"]), -Decimal(row["fulfiller_tax"]["expected"]), row["place"]


def _by_place(row: Row, currency: str) -> list[Any]:
    """Write one place."""
    amounts = [money(row[name], currency) for name in ("fulfiller_tax_charged", "fulfiller_tax_avoidable")]
    return [stacked(place(row), ""), spread(row["fulfiller_tax"], currency), *amounts]


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
    return [*heading("Totals"), paragraph(words), *figures(columns, rows, total["caution"])]


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
