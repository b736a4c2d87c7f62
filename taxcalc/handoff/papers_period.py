"""The period by regime: place by place as a return would ask for it, one-stop-shop figures, and why sales bear no tax."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.handoff.sheet import Head, Row, Sheet
from taxcalc.reasons import REASONS

if TYPE_CHECKING:
    from collections.abc import Container

    from taxcalc.handoff.gathered import Gathered

Record = dict[str, Any]

COLUMNS: Final = {
    "marketplace_collects": "Collected by a marketplace",
    "exempt_goods": "Exempt goods",
    "exempt_buyer": "Exempt buyers and resale",
    "below_threshold": "No duty",
    "no_tax_here": "No such tax",
    "unknown_place": "Place not known",
    "own_use": "Own use",
}
"""What sales without tax of the seller's are, by their answer."""


def us_period(record: Record, gathered: Gathered) -> Sheet:
    """One row a state: gross, what is not taxed and why, taxable, tax by state and local part, collected, shortfall."""
    return _period(record, gathered, "us", ("I", "us-period", "United States: the period by state"), COLUMNS)


EU_COLUMNS: Final = {
    "marketplace_collects": "Marketplace is the supplier",
    "buyer_accounts": "Buyer accounts for it",
    "exempt_small_business": "Small-business scheme",
    "zero_rated_export": "Exports",
    "import_at_border": "Import VAT at the border",
    "exempt_buyer": "Exempt buyers",
    "no_tax_here": "Outside the Union's VAT",
    "own_use": "Own use",
}


def eu_period(record: Record, gathered: Gathered) -> Sheet:
    """One row a place where such sales are taxed."""
    return _period(
        record,
        gathered,
        "eu",
        ("J", "eu-period", "European Union: the period by place of supply"),
        EU_COLUMNS,
    )


TAX: Final = {
    "taxable": "Taxable amount, without tax",
    "state_tax": "Tax: state part",
    "local_tax": "Tax: local part",
    "to_collect_low": "Should collect, low",
    "to_collect": "Should collect",
    "to_collect_high": "Should collect, high",
    "collected": "Collected",
    "shortfall": "Difference",
}
"""Columns of sums over lines, by their names there."""
OTHER: Final = "Other sales without tax (see the reasons)"


def _period(
    record: Record, gathered: Gathered, regime: str, named: tuple[str, str, str], columns: dict[str, str]
) -> Sheet:
    """Build the sheet of a regime from the lines of the period."""
    by_place = _by_place(gathered, regime, columns)
    titles = {
        "gross": "Gross sales, as charged",
        **columns,
        "other": OTHER,
        "inside": "On duty: not taxed, or tax inside the price",
        **TAX,
    }
    if regime != "us":
        titles["state_tax"] = "VAT"
        del titles["local_tax"]
    totals = {name: sum((sums[name] for sums in by_place.values()), Decimal(0)) for name in titles}
    totals |= _of_record(record, regime)
    heads = (
        Head("Place"),
        Head("Lines", "count", int(sum(sums["lines"] for sums in by_place.values()))),
        *(Head(title, "money", totals[name], f"{regime}_{name}") for name, title in titles.items()),
    )
    rows: list[Row] = [
        (place, int(sums["lines"]), *(sums[name] for name in titles))
        for place, sums in sorted(by_place.items())
    ]
    about = (
        "Added up from the lines of the period, each converted on its order day.",
        "Gross = the columns of sales + the taxable amount + what is left of sales on duty.",
        "The difference is signed: what should have been collected less what was, where there is a duty.",
        "Figures for a return, not a return.",
    )
    code, name, title = named
    return Sheet(code, name, title, about, heads, tuple(rows), record["caution"], record["currency"])


def _by_place(
    gathered: Gathered, regime: str, columns: Container[str]
) -> dict[str, defaultdict[str, Decimal]]:
    """Add the lines of a regime up by place: sales by what they are (each in one column), and the sums of tax."""
    by_place: dict[str, defaultdict[str, Decimal]] = {}
    for one in gathered.by_reason:
        if one["regime"] != regime:
            continue
        sums, sales = by_place.setdefault(one["place"], defaultdict(Decimal)), Decimal(one["sales"])
        sums["gross"] += sales
        sums["lines"] += one["lines"]
        if one["duty"] == "collect":
            sums["inside"] += sales - Decimal(one["taxable"])
        else:
            sums[one["duty"] if one["duty"] in columns else "other"] += sales
        for name in TAX:
            sums[name] += Decimal(one[name])
    return by_place


def _of_record(record: Record, regime: str) -> dict[str, Decimal]:
    """Give the totals that the review itself has of a regime, so that the sums of lines are held against them."""
    rows = [row for row in record["places"] if row["regime"] == regime]
    return {
        "gross": sum((Decimal(row["sales"]) for row in rows), Decimal(0)),
        "to_collect": sum((Decimal(row["to_collect"]["expected"]) for row in rows), Decimal(0)),
        "collected": sum((Decimal(row["collected"]) for row in rows), Decimal(0)),
    }


def elsewhere_period(record: Record, gathered: Gathered) -> Sheet:
    """One row a place without rules of its own here: what was sold there and collected, and no tax, because it is not known."""
    by_place: dict[str, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for one in gathered.by_reason:
        if one["regime"] == "elsewhere":
            sums = by_place[one["place"]]
            for name in ("lines", "sales", "collected", "fulfiller_tax_charged"):
                sums[name] += Decimal(one[name])
    totals = _of_record(record, "elsewhere")
    charged = sum((sums["fulfiller_tax_charged"] for sums in by_place.values()), Decimal(0))
    heads = (
        Head("Place"),
        Head("Lines", "count", int(sum(sums["lines"] for sums in by_place.values()))),
        Head("Gross sales, as charged", "money", totals["gross"], "elsewhere_gross"),
        Head("Collected", "money", totals["collected"], "elsewhere_collected"),
        Head("Fulfiller charged", "money", charged),
        Head("Tax there"),
    )
    rows: list[Row] = [
        (
            *(place, int(sums["lines"]), sums["sales"], sums["collected"]),
            *(sums["fulfiller_tax_charged"], "not known"),
        )
        for place, sums in sorted(by_place.items())
    ]
    about = (
        "No rules are held for these places: what should be collected there is not known and in no figure of this folder.",
    )
    title = "Elsewhere: the period by place"
    return Sheet("J4", "elsewhere", title, about, heads, tuple(rows), record["caution"], record["currency"])


def reasons(record: Record, gathered: Gathered) -> Sheet:
    """Sales of the period by place and reason, in words."""
    heads = (
        Head("Regime"),
        Head("Place"),
        Head("Answer"),
        Head("Why", "long"),
        Head("Lines", "count", sum(one["lines"] for one in gathered.by_reason)),
        Head("Sales", "money", sum((Decimal(one["sales"]) for one in gathered.by_reason), Decimal(0))),
        Head(
            "Should collect",
            "money",
            sum((Decimal(one["to_collect"]) for one in gathered.by_reason), Decimal(0)),
        ),
    )
    rows: list[Row] = [
        (
            one["regime"],
            one["place"],
            one["duty"].replace("_", " "),
            REASONS[one["reason"]],
            one["lines"],
            Decimal(one["sales"]),
            Decimal(one["to_collect"]),
        )
        for one in gathered.by_reason
    ]
    about = ("Every line of the period, by the reason for which it is treated as it is.",)
    return Sheet(
        "J3",
        "reasons",
        "The period by place and reason",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
    )
