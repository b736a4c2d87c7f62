"""Amounts too large for one line: as good as always a shifted column or a number in the wrong place.

What is large depends on the currency: 10 million yen buy a car, 10 million dollars no order of a shop.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.exchange import quotes
from taxcalc.money import CURRENCIES, EXPONENTS, PPM

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOST: Final = 10_000_000
"""Major units that one line may carry in a currency of about the worth of a euro."""

MOST_MINOR: Final = 10**12
"""Minor units that one line may carry in any currency, so that goods and shipping times a rate fit an int64."""


@lru_cache(maxsize=len(CURRENCIES))
def most_in(currency: int) -> int:
    """Give the minor units that one line may carry in a currency, by its number.

    10 million, and ten times that for each further digit before the point of the currency's last published rate per euro:
    1 billion yen or forint, 100 million Swedish kronor. The digits and not the rate, so that the limit is a round number
    that stays. Without a published rate only `MOST_MINOR` holds.
    """
    rates = quotes(CURRENCIES[currency]).rates
    if not rates.size:
        return MOST_MINOR
    digits = len(str(int(rates[-1]) // PPM))
    limit: int = MOST * 10 ** (digits - 1) * 10 ** int(EXPONENTS[currency])
    return min(limit, MOST_MINOR)


def too_large(minor: NDArray[np.int64], currency: NDArray[np.int16] | int) -> NDArray[np.bool_] | None:
    """Tell which rows carry too much for one line of their currency (negative numbers: none); None where no row does."""
    if max(int(minor.max(initial=0)), -int(minor.min(initial=0))) <= MOST:
        return None
    at = np.flatnonzero((np.abs(minor) > MOST) & np.greater_equal(currency, 0))
    codes, of_row = np.unique(np.broadcast_to(currency, minor.shape)[at], return_inverse=True)
    limits = np.array([most_in(code) for code in codes.tolist()], np.int64)
    found = np.zeros(minor.shape, np.bool_)
    found[at] = np.abs(minor[at]) > limits[of_row.reshape(-1)]
    return found
