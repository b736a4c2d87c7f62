"""The tie-out: rows and amounts read are rows and amounts used plus rows and amounts set aside.

Amounts are kept as Python integers of minor units per currency and column. A value that could not be read
as an amount, or whose currency could not be read, has no amount and counts in rows only.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc.caution import CAUTION
from taxcalc.columns import AMOUNT_CURRENCY, AMOUNTS
from taxcalc.messages import refuse
from taxcalc.money import CURRENCIES, write_amount

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from taxcalc.spool import Lines

    Sums = Mapping[tuple[int, str], int]


ALWAYS_SHOWN = "item_amount"
"""The column that names every currency that occurs; others are left out where nothing was read in them."""


@dataclass
class Tally:
    """One currency and one amount column: minor units read, and of these set aside."""

    read: int = 0
    set_aside: int = 0

    @property
    def used(self) -> int:
        """Minor units that went into the figures."""
        return self.read - self.set_aside


@dataclass
class TieOut:
    """Rows and amounts read, and what became of them."""

    rows_read: int = 0
    by_reason: Counter[str] = field(default_factory=Counter)
    amounts: defaultdict[tuple[int, str], Tally] = field(default_factory=lambda: defaultdict(Tally))

    @property
    def rows_set_aside(self) -> int:
        """Rows that were set aside, for whatever reason."""
        return self.by_reason.total()

    @property
    def rows_used(self) -> int:
        """Rows that went into the figures."""
        return self.rows_read - self.rows_set_aside

    def add_read(self, rows: int, sums: Sums) -> None:
        """Count rows that were read, with the sums of their readable amounts."""
        self.rows_read += rows
        for key, minor in sums.items():
            self.amounts[key].read += minor

    def put_aside(self, reasons: Mapping[str, int], sums: Sums) -> None:
        """Count rows (already counted as read) that are set aside, by reason, with their readable amounts."""
        self.by_reason.update(reasons)
        for key, minor in sums.items():
            self.amounts[key].set_aside += minor

    def check(self, used_rows: int, used_amounts: Sums) -> None:
        """Compare with what the figures were really made from; raises E701 where rows or amounts differ."""
        if used_rows != self.rows_used:
            raise refuse("E701", detail=f"{self.rows_used} rows should be used, {used_rows} were")
        for key in self.amounts.keys() | used_amounts.keys():
            expected = self.amounts[key].used if key in self.amounts else 0
            if used_amounts.get(key, 0) != expected:
                currency, column = CURRENCIES[key[0]], key[1]
                shown = [write_amount(minor, currency) for minor in (expected, used_amounts.get(key, 0))]
                detail = f"{column}, {currency}: {shown[0]} should be used, {shown[1]} was"
                raise refuse("E701", detail=detail)

    def as_dict(self) -> dict[str, Any]:
        """Give the `tie_out` part of the JSON record; amounts are strings with their currency's decimals."""
        amounts: dict[str, dict[str, dict[str, str]]] = {}
        for (code, column), tally in sorted(
            self.amounts.items(), key=lambda item: (item[0][0], AMOUNTS.index(item[0][1]))
        ):
            if not (tally.read or tally.set_aside or column == ALWAYS_SHOWN):
                continue
            currency = CURRENCIES[code]
            parts = {"read": tally.read, "used": tally.used, "set_aside": tally.set_aside}
            written = {name: write_amount(minor, currency) for name, minor in parts.items()}
            amounts.setdefault(currency, {})[column] = written
        return {
            "rows_read": self.rows_read,
            "rows_used": self.rows_used,
            "rows_set_aside": self.rows_set_aside,
            "by_reason": dict(sorted(self.by_reason.items())),
            "amounts": amounts,
            "caution": CAUTION,
        }


def sums_by_currency(columns: Mapping[str, NDArray[Any] | int], rows: int) -> dict[tuple[int, str], int]:
    """Sum the amount columns (those that are not the same throughout) by currency code, in minor units.

    `columns` holds them and their currency columns; a negative currency code is no currency. An int
    stands for a column that is the same on all `rows` rows.
    """
    sums: dict[tuple[int, str], int] = {}
    masks: dict[str, dict[int, NDArray[np.bool_]]] = {}
    for column in AMOUNTS:
        values, name = columns[column], AMOUNT_CURRENCY[column]
        currency = columns[name]
        if isinstance(currency, int):
            sums[currency, column] = values * rows if isinstance(values, int) else int(values.sum())
            continue
        if name not in masks:
            masks[name] = {code: currency == code for code in np.unique(currency).tolist()}
        left = values * rows if isinstance(values, int) else int(values.sum())
        for code, mask in list(masks[name].items())[:-1]:
            part = (
                values * int(np.count_nonzero(mask)) if isinstance(values, int) else int(values[mask].sum())
            )
            sums[code, column] = part
            left -= part
        if masks[name]:
            sums[list(masks[name])[-1], column] = left
    return {key: minor for key, minor in sums.items() if key[0] >= 0 and (minor or key[1] == ALWAYS_SHOWN)}


def sums_of(lines: Lines) -> dict[tuple[int, str], int]:
    """Sum every amount column of lines by its currency."""
    names = (*AMOUNTS, *AMOUNT_CURRENCY.values())
    return sums_by_currency({name: lines[name] for name in names}, lines.size)
