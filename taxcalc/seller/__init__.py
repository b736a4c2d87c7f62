"""The seller profile: who sells, from where, registered where, with which documents and which fulfillers.

`read_seller` turns `seller.toml` (or a dict of the same keys) into a checked `Seller`. Nothing is guessed
silently: every default that was taken stands as a sentence in `Seller.assumptions`.
"""

from taxcalc.seller.profile import (
    Certificate,
    Collecting,
    Election,
    Fulfiller,
    Presence,
    PriorSales,
    Registration,
    Remitted,
    Seller,
)
from taxcalc.seller.reading import read_seller, resident_presence

__all__ = [
    "Certificate",
    "Collecting",
    "Election",
    "Fulfiller",
    "Presence",
    "PriorSales",
    "Registration",
    "Remitted",
    "Seller",
    "read_seller",
    "resident_presence",
]
