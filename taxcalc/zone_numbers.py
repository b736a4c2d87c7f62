"""The number of a local zone in a case: the county of an address and its local-rate zone, in one small number.

Where counties matter (us/zip_counties has the state), county and local-rate zone are packed together; elsewhere the
number is the local-rate zone. Without a store of local rates it is the county. 0 means that nothing is known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc import places
from taxcalc.places_find import zones

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.tables.load import Tables

    Ints = npt.NDArray[np.int64]

LARGEST: Final = 2**15 - 1
"""Largest number of a zone, which lines hold in 16 bits."""


def zone_count(tables: Tables) -> int:
    """Give how many numbers of zones there are, 0 included."""
    counties, packed = len(zones(tables)), _packed(tables)
    local = tables.local
    if local is None:
        return counties
    each = (_last(counties, local.zone_count(code), packed=bool(packed[code])) for code in local.states)
    return max(counties - 1, *each) + 1


def most_zones(tables: Tables, place: str) -> int:
    """Give how many local-rate zones a place may have."""
    counties = len(zones(tables))
    return LARGEST // counties - 1 if _packed(tables)[places.index(place)] else LARGEST


def _last(counties: int, local: int, *, packed: bool) -> int:
    """Give the largest number in a place with so many local-rate zones."""
    return counties * (local + 1) - 1 if packed else local


def _packed(tables: Tables) -> npt.NDArray[np.bool_]:
    """Tell per place code whether its numbers hold a county."""
    return np.isin(np.arange(len(places.codes())), tables["us/zip_counties"]["place"][:-1])


def joined(
    tables: Tables, place: npt.NDArray[np.int16], county: npt.NDArray[np.int16], local: Ints
) -> npt.NDArray[np.int16]:
    """Put county and local-rate zone of addresses together."""
    factor = np.where(_packed(tables)[place], len(zones(tables)), 1)
    return (county + factor * local).astype(np.int16)


def county_of(
    tables: Tables, place: npt.NDArray[np.int16], zone: npt.NDArray[np.int16]
) -> npt.NDArray[np.int16]:
    """Give the county (index into `taxcalc.places_find.zones`) in a number, 0 for none."""
    if tables.local is None:
        return zone
    return np.where(_packed(tables)[place], zone % len(zones(tables)), 0).astype(np.int16)


def local_of(tables: Tables, place: npt.NDArray[np.int16], zone: npt.NDArray[np.int16]) -> Ints:
    """Give the local-rate zone in a number, 0 for none."""
    if tables.local is None:
        return np.zeros(zone.size, np.int64)
    factor = np.where(_packed(tables)[place], len(zones(tables)), 1)
    return zone.astype(np.int64) // factor
