"""Money as integers: minor units, parts per million, and the one rounding.

Amounts are int64 minor units (ISO 4217 exponents), rates int64 parts per million (7.25 % is 72 500). Nothing here
uses a binary float.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

from taxcalc.messages import refuse

if TYPE_CHECKING:
    from fractions import Fraction

Ints = npt.NDArray[np.int64]

PPM: Final = 1_000_000
"""Parts per million in a whole."""

LIMIT: Final = 2**62
"""Amounts and products at or beyond this are refused rather than allowed to overflow."""

# ISO 4217 codes in use, with the Croatian kuna and the Bulgarian lev of earlier years.
CURRENCIES: Final[tuple[str, ...]] = tuple(
    """
    AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BOV BRL BSD BTN BWP BYN
    BZD CAD CDF CHE CHF CHW CLF CLP CNY COP COU CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD
    FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HRK HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES
    KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR
    MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF
    SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS
    UAH UGX USD USN UYI UYU UYW UZS VED VES VND VUV WST XAD XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
    """.split(),  # noqa: SIM905 - a list of 160 short codes is read more easily as words
)
_NO_MINOR_UNIT = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
_THREE_DECIMALS = "BHD IQD JOD KWD LYD OMR TND"
_FOUR_DECIMALS = "CLF UYW"

CURRENCY_CODE: Final[dict[str, int]] = {code: position for position, code in enumerate(CURRENCIES)}


def _exponent(code: str) -> int:
    """Give the number of decimals of a currency (ISO 4217, list one)."""
    for exponent, codes in ((0, _NO_MINOR_UNIT), (3, _THREE_DECIMALS), (4, _FOUR_DECIMALS)):
        if code in codes.split():
            return exponent
    return 2


EXPONENTS: Final = np.array([_exponent(code) for code in CURRENCIES], dtype=np.int8)
"""Decimals by currency code number."""

_PLAIN_DECIMAL = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)


def parse_amount(text: str, currency: str) -> int:
    """Turn a plain decimal ("12", "-3.50") into minor units of the currency.

    Raises `ValueError` for anything else ("1e3", "+5", " 5", "NaN") and for more decimals than the currency has,
    unless the rest is zeros.
    """
    if not _PLAIN_DECIMAL.fullmatch(text):
        message = f"{text!r} is no plain decimal number"
        raise ValueError(message)
    whole, _, decimals = text.lstrip("-").partition(".")
    exponent = _exponent(currency)
    kept, rest = decimals[:exponent].ljust(exponent, "0"), decimals[exponent:]
    if rest.strip("0"):
        message = f"{text!r} has more decimals than {currency} has"
        raise ValueError(message)
    minor = int(whole + kept)
    return -minor if text.startswith("-") else minor


def write_amount(minor: int, currency: str) -> str:
    """Write minor units as a plain decimal string with the currency's decimals: 1234, "USD" → "12.34"."""
    exponent = _exponent(currency)
    sign, digits = ("-" if minor < 0 else ""), str(abs(minor)).rjust(exponent + 1, "0")
    return f"{sign}{digits[:-exponent]}.{digits[-exponent:]}" if exponent else f"{sign}{digits}"


def write_money(minor: int, currency: str) -> str:
    """Write minor units for a sentence, with the currency and groups of three digits: 123456, "EUR" → "EUR 1,234.56"."""
    return f"{currency} {Decimal(write_amount(minor, currency)):,}"


def require_room(*values: Ints) -> None:
    """Refuse numbers that could overflow in the next step (E702); silent wrap-around would be a wrong figure."""
    for value in values:
        if value.size and (int(value.max()) >= LIMIT or int(value.min()) <= -LIMIT):
            raise refuse("E702")


def round_half_away(numerator: Ints, denominator: Ints | int) -> Ints:
    """Divide integers and round half away from zero, so that -0.5 becomes -1 as 0.5 becomes 1.

    For tax in cents this equals the rule of the Streamlined Sales and Use Tax Agreement, section 324 (third decimal
    above four goes up). Shapes are broadcast; the denominator is positive.
    """
    size = np.abs(numerator)
    whole = size // denominator
    left = size - whole * denominator
    rounded = whole + (left >= denominator - left)
    return np.where(numerator < 0, -rounded, rounded)


def round_fraction(value: Fraction) -> int:
    """Round an exact fraction half away from zero, as `round_half_away` does with quotients of int64."""
    size, left = divmod(abs(value.numerator), value.denominator)
    rounded = size + (2 * left >= value.denominator)
    return -rounded if value < 0 else rounded
