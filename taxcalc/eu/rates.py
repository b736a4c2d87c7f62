"""VAT rates by place, kind of goods and day: the kind's own rate where the place has one, else the standard rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc.kernel import Freed, Rules, ShippingTreatment, Treatment

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.money import Ints

EVERY_CLASS = -1


def rate_rows(
    place: npt.NDArray[np.int16],
    product_class: npt.NDArray[np.int8],
    days: npt.NDArray[np.int32],
    facts: Facts,
) -> npt.NDArray[np.int32]:
    """Find the row of eu/rates for each place, class and day; -1 where the place has none.

    Places inside the VAT territory without rates of their own (the Balearic Islands) use those of their country.
    """
    from taxcalc import places  # noqa: PLC0415 - only the numbers of countries

    table = facts.tables["eu/rates"]
    country = places.countries()[place]
    every = np.full(place.shape, EVERY_CLASS, np.int8)
    rows = np.full(place.shape, -1, np.int32)
    for where, kind in ((place, product_class), (place, every), (country, product_class), (country, every)):
        rows = np.where(rows >= 0, rows, table.lookup(days, place=where, product_class=kind))
    return rows


def ppm(rows: npt.NDArray[np.int32], facts: Facts) -> Ints:
    """Give the rates of rows in parts per million, 0 where there is no row."""
    return np.where(rows >= 0, facts.tables["eu/rates"]["percent"][rows].astype(np.int64), 0)


def vat_rules(rate: Ints, charged: npt.NDArray[np.bool_]) -> Rules:
    """Build kernel rules for one VAT rate on goods and shipping alike (shipping follows its goods)."""
    none = np.zeros(rate.size, np.int64)
    plain = np.full(rate.size, int(Treatment.TAXED), np.int8)
    nothing = np.full(rate.size, int(Freed.NOTHING), np.int8)
    return Rules(
        state_rule=plain,
        state_limit=none,
        state_ppm=rate,
        state_over_ppm=none,
        local_rule=plain,
        local_limit=none,
        local_ppm=none,
        shipping=np.full(rate.size, int(ShippingTreatment.TAXED), np.int8),
        charged=charged,
        state_freed=nothing,
        local_freed=nothing,
        freed_limit=none,
        freed_with_delivery=np.zeros(rate.size, np.bool_),
    )
