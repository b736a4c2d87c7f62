"""What was tried on a line and changed a figure of it, as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION
from taxcalc.explain.price_and_day import at_the_limit, differs, other_days
from taxcalc.money import write_amount
from taxcalc.reasons import REASONS
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from taxcalc.explain.changes import Again, Change
    from taxcalc.explain.line import OneLine
    from taxcalc.figures import LineFigures

GIVES_TAX: Final = ("to_collect", "fulfiller_tax")
"""Figures that are held against those of the line as it was."""


def what_would_change(line: OneLine, again: Again, tried: list[Change]) -> list[dict[str, Any]]:
    """List what would have changed the figures of the line, same answers put together."""
    if line.matched:
        return []
    own = [*tried, *at_the_limit(line, again), *other_days(line, again)]
    now = set(line.ledger.cite(*line.used(line.terms.collect), *line.used(line.terms.fulfiller)))
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for change in own:
        if not differs(line, change, only_expected=change.kind == "site"):
            continue
        shown = _changed(line, change.figures)
        rows = line.ledger.cite(*change.rows_of(line.at))
        key = (change.kind if change.kind != "day" else change.says, str(shown))
        if key in found:
            found[key]["says"] += f", or {change.says[:1].lower()}{change.says[1:].removeprefix('If ')}"
        else:
            new = [row for row in rows if row not in now]
            then = _then(line, change)
            found[key] = {"kind": change.kind, "says": change.says, "then": then, "rows": new, **shown}
    return list(found.values())


def _then(line: OneLine, change: Change) -> list[str]:
    """Say which reason would hold instead, on either side, where it is another one."""
    now, at = line.terms, change.first + line.at
    sides = ((now.collect, change.terms.collect), (now.fulfiller, change.terms.fulfiller))
    reasons = [
        str(after.reason[at]) for before, after in sides if line.of_case(before.reason) != after.reason[at]
    ]
    return [REASONS[reason] for reason in reasons]


def _changed(line: OneLine, figures: LineFigures) -> dict[str, Any]:
    """Write the figures of the line after a change."""
    currencies = (line.currency, line.fulfiller_currency)
    found: dict[str, Any] = {"currency": currencies[0], "fulfiller_currency": currencies[1]}
    for name, currency in zip(GIVES_TAX, currencies, strict=True):
        ends = [int(getattr(figures, name)[end][line.at]) for end in SCENARIOS]
        rising = (min(ends[:2]), ends[1], max(ends[1:]))
        found[name] = {end: write_amount(tax, currency) for end, tax in zip(SCENARIOS, rising, strict=True)}
    return {**found, "caution": CAUTION}
