"""What selling there would do to the whole shop: which limits move, and the tax of the quarter that follows."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.destination.made_up import spread_over
from taxcalc.money import write_amount

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.destination.runs import Shop
    from taxcalc.destination.waterfall import Waterfall
    from taxcalc.duties import ThresholdRow

MONTHS = 3


def effect(shop: Shop, now: Waterfall, on: date, a_month: int) -> dict[str, Any]:
    """Compare the shop three months later with and without so many such orders a month."""
    line = now.line
    lines = spread_over(line.place, line.ship_from, line.order, on + timedelta(days=1), a_month, MONTHS)
    until = lines[-1].on
    before, after = shop.assess([], until), shop.assess(lines, until)
    sums = after.lines_of([one.number for one in lines])
    currency = line.order.currency
    return {
        "monthly_orders": a_month,
        "from": lines[0].on.isoformat(),
        "to": until.isoformat(),
        "currency": currency,
        "to_collect": _ends(sums, "to_collect", currency),
        "fulfiller_tax": _ends(sums, "fulfiller_tax", currency),
        "limits": _moved(before, after),
        "caution": CAUTION,
    }


def _ends(sums: Any, name: str, currency: str) -> dict[str, str]:  # noqa: ANN401 - a frame
    """Add up the three ends."""
    columns = {"low": f"{name}_low", "expected": name, "high": f"{name}_high"}
    return {end: write_amount(int(sums[column].sum()), currency) for end, column in columns.items()}


def _moved(before: Assessment, after: Assessment) -> list[dict[str, Any]]:
    """List the limits whose value differs, the most used first."""
    was = {(r.place, r.measure, r.limit): r for r in before.sorted_thresholds}
    moved = []
    for row in after.sorted_thresholds:
        old = was.get((row.place, row.measure, row.limit))
        if row.value != (old.value if old else 0):
            moved.append((row, old))
    moved.sort(key=lambda pair: -pair[0].share_tenths)
    return [_limit(row, old) for row, old in moved]


def _limit(row: ThresholdRow, old: ThresholdRow | None) -> dict[str, Any]:
    """Write one limit before and after."""

    def write(value: int) -> str | int:
        return write_amount(value, row.currency) if row.currency else value

    code = places.code(row.place)
    return {
        "place": code,
        "name": places.name(code),
        "measure": row.measure,
        "currency": row.currency,
        "limit": write(row.limit),
        "before": write(old.value if old else 0),
        "after": write(row.value),
        "status_before": old.status if old else "clear",
        "status_after": row.status,
        "share_after": row.share_tenths / 10,
        "caution": CAUTION,
    }
