"""What changes in the figures between two records of the same orders: by place, by threshold, in the totals."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_NO_FIGURES: Final = frozenset(
    {"caution", "name", "checked_on", "basis", "why", "row_ids", "own_rows", "regime", "kind", "effect"}
)
NAMES: Final = frozenset({"crossed_by"})
"""Figures that name an order: their digits are no amount and have no difference."""
Part = dict[str, Any]


def figure_changes(before: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    """Give every figure of `places`, `thresholds` and `totals` that differs, with both values and the change.

    A figure that stands in one record only has None in the other. Changes are exact decimals; days, causes, statuses
    and orders have none.
    """
    currency = after["currency"]
    return {
        "caution": CAUTION,
        "currency": currency,
        "period": after["period"],
        "places": _changes(before["places"], after["places"], _by_place, currency),
        "thresholds": _changes(before["thresholds"], after["thresholds"], _by_measure, currency),
        "totals": _changes([before["totals"]], [after["totals"]], lambda _: (), currency),
    }


def _by_place(part: Part) -> tuple[str, ...]:
    """Tell places apart."""
    return (part["place"],)


def _by_measure(part: Part) -> tuple[str, ...]:
    """Tell thresholds apart."""
    return part["place"], part["measure"], part["kind"]


def _changes(
    before: list[Part], after: list[Part], key: Callable[[Part], tuple[str, ...]], currency: str
) -> list[Part]:
    """Compare the parts of one key."""
    old, new = ({key(part): part for part in parts} for parts in (before, after))
    found = []
    for each in sorted(old.keys() | new.keys()):
        one, other = old.get(each, {}), new.get(each, {})
        named = other or one
        was, now = dict(_figures(one)), dict(_figures(other))
        found += [
            {
                **{name: named[name] for name in ("place", "name", "measure", "kind") if name in named},
                "figure": figure,
                "before": was.get(figure),
                "after": now.get(figure),
                "difference": None if figure in NAMES else _difference(was.get(figure), now.get(figure)),
                "currency": named.get("currency", currency),
                "caution": CAUTION,
            }
            for figure in {**was, **now}
            if was.get(figure) != now.get(figure)
        ]
    return found


def _figures(part: Part, above: str = "") -> Iterator[tuple[str, Any]]:
    """Give every figure under a name such as `to_collect.low`; lists and words are none."""
    for name, value in part.items():
        if name in _NO_FIGURES or isinstance(value, list):
            continue
        if isinstance(value, dict):
            yield from _figures(value, f"{above}{name}.")
        else:
            yield f"{above}{name}", value


def _difference(before: object, after: object) -> str | None:
    """Subtract two amounts or counts."""
    try:
        return str(Decimal(str(after)) - Decimal(str(before)))
    except InvalidOperation:
        return None
