"""The places of the period, and what has added up in each since the duty to collect began."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import CAUSE, day, legend, marked, money, place, printable, several

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
WIDE: Final = 98
"""Columns of a screen from which on sales and duty stand in columns of their own."""
WIDEST: Final = 118
"""Columns of a screen from which on what was collected without a duty has its own, too."""
FEW: Final = 3
NAMED: Final = 12
"""Places without tax that are named; the others are summed."""
AMOUNTS: Final = ("sales", "marketplace_sales", "collected", "over_collected", "collected_without_duty")
SPREADS: Final = ("to_collect", "shortfall")


def places(record: dict[str, Any], width: int, most: int | None = None) -> Pieces:
    """Show each place with something to collect or collected, at most so many; the others in one line each kind."""
    taxed = [row for row in record["places"] if _taxed(row)]
    quiet = [row for row in record["places"] if not _taxed(row) and active(row)]
    rest = [row for row in record["places"] if not _taxed(row) and not active(row)]
    pieces = heading("Places of this period")
    words = f"Expected amount first, below it the range from low to high. {legend(record)}"
    taxed.sort(key=weight)
    left = _left(taxed[most:] if most else [], record["currency"])
    below = "\n".join(words for words in (left, _quiet(quiet, record["currency"]), silent(rest)) if words)
    if not taxed:
        nothing = "There was nothing to collect and nothing collected in this period."
        return [*pieces, paragraph(nothing), paragraph(below), paragraph(record["totals"]["caution"])]
    rows = [_row(row, record["currency"], width) for row in taxed[:most]]
    return [*pieces, paragraph(words), *figures(_columns(width), rows, taxed[0]["caution"], below)]


def _taxed(row: Row) -> bool:
    """Tell whether the place has any amount of tax on the seller's side in the period."""
    alone = (row["collected"], row["over_collected"], row["collected_without_duty"])
    ranges = (value for name in SPREADS for value in row[name].values())
    return any(Decimal(amount) for amount in (*alone, *ranges))


def active(row: Row) -> bool:
    """Tell whether anything was sold in the place in the period."""
    return bool(row["orders"] or row.get("lines") or any(Decimal(row[name]) for name in AMOUNTS))


def weight(row: Row) -> tuple[Decimal, Decimal, str]:
    """Put the largest shortfall first, then the largest sales."""
    return -Decimal(row["shortfall"]["expected"]), -Decimal(row["sales"]), row["place"]


def _columns(width: int) -> list[Column]:
    """Name the columns; on a wide screen there are more of them."""
    wide = width >= WIDE
    first = [Column("Place" if wide else "Place\n  sales, duty since")]
    apart = [Column("Sales", number=True), Column("Duty since")] if wide else []
    last = ["Collected without duty"] if width >= WIDEST else []
    sums = ("Should collect", "Collected", "Not collected", *last)
    return [*first, *apart, *(Column(words, number=True) for words in sums)]


def _row(row: Row, currency: str, width: int) -> list[Cell]:
    """Write one place; on a narrow screen its sales and its duty stand under its name."""
    sold, since = money(row["sales"], currency), day(row["duty_from"]) if row.get("duty_from") else ""
    to_collect, shortfall = (spread(row[name], currency) for name in SPREADS)
    sums: list[Cell] = [to_collect, money(row["collected"], currency), shortfall]
    odd = [_if_any("collected too much:", row["over_collected"], currency)]
    if width >= WIDEST:
        sums.append(money(row["collected_without_duty"], currency))
    else:
        odd.append(_if_any("without duty:", row["collected_without_duty"], currency))
    if width >= WIDE:
        return [stacked(marked(row), *odd), sold, since or "none seen", *sums]
    return [stacked(marked(row), f"{sold}, {since or 'no duty seen'}", *odd), *sums]


def _if_any(words: str, amount: str, currency: str) -> str:
    """Write an amount with its words, or nothing where it is zero."""
    return f"{words} {money(amount, currency)}" if Decimal(amount) else ""


def _left(rows: list[Row], currency: str) -> str:
    """Sum the places that are not shown, so that nothing seems to be missing."""
    if not rows:
        return ""
    sums = [sum(Decimal(row[name]["expected"]) for row in rows) for name in SPREADS]
    to_collect, shortfall = (money(str(amount), currency) for amount in sums)
    named = several(len(rows), "more place")
    return f"{named}, not shown here: expected {to_collect} to collect together, {shortfall} not collected."


def _quiet(rows: list[Row], currency: str) -> str:
    """Name the places with sales and no tax on either side, the smaller ones as one sum."""
    if not rows:
        return ""
    largest_first = sorted(rows, key=lambda row: (-Decimal(row["sales"]), row["place"]))
    named = [f"{place(row)} {money(row['sales'], currency)}" for row in largest_first[:NAMED]]
    rest = largest_first[NAMED:]
    if rest:
        together = money(str(sum(Decimal(row["sales"]) for row in rest)), currency)
        named.append(f"{several(len(rest), 'more place')} {together} together")
    words = "Sales, but nothing to collect and nothing collected, in"
    return f"{words} {several(len(rows), 'place')}: {', '.join(named)}."


def silent(rows: list[Row]) -> str:
    """Count the places in which nothing happened in the period."""
    return f"Nothing at all in this period in {several(len(rows), 'more place')}." if rows else ""


def since_duty(record: dict[str, Any], width: int) -> Pieces:
    """Show per place what has added up since the duty began; collected and paid over stand side by side."""
    held = [row for row in record["places"] if row.get("since_duty")]
    filled = sorted((row for row in held if _added_up(row["since_duty"])), key=_since_weight)
    if not filled:
        return []
    wide, currency = width >= WIDE, record["currency"]
    parts = ("Should have collected", "Collected", "Not collected", "Paid over")
    apart = [Column("Duty since")] if wide else []
    first = Column("Place" if wide else "Place\n  duty since")
    columns = [first, *apart, *(Column(words, number=True) for words in parts)]
    as_of = record["as_of"]
    rows = [_since_row(row, currency, as_of, wide=wide) for row in filled]
    words = "Paid over is what your profile says; what it does not say is not shown as paid."
    present = [row for row in held if not _ended(row, as_of)]
    empty = _empty(row for row in present if not _added_up(row["since_duty"]))
    below = "\n".join(words for words in (_causes(present), empty) if words)
    return [
        *heading("Since the duty began"),
        paragraph(words),
        *figures(columns, rows, filled[0]["caution"], below),
    ]


def _added_up(since: Row) -> bool:
    """Tell whether anything at all has added up."""
    ranges = (value for name in SPREADS for value in since[name].values())
    return any(Decimal(amount) for amount in (since["collected"], since["remitted"], *ranges))


def _since_weight(row: Row) -> tuple[Decimal, str]:
    """Put the largest shortfall first."""
    return -Decimal(row["since_duty"]["shortfall"]["expected"]), row["place"]


def _ended(row: Row, as_of: str) -> bool:
    """Tell whether the last stretch of duty at a place was over before the day of the review."""
    return bool(row.get("duty_until")) and row["duty_until"] < as_of


def _since_row(row: Row, currency: str, as_of: str, *, wide: bool) -> list[Cell]:
    """Write one place with the day its duty began, and the day it ended where it is over."""
    since = row["since_duty"]
    to_collect, shortfall = (spread(since[name], currency) for name in SPREADS)
    collected, remitted = (money(since[name], currency) for name in ("collected", "remitted"))
    began = day(since["from"]) + (f" until {day(row['duty_until'])}" if _ended(row, as_of) else "")
    head: list[Cell] = [stacked(marked(row)), began] if wide else [stacked(marked(row), began)]
    return [*head, to_collect, collected, shortfall, remitted]


def _causes(rows: list[Row]) -> str:
    """Say why there are duties: places by cause, a cause of many places with their number only."""
    by_cause: dict[str, list[str]] = {}
    for row in rows:
        if row.get("cause"):
            by_cause.setdefault(row["cause"], []).append(place(row))
    parts = [
        f"{CAUSE.get(cause, printable(cause).replace('_', ' '))}: "
        f"{', '.join(named) if len(named) <= FEW else several(len(named), 'place')}"
        for cause, named in sorted(by_cause.items(), key=lambda item: len(item[1]))
    ]
    return f"Why there is a duty: {'; '.join(parts)}." if parts else ""


def _empty(rows: Iterable[Row]) -> str:
    """Name the places with a duty under which nothing has added up."""
    named = [place(row) for row in rows]
    return f"A duty, but nothing to collect so far: {', '.join(named)}." if named else ""
