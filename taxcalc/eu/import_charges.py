"""Fixed charges on small parcels from outside the Union: the flat duty, and fees of single states (eu/import_charges).

A charge is made once for a parcel, or once for each customs classification in it; kinds of goods stand in for
classifications, which an order file does not have. Only rows in force are charged. Above the value limit the usual
tariff holds, which is not computed (Regulation (EU) 2026/382).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.exchange import convert
from taxcalc.money import CURRENCY_CODE
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.money import Ints

    Days = npt.NDArray[np.int32]
    Codes = npt.NDArray[np.int16]
    Found = npt.NDArray[np.int32]

TABLE = "eu/import_charges"
FLAT, NATIONAL = "flat_duty", "national_fee"
IN_FORCE, UP_TO = "in_force", "up_to"
OPEN_STILL = ("planned", "postponed", "considered")
FOR_EACH_KIND = ("tariff_line", "item", "declaration_line")
"""Units of which a parcel has one for each customs classification."""
COLUMNS = ("amount", "per", "value_limit", "value_met_when", "scope")
"""Columns that a charge rests on."""


class Charges(NamedTuple):
    """Charges of parcels in cents of euro, for one kind of goods and for the whole parcel, and the rows behind them."""

    per_kind: Ints
    whole: Ints
    in_base: npt.NDArray[np.bool_]
    rows: Found


def charge(name: str, day: Days, place: Codes, value: Ints, kinds: Ints, facts: Facts) -> Charges:
    """Give one charge for each parcel, by its day, place of arrival, value in cents of euro and number of kinds of goods.

    `in_base` tells where import VAT is asked on the charge too. A row in force whose value limit the parcel does not keep
    gives nothing, and so does a day without a row.
    """
    table = facts.tables[TABLE]
    where = np.full(day.size, places.index("EU"), np.int16) if name == FLAT else place
    rows = table.lookup(day, place=where, charge=np.full(day.size, name, object))
    limit = _euro(table["value_limit"][rows], table["value_currency"][rows], day)
    within = np.where(table["value_met_when"][rows] == UP_TO, value <= limit, value < limit)
    small = within | (table["value_limit"][rows] == NO_VALUE)
    charged = (rows >= 0) & (table["status"][rows] == IN_FORCE) & small
    amount = np.where(charged, _euro(table["amount"][rows], table["currency"][rows], day), 0)
    each = np.isin(table["per"][rows], FOR_EACH_KIND)
    in_base = np.isin(table["in_vat_base"][rows], ("yes", "outside_ioss"))
    return Charges(
        np.where(each, amount, 0),
        np.where(each, amount * kinds, amount),
        in_base & charged,
        np.where(charged, rows, np.int32(-1)),
    )


def not_in_force(arrivals: set[int], day: int, facts: Facts) -> list[str]:
    """Name the rows of a day that are planned, put off or only considered: nothing is charged by them; look them up."""
    table = facts.tables[TABLE]
    keys = {(int(p), str(c)) for p, c in zip(table["place"][:-1], table["charge"][:-1], strict=True)}
    asked = {places.index("EU"), *arrivals}
    rows = {table.row(day, place=place, charge=name) for place, name in keys if place in asked} - {-1}
    found = sorted(row for row in rows if table["status"][row] in OPEN_STILL)
    return [str(name) for name in table.row_ids(np.array(found, np.int32))] if found else []


def _euro(amount: npt.NDArray[np.int64], currency: npt.NDArray[np.object_], day: Days) -> Ints:
    """Turn amounts of rows into cents of euro; nothing where a row has none."""
    out = np.zeros(day.size, np.int64)
    for code in sorted({str(each) for each in currency.tolist()} & set(CURRENCY_CODE)):
        at = np.flatnonzero(currency == code)
        known = np.where(amount[at] == NO_VALUE, 0, amount[at]).astype(np.int64)
        out[at] = convert(known, CURRENCY_CODE[code], "EUR", day[at])
    return out
