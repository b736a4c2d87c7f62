"""What was worked out again for an order, held against what the engine computed: any difference is a fault of ours."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.caution import CAUTION
from taxcalc.money import CURRENCIES, write_amount
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from taxcalc.explain.exact import Side
    from taxcalc.explain.found import Found


def differences(found: Found, sale: Side, purchase: Side) -> list[dict[str, Any]]:
    """List every figure of the order that does not come out again, with both values; empty where all do."""
    sides = (
        ("to_collect", "currency", sale, found.figures.to_collect),
        ("fulfiller_tax", "fulfiller_currency", purchase, found.figures.fulfiller_tax),
    )
    lines = found.bucket.lines
    result = []
    for name, currency_of, worked, figures in sides:
        for end in SCENARIOS:
            for at, one in enumerate(worked[end]):
                engine = int(figures[end][at])
                if one.tax != engine:
                    currency = CURRENCIES[int(lines[currency_of][at])]
                    result.append(
                        {
                            "line": found.shown.index(at) + 1,
                            "figure": f"{name} {end}",
                            "currency": currency,
                            "engine": write_amount(engine, currency),
                            "worked_out": write_amount(one.tax, currency),
                            "caution": CAUTION,
                        }
                    )
    return result
