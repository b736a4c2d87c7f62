"""A sheet of the workbook as plain data: one table, what it is about, where its figures come from, and its caution."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal

Kind = Literal["text", "long", "day", "count", "money", "row_money", "percent", "number"]
"""`money` is an amount in the currency of the sheet, `row_money` one in that of its row (column `Currency`; none: a count)."""
CURRENCY = "Currency"
"""Title of the column that names the currency of a row."""
Cell = str | int | Decimal | None
Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Head:
    """A column: its title, what kind of values it has, and the engine's own total where it is added up.

    `total` is what the program computed another way; the sheet adds the column up with a formula and shows both.
    `name` is the defined name of that total.
    """

    title: str
    kind: Kind = "text"
    total: Decimal | int | None = None
    name: str = ""


@dataclass(frozen=True)
class Sheet:
    """One sheet: a code that never changes between runs, its name, and a table whose rows are as wide as `heads`.

    `currency` gives the decimals of its money columns. Raises `ValueError` where the caution is missing or a row does not
    fit.
    """

    code: str
    name: str
    title: str
    about: tuple[str, ...]
    heads: tuple[Head, ...]
    rows: tuple[Row, ...]
    caution: str
    currency: str
    empty: str = "Nothing to show here."
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        """Refuse a sheet without its caution, and rows of another width."""
        if not self.caution.strip():
            message = f"the sheet {self.name!r} carries no caution, so it must not be written"
            raise ValueError(message)
        if any(len(row) != len(self.heads) for row in self.rows):
            message = f"a row of the sheet {self.name!r} does not fit its columns"
            raise ValueError(message)

    def currency_of(self, row: Row) -> str:
        """Give the currency that a row names, "" where it names none."""
        at = next((at for at, head in enumerate(self.heads) if head.title == CURRENCY), None)
        return "" if at is None else str(row[at] or "")

    @property
    def tab(self) -> str:
        """The name on its tab, which is that of its CSV file too."""
        return f"{self.code}-{self.name}"

    def frame_columns(self) -> dict[str, list[Any]]:
        """Give the columns by title, for the CSV file."""
        return {head.title: [row[at] for row in self.rows] for at, head in enumerate(self.heads)}


def amount(text: str | None) -> Decimal | None:
    """Read a decimal text of the record; None and blanks stay None."""
    return Decimal(text) if text not in (None, "") else None
