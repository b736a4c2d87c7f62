"""Must the seller register there: now, later or not at all; what exactly would trigger it, and when at N orders a month."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.destination.made_up import spread_over
from taxcalc.destination.waterfall import NOT_HELD
from taxcalc.facts import DISTANCE_SALES, OPEN
from taxcalc.money import write_amount
from taxcalc.reasons import BY_ONE_STOP_SHOP, LOCAL_REGISTRATION
from taxcalc.served import served_since
from taxcalc.tables.schema import BASES, NO_VALUE

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.assessment import Assessment
    from taxcalc.destination.runs import Shop
    from taxcalc.destination.waterfall import Waterfall
    from taxcalc.tables.table import Table

MONTHS_AHEAD: Final = 24
"""Months over which made-up orders are looked at, so that rules that look at whole calendar years are met too."""

NEVER: Final = (
    "no_tax_here",
    "marketplace_collects",
    "zero_rated_export",
    "own_use",
    "exempt_buyer",
    "buyer_accounts",
)
ANSWERS: Final = {
    "registered": "You are registered for it.",
    "now": "You would have to register before or with the first sale.",
    "later": "Not yet: only once a limit is met.",
    "choice": "No duty: the tax is asked at the border unless you choose the import one-stop shop.",
    "border": "No duty: tax and customs are asked at the border.",
    "not_needed": "No registration is needed for such sales.",
    "unknown": "Not known here.",
}


def answer(now: Waterfall) -> str:
    """Choose one of ANSWERS for a made-up order."""
    if now.reason.startswith(NOT_HELD) or now.duty == "unknown_place":
        return "unknown"
    if now.duty == "collect":
        if now.reason == "eu_under_limit":
            return "later"
        terms, facts = now.assessment.run.terms, now.assessment.run.facts
        since = served_since(terms, facts)[now.case]
        return "registered" if since != OPEN else "now"
    if now.duty == "import_at_border":
        return "choice" if now.reason == "eu_import_without_ioss" else "border"
    return "not_needed" if now.duty in NEVER else "later"


def kind(now: Waterfall) -> str | None:
    """Say which registration is meant: on the spot, a one-stop shop, or that of a state; None where none is."""
    if now.reason in LOCAL_REGISTRATION:
        return "local"
    if now.reason in BY_ONE_STOP_SHOP:
        return "union_oss"
    if now.reason in ("eu_ioss", "eu_import_without_ioss"):
        return "ioss"
    if now.reason == "eu_under_limit":
        return "home"
    return "local" if now.duty == "collect" else None


def triggers(now: Waterfall, on: date, standing: Assessment | None) -> list[dict[str, Any]]:
    """List what would bring a duty about: limit, window, from when it binds and until when, and how far the shop is."""
    if places.regimes()[places.index(now.line.place)] == places.US:
        return _us_triggers(now, on, standing)
    if now.reason in ("eu_under_limit", "eu_over_limit"):
        return _union_triggers(now, standing)
    return []


def _us_triggers(now: Waterfall, on: date, standing: Assessment | None) -> list[dict[str, Any]]:
    """Write the row of us/thresholds that holds on the day, with its window, start and end rules in words."""
    tables, code, day = now.assessment.run.facts.tables, places.index(now.line.place), number(on)
    table = tables["us/thresholds"]
    row = table.row(day, place=code)
    if row < 0 or table["duty_kind"][row] != "collect":
        return []
    shared = {
        "window": _meaning(tables["us/windows"], "window", str(table["window"][row])),
        "binds_from": _rule(now, "us/threshold_starts", "start_rule", "us/start_rules", code, day),
        "ends": _rule(now, "us/duty_ends", "end_rule", "us/end_rules", code, day),
        "connector": str(table["connector"][row]),
        "marketplace_sales_count": table.printed("marketplace_sales_count")[row],
        **_proof(table, row, ("amount", "amount_met_when", "transactions", "connector", "window")),
    }
    currency = str(table["currency"][row]) or "USD"
    found = []
    for measure, column, money in (("amount", "amount", currency), ("transactions", "transactions", "")):
        limit = int(table[column][row])
        if limit != NO_VALUE:
            met = str(table[f"{column}_met_when"][row])
            found.append(_trigger(now.line.place, measure, limit, money, met, standing) | shared)
    return found


def _union_triggers(now: Waterfall, standing: Assessment | None) -> list[dict[str, Any]]:
    """Write the Union-wide limit of cross-border sales to consumers."""
    facts = now.assessment.run.facts
    table, row = facts.tables["eu/thresholds"], facts.union_limit_row
    if row < 0:
        return []
    shared = {
        "window": "This calendar year and the one before, all member states together, without VAT.",
        "binds_from": "The sale that passes the limit.",
        "ends": "A calendar year after one in which the limit was not passed.",
        "connector": "amount_only",
        "marketplace_sales_count": "yes",
        **_proof(table, row, ("amount", "met_when")),
    }
    limit, met = int(table["amount"][row]), str(table["met_when"][row])
    return [
        _trigger("EU", "amount", limit, facts.union_currency, met, standing)
        | shared
        | {"measure_of": DISTANCE_SALES}
    ]


def _trigger(
    place: str, measure: str, limit: int, currency: str, met: str, standing: Assessment | None
) -> dict[str, Any]:
    """Write one limit and where the shop stands against it by its history; nothing of it where there is none."""
    rows = [] if standing is None else standing.sorted_thresholds
    held = next((r for r in rows if r.place == places.index(place) and r.measure == measure), None)

    def write(value: int) -> str | int:
        return write_amount(value, currency) if currency else value

    return {
        "place": place,
        "measure": measure,
        "currency": currency,
        "limit": write(limit),
        "met_when": met,
        "value": write(held.value) if held else None,
        "share": held.share_tenths / 10 if held else None,
        "status": held.status if held else None,
        "incomplete": bool(held.incomplete) if held else True,
        "caution": CAUTION,
    }


def _rule(now: Waterfall, dated: str, column: str, words: str, code: int, day: int) -> str | None:
    """Say a start or end rule of a state in the words of its table."""
    tables = now.assessment.run.facts.tables
    table = tables[dated]
    row = table.row(day, place=code)
    return _meaning(tables[words], column, str(table[column][row])) if row >= 0 else None


def _meaning(table: Table, column: str, name: str) -> str:
    """Give the meaning of a name of a rule."""
    rows = np.flatnonzero(table[column][:-1] == name)
    return str(table["meaning"][rows[0]]) if rows.size else name


def _proof(table: Table, row: int, columns: tuple[str, ...]) -> dict[str, Any]:
    """Name the row, its basis over the columns used, and its source."""
    at = np.array([row])
    return {
        "row": str(table.row_ids(at)[0]),
        "basis": BASES[int(table.basis(at, *columns)[0])],
        "checked_on": to_day(int(table.checked_on(at)[0])).isoformat(),
        "sources": sorted(table.sources(at)),
    }


def forecast(shop: Shop, now: Waterfall, on: date, a_month: int) -> dict[str, Any]:
    """Say from which day the seller would have to collect at so many such orders a month, by running them."""
    line = now.line
    lines = spread_over(line.place, line.ship_from, line.order, on, a_month, MONTHS_AHEAD)
    after = shop.assess(lines, lines[-1].on)
    codes = (
        {places.index(line.place), places.index("EU")}
        if places.regimes()[places.index(line.place)] == places.EU
        else {places.index(line.place)}
    )
    starts = [
        i.start.day
        for i in after.intervals
        if i.place in codes and i.cause == "threshold" and i.until >= number(on)
    ]
    first = min(starts, default=OPEN)
    return {
        "monthly_orders": a_month,
        "until": lines[-1].on.isoformat(),
        "duty_from": to_day(max(first, number(on))).isoformat() if first < OPEN else None,
        "months_looked_at": MONTHS_AHEAD,
    }
