"""Stock of the seller that is no physical presence by a state's own rule: the rows of `us/stock_rules`.

The profile says that there is stock in a state, not at whose place; own premises are a kind of their own. Where a state says
that stock at an outside fulfiller makes nobody a seller there, such a presence binds at the high end only.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import number

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.seller import Presence
    from taxcalc.tables.load import Table

STOCK = "stock"


def by_stock_rules(
    presences: Iterable[Presence], table: Table
) -> tuple[tuple[Presence, ...], tuple[Presence, ...]]:
    """Give the presences that bind, and those that do not by a row of us/stock_rules; cut where the rule changes."""
    binding: list[Presence] = []
    not_counted: list[Presence] = []
    for presence in presences:
        known = presence.kind == STOCK and presence.place in places.codes()
        for piece in _pieces(presence, table) if known else [presence]:
            (not_counted if known and _is_none(piece, table) else binding).append(piece)
    return tuple(binding), tuple(not_counted)


def _is_none(piece: Presence, table: Table) -> bool:
    """Tell whether the row in force on the first day of a piece says that stock is no presence."""
    row = table.row(number(piece.from_day), place=piece.place)
    return bool(table["at_outside_fulfiller"][row] == "no_presence")


def _pieces(presence: Presence, table: Table) -> list[Presence]:
    """Cut a presence at the days on which the rule of its place changes."""
    changes = [to_day(int(day)) for day in table.change_days(places.index(presence.place))]
    until = presence.until_day
    inside = [day for day in changes if day > presence.from_day and (until is None or day <= until)]
    begins = [presence.from_day, *inside]
    ends = [*(day - timedelta(days=1) for day in inside), until]
    return [replace(presence, from_day=begin, until_day=end) for begin, end in zip(begins, ends, strict=True)]
