"""The places of the period, and what has added up in each since the duty to collect began."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import CAUSE, count, day, money, place, printable, several

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
WIDE: Final = 118
AMOUNTS: Final = ("sales", "marketplace_sales", "collected", "over_collected", "collected_without_duty")
SPREADS: Final = ("to_collect", "shortfall")


def places(record: dict[str, Any], width: int) -> Pieces:
    """Show each place with something to collect or collected; the others in one line each kind."""
    taxed = [row for row in record["places"] if _taxed(row)]
    quiet = [row for row in record["places"] if not _taxed(row) and _active(row)]
    silent = [row for row in record["places"] if not _taxed(row) and not _active(row)]
    pieces = heading("Places of this period")
    pieces.append(paragraph("Expected amount first, below it the range from low to high."))
    below = "\n".join(words for words in (_quiet(quiet, record["currency"]), _silent(silent)) if words)
    if not taxed:
        nothing = "There was nothing to collect and nothing collected in this period."
        return [*pieces, paragraph(nothing), paragraph(below), paragraph(record["totals"]["caution"])]
    wide = width >= WIDE
    rows = [_row(row, record["currency"], wide=wide) for row in sorted(taxed, key=_weight)]
    return [*pieces, *figures(_columns(wide=wide), rows, taxed[0]["caution"], below, gaps=True)]


def _taxed(row: Row) -> bool:
    """Tell whether the place has any amount of tax on the seller's side in the period."""
    alone = (row["collected"], row["over_collected"], row["collected_without_duty"])
    ranges = (value for name in SPREADS for value in row[name].values())
    return any(Decimal(amount) for amount in (*alone, *ranges))


def _active(row: Row) -> bool:
    """Tell whether anything was sold in the place in the period."""
    return bool(row["orders"] or row.get("lines") or any(Decimal(row[name]) for name in AMOUNTS))


def _weight(row: Row) -> tuple[Decimal, Decimal, str]:
    """Put the largest shortfall first, then the largest sales."""
    return -Decimal(row["shortfall"]["expected"]), -Decimal(row["sales"]), row["place"]


def _columns(*, wide: bool) -> list[Column]:
    """Name the columns; on a wide screen sales, duty and what was collected without a duty have their own."""
    apart = [Column("Sales", number=True), Column("Duty since")] if wide else []
    parts = ["Should collect", "Collected", "Not collected", *(["Collected without duty"] if wide else [])]
    return [Column("Place"), *apart, *(Column(words, number=True) for words in parts)]


def _row(row: Row, currency: str, *, wide: bool) -> list[Cell]:
    """Write one place; on a narrow screen its sales and its duty stand under its name."""
    orders, basis = (
        several(row["orders"], "order"),
        "on unconfirmed facts" if row.get("basis") == "unconfirmed" else "",
    )
    sold, without = money(row["sales"], currency), money(row["collected_without_duty"], currency)
    since = day(row["duty_from"]) if row.get("duty_from") else ""
    more = (_if_any("of these by marketplaces", row.get("marketplace_sales") or "0", currency),
            _if_any("collected too much", row["over_collected"], currency))  # fmt: skip
    sums = [
        spread(row["to_collect"], currency),
        money(row["collected"], currency),
        spread(row["shortfall"], currency),
    ]
    if wide:
        return [stacked(place(row), orders, *more, basis), sold, since or "no duty seen", *sums, without]
    no_duty = _if_any("collected without duty", row["collected_without_duty"], currency)
    duty = f"duty since {since}" if since else "no duty seen"
    return [stacked(place(row), f"sales {sold}", orders, *more, duty, no_duty, basis), *sums]


def _if_any(words: str, amount: str, currency: str) -> str:
    """Write an amount with its words, or nothing where it is zero."""
    return f"{words} {money(amount, currency)}" if Decimal(amount) else ""


def _quiet(rows: list[Row], currency: str) -> str:
    """Name places with sales and no tax on either side, with their sales."""
    if not rows:
        return ""
    named = ", ".join(f"{place(row)} {money(row['sales'], currency)}" for row in _by_sales(rows))
    return f"Sales, but nothing to collect and nothing collected, in {several(len(rows), 'place')}: {named}."


def _by_sales(rows: Iterable[Row]) -> list[Row]:
    """Put the largest sales first."""
    return sorted(rows, key=lambda row: (-Decimal(row["sales"]), row["place"]))


def _silent(rows: list[Row]) -> str:
    """Count the places in which nothing happened in the period."""
    return (
        f"Nothing at all in this period in {count(len(rows))} more {'place' if len(rows) == 1 else 'places'}."
        if rows
        else ""
    )


def since_duty(record: dict[str, Any]) -> Pieces:
    """Show per place what has added up since the duty began; collected and paid over stand side by side."""
    held = [row for row in record["places"] if row.get("since_duty")]
    if not held:
        return []
    currency = record["currency"]
    parts = ("Should have collected", "Collected", "Not collected", "Paid over")
    columns = [Column("Place"), *(Column(words, number=True) for words in parts)]
    rows = [_since_row(row, currency) for row in sorted(held, key=_since_weight)]
    words = "Paid over is what your profile says; what it does not say is not shown as paid."
    return [
        *heading("Since the duty began"),
        paragraph(words),
        *figures(columns, rows, held[0]["caution"], gaps=True),
    ]


def _since_weight(row: Row) -> tuple[Decimal, str]:
    """Put the largest shortfall first."""
    return -Decimal(row["since_duty"]["shortfall"]["expected"]), row["place"]


def _since_row(row: Row, currency: str) -> list[Cell]:
    """Write one place with the day and the cause of its duty."""
    since = row["since_duty"]
    cause = CAUSE.get(row.get("cause") or "", printable(row.get("cause") or "").replace("_", " "))
    amounts = [money(since[name], currency) for name in ("collected", "remitted")]
    head = stacked(place(row), f"since {day(since['from'])}", cause)
    return [
        head,
        spread(since["to_collect"], currency),
        amounts[0],
        spread(since["shortfall"], currency),
        amounts[1],
    ]
