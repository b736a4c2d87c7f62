"""The unit of the rates in a file: whichever makes the file's state rate the one that we hold for the state."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc import places
from taxcalc.local_rates.cells import OPEN, SHOWN, Column, ppm, rate, refused
from taxcalc.messages import complain, refuse
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from taxcalc.tables.load import Tables

    Ints = NDArray[np.int64]

UNITS: Final = {"fraction": 1_000_000, "percent": 10_000}
"""Parts per million in one of a rate's unit."""

RATE_FORM: Final = ("a rate", "Write digits with a point, without a sign: 0.065 or 6.5.")


def held_rates(tables: Tables, place: str) -> list[tuple[int, int, int]]:
    """List (first day, last day, parts per million) of the state's own rate, without a local part that is held in it."""
    table, extra = tables["us/state_rates"], tables["us/streamlined_states"]
    rows = np.unique(table.lookup(table["valid_from"][:-1], place=place))
    rows = rows[rows >= 0]
    rows = rows[np.argsort(table["valid_from"][rows])]
    starts = table["valid_from"][rows]
    stops = [*(starts[1:] - 1).tolist(), OPEN]
    inside = extra["uniform_local_percent"][extra.lookup(starts, place=place)]
    local = np.where(inside == NO_VALUE, 0, inside)
    rates = (table["state_percent"][rows] - local).tolist()
    return list(zip(starts.tolist(), stops, rates, strict=True))


def unit_of(
    stated: Iterable[tuple[int, int, Decimal]], held: list[tuple[int, int, int]], place: str, file: str
) -> str:
    """Find the unit in which a state rate of the file is, on some day, the rate held; raises E565 for none or both.

    `stated`: first day, last day and rate as written of the file's own rows of the state.
    """
    stated = list(stated)
    fit = [
        name
        for name, unit in UNITS.items()
        if any(
            value and ppm(value, unit) == held_ppm and start <= last and first <= stop
            for start, stop, value in stated
            for first, last, held_ppm in held
        )
    ]
    if len(fit) != 1:
        shown = ", ".join(sorted({str(value) for _, _, value in stated})[:SHOWN]) or "none at all"
        rates = ", ".join(sorted({percent(part) for _, _, part in held})[:SHOWN])
        raise refuse("E565", file=file, value=shown, place=places.name(place), code=place, held=rates)
    return fit[0]


def require_unit(unit: str, rates: Iterable[Decimal], tables: Tables, place: str, file: str) -> str:
    """Give the unit back where rates make sense in it, and as fractions only if that is the unit; raises E583.

    They make sense where none is above the highest whole rate held for the state.
    """
    states, local = tables["us/state_rates"], tables["us/local_rates"]
    most = max(states["state_percent"][states.rows(place=place)].tolist(), default=0)
    most += max(local["highest_percent"][local.rows(place=place)].tolist(), default=0)
    highest = max(rates, default=Decimal(0))
    fit = [name for name, each in UNITS.items() if highest * each <= most]
    if fit[:1] != [unit]:
        raise refuse("E583", file=file, value=str(highest), unit=unit)
    return unit


def percent(rate_ppm: int) -> str:
    """Write parts per million as percent."""
    whole, part = divmod(rate_ppm, UNITS["percent"])
    return f"{whole}.{part:04}".rstrip("0").rstrip(".")


def exact(column: Column, unit: str) -> Ints:
    """Read a column of rates in parts per million; raises E563 for one that is no rate or finer than that."""

    def read(text: str) -> int | None:
        value = rate(text)
        return None if value is None else ppm(value, UNITS[unit])

    return column.read(read, *RATE_FORM)


def written(column: Column) -> list[Decimal]:
    """Give the distinct rates of a column as written, in the order of its texts; raises E563."""
    column.read(lambda text: None if rate(text) is None else 0, *RATE_FORM)
    return [rate(text) or Decimal(0) for text in column.texts]


def differing(file: str, rows: NDArray[np.int64], column: str, expected: str) -> Exception:
    """Refuse rows whose rates do not add up."""
    return refused(
        complain("E578", file=file, row=int(row), column=column, expected=expected) for row in rows[:SHOWN]
    )
