"""How the explanation writes amounts, rates, days and places in its sentences: plain, exact, the same everywhere."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.money import CURRENCIES, EXPONENTS, round_fraction, write_amount

if TYPE_CHECKING:
    from fractions import Fraction

DECIMALS: Final = 6
"""Decimals beyond those of the currency that an amount before rounding is shown with."""


def amount(minor: int, currency: str) -> str:
    """Write an amount with its currency: 24.50 USD."""
    return f"{write_amount(minor, currency)} {currency}"


def currency_of(number: int) -> str:
    """Give the code of a currency by its number in lines."""
    return CURRENCIES[number]


def unrounded(value: Fraction, currency: str) -> str:
    """Write an amount in minor units before rounding: 4.34875, or with … where it goes on for ever."""
    exponent = int(EXPONENTS[CURRENCIES.index(currency)])
    scaled = value * 10**DECIMALS
    exact = scaled.denominator == 1
    digits = round_fraction(scaled) if exact else _cut(scaled)
    text = f"{Decimal(digits).scaleb(-DECIMALS - exponent):f}"
    whole, _, decimals = text.partition(".")
    kept = decimals[:exponent] + decimals[exponent:].rstrip("0") if exact else decimals
    return f"{whole}.{kept}{'' if exact else '…'}" if kept else whole


def _cut(value: Fraction) -> int:
    """Cut what stands behind the point."""
    size = abs(value.numerator) // value.denominator
    return -size if value < 0 else size


def percent(ppm: int) -> str:
    """Write parts per million as percent: 72500 is 7.25 %."""
    return f"{plain_percent(ppm)} %"


def plain_percent(ppm: int) -> str:
    """Write parts per million as a number of percent: 72500 is 7.25."""
    text = f"{Decimal(int(ppm)).scaleb(-4):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def place(number: int) -> str:
    """Name a place with its code: Rhode Island (US-RI)."""
    code = places.code(number)
    return "an unknown place" if code == "unknown" else f"{places.name(code).partition(' (')[0]} ({code})"


def day(number: int) -> str:
    """Write a day: 2026-05-04."""
    return to_day(number).isoformat()


def several(count: int, one: str, more: str | None = None) -> str:
    """Write a count with its noun: 1 item, 2 items."""
    return f"{count} {one if count == 1 else more or one + 's'}"


def sentence(words: str) -> str:
    """Begin with a capital letter and end with a stop."""
    text = words[:1].upper() + words[1:]
    return text if text.endswith((".", "?")) else f"{text}."
