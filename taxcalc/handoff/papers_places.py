"""Sheets by place: the summary of the period, what has added up since a duty began, its quarters, and the limits."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.handoff.sheet import Head, Row, Sheet, amount

if TYPE_CHECKING:
    from collections.abc import Iterable

Record = dict[str, Any]

RESTS: Final = {
    "official": "computed: your files, official sources",
    "secondary": "computed: your files, secondary sources",
    "unconfirmed": "computed: your files, and an assumption (unconfirmed row)",
}
"""What a figure rests on, by the weakest table row behind it."""
RANGE: Final = ("low", "expected", "high")


def summary(record: Record) -> Sheet:
    """Every place of the period."""
    total = record["totals"]
    ranged = {name: [Decimal(total[name][end]) for end in RANGE] for name in ("to_collect", "fulfiller_tax")}
    places = record["places"]

    def added(name: str, end: str) -> Decimal:
        return sum((Decimal(row[name][end]) for row in places), Decimal(0))

    heads = (
        Head("Place"),
        Head("Name"),
        Head("Regime"),
        Head("Orders", "count"),
        Head("Sales", "money", amount(total["sales"]), "total_sales"),
        Head("through marketplaces", "money", amount(total["marketplace_sales"]), "total_marketplace_sales"),
        Head("Duty since", "day"),
        Head("Why"),
        Head("Should collect, low", "money", added("to_collect", "low")),
        Head("Should collect", "money", ranged["to_collect"][1], "total_to_collect"),
        Head("Should collect, high", "money", added("to_collect", "high")),
        Head("Collected", "money", amount(total["collected"]), "total_collected"),
        Head("Not collected", "money", Decimal(total["shortfall"]["expected"]), "total_not_collected"),
        Head("Collected too much", "money", amount(total["over_collected"])),
        Head(
            "Collected without a duty", "money", amount(total["collected_without_duty"]), "total_without_duty"
        ),
        Head("Fulfiller may charge, low", "money", added("fulfiller_tax", "low")),
        Head("Fulfiller may charge", "money", ranged["fulfiller_tax"][1], "total_fulfiller_tax"),
        Head("Fulfiller may charge, high", "money", added("fulfiller_tax", "high")),
        Head("Fulfiller charged", "money", amount(total["fulfiller_tax_charged"]), "total_fulfiller_charged"),
        Head("Avoidable", "money", added_plain(places, "fulfiller_tax_avoidable")),
        Head("Rests on"),
        Head("Oldest check", "day"),
    )
    rows = [
        (
            row["place"],
            row["name"],
            row["regime"],
            row["orders"],
            amount(row["sales"]),
            amount(row["marketplace_sales"]),
            row["duty_from"],
            "; ".join(row["why"][:2]),
            *(amount(row["to_collect"][end]) for end in RANGE),
            amount(row["collected"]),
            amount(row["shortfall"]["expected"]),
            amount(row["over_collected"]),
            amount(row["collected_without_duty"]),
            *(amount(row["fulfiller_tax"][end]) for end in RANGE),
            amount(row["fulfiller_tax_charged"]),
            amount(row["fulfiller_tax_avoidable"]),
            RESTS[row["basis"]],
            row["checked_on"],
        )
        for row in places
    ]
    about = ("The period, by place. A sum of highs is an outer bound: not all can come true at once.",)
    return _sheet(record, "B", "summary", "Summary by place", about, heads, rows)


def added_plain(rows: Iterable[Record], name: str) -> Decimal:
    """Add one amount up over rows."""
    return sum((Decimal(row[name]) for row in rows), Decimal(0))


def since(record: Record) -> Sheet:
    """Each place with a duty, since it began, with what the profile says was paid over."""
    held = [row for row in record["places"] if row.get("since_duty")]
    heads = (
        Head("Place"),
        Head("Name"),
        Head("Duty since", "day"),
        Head("Cause"),
        Head("Should have collected", "money"),
        Head("Collected", "money"),
        Head("Not collected, low", "money"),
        Head("Not collected", "money"),
        Head("Not collected, high", "money"),
        Head("Paid over (seller's statement)", "money"),
    )
    rows = [
        (
            row["place"],
            row["name"],
            row["since_duty"]["from"],
            row["cause"],
            amount(row["since_duty"]["to_collect"]["expected"]),
            amount(row["since_duty"]["collected"]),
            *(amount(row["since_duty"]["shortfall"][end]) for end in RANGE),
            amount(row["since_duty"]["remitted"]),
        )
        for row in held
    ]
    about = (
        "Since the last stretch of duty began.",
        "Paid over is what the seller says; tax that is not shown as paid is held for the state.",
    )
    return _sheet(record, "C", "since-duty", "Since the duty began", about, heads, rows)


def quarters(record: Record) -> Sheet:
    """Every quarter of every stretch of duty: what a voluntary disclosure would start from."""
    heads = (
        Head("Place"),
        Head("Quarter"),
        Head("Should have collected, low", "money"),
        Head("Should have collected", "money"),
        Head("Should have collected, high", "money"),
        Head("Collected", "money"),
        Head("Not collected, low", "money"),
        Head("Not collected", "money"),
        Head("Not collected, high", "money"),
        Head("In the usual look-back since", "day"),
    )
    rows: list[Row] = []
    for place in record.get("look_back") or ():
        begins = (place.get("disclosure") or {}).get("from")
        rows += [
            (
                place["place"],
                one["quarter"],
                *(amount(one["to_collect"][end]) for end in RANGE),
                amount(one["collected"]),
                *(amount(one["shortfall"][end]) for end in RANGE),
                begins,
            )
            for one in place["quarters"]
        ]
    about = (
        "No quarter and no place pays for another. How far back a state looks is a fact of practice (an assumption), no right.",
        "Talk to a professional about a voluntary disclosure before registering anywhere.",
    )
    return _sheet(record, "D", "quarters", "What was not collected, by quarter", about, heads, rows)


def limits(record: Record) -> Sheet:
    """Every limit and where the shop stands."""
    heads = (
        Head("Place"),
        Head("Name"),
        Head("Measure"),
        Head("Currency"),
        Head("From", "day"),
        Head("To", "day"),
        Head("Value", "row_money"),
        Head("Limit", "row_money"),
        Head("Used, percent", "percent"),
        Head("Status"),
        Head("Crossed on", "day"),
        Head("By order"),
        Head("Duty from", "day"),
        Head("Duty until", "day"),
        Head("May reach, low", "row_money"),
        Head("May reach", "row_money"),
        Head("May reach, high", "row_money"),
        Head("Complete"),
        Head("Rests on"),
        Head("Table rows", "long"),
    )
    rows = [
        (
            row["place"],
            row["name"],
            row["measure"],
            row["currency"],
            row["window_start"],
            row["window_end"],
            Decimal(str(row["value"])),
            Decimal(str(row["limit"])),
            Decimal(str(row["share"])),
            row["status"],
            row["crossed_on"],
            row["crossed_by"],
            row["duty_from"],
            row["duty_until"],
            *(
                None if row[name] is None else Decimal(str(row[name]))
                for name in ("projected_p10", "projected_p50", "projected_p90")
            ),
            "no: sales before the files are not known" if row["incomplete"] else "yes",
            RESTS[row["basis"]],
            row["row_ids"],
        )
        for row in record["thresholds"]
    ]
    about = (
        "Values are amounts in the currency of the row, or numbers of sales.",
        "What may be reached is an assumption from the shop's own past.",
    )
    return _sheet(record, "E", "limits", "Limits (thresholds)", about, heads, rows)


def _sheet(
    record: Record,
    code: str,
    name: str,
    title: str,
    about: tuple[str, ...],
    heads: tuple[Head, ...],
    rows: list[Row],
) -> Sheet:
    """Build a sheet of the record."""
    return Sheet(code, name, title, about, heads, tuple(rows), record["caution"], record["currency"])
