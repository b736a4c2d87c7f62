"""How amounts, days, places and codes are said to a seller: plain words, one locale, no file trusted.

Amounts stay decimal strings and `Decimal`; no binary float is made of them. The locale is fixed, so that the
same figures give the same text on every computer.
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from babel import Locale
from babel.dates import format_date
from babel.numbers import get_currency_name

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

LOCALE: Final = Locale("en", "US")
_MONEY: Final = LOCALE.currency_formats["standard"]
_LETTER_BEFORE_NUMBER: Final = re.compile(r"[A-Z](?=[0-9])")
_WHOLE: Final = LOCALE.decimal_formats[None]
_PERCENT: Final = Decimal("0.1")

STATUS: Final = {"crossed": "CROSSED", "near": "NEAR", "watch": "WATCH", "clear": "clear"}
CAUSE: Final = {
    "registration": "you are registered",
    "presence": "you are present there",
    "threshold": "a limit was crossed",
    "first_sale": "no limit, from the first sale",
    "election": "you chose it",
}
MEASURE: Final = {"amount": "sales", "transactions": "number of sales"}
LIMIT_OF: Final = {
    "distance_sales": "sales to consumers in other member states",
    "small_business": "turnover, small-business limit",
    "small_business_ceiling": "turnover, upper small-business limit of the year",
    "small_business_union": "turnover in the whole Union, small-business limit",
}
"""What is measured by limits of a kind that needs telling apart."""
URGENCY: Final = {1: "1 now", 2: "2 soon", 3: "3 note"}
AMOUNT_COLUMN: Final = {
    "item_amount": "goods",
    "shipping_amount": "shipping",
    "tax_collected": "tax charged to customers",
    "fulfiller_item_cost": "fulfiller: goods",
    "fulfiller_shipping_cost": "fulfiller: shipping",
    "fulfiller_tax_charged": "fulfiller: tax",
}


def printable(text: object) -> str:
    """Write text so that it cannot steer a terminal: control and bidi characters show as escapes."""
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in str(text))


@lru_cache(maxsize=4096)
def money(amount: str, currency: str) -> str:
    """Write a decimal string as money: "1234.5", "USD" gives $1,234.50."""
    written: str = _MONEY.apply(Decimal(amount), LOCALE, currency=currency)
    return _LETTER_BEFORE_NUMBER.sub(r"\g<0> ", _plain_spaces(written))


def whole_money(amount: str, currency: str) -> str:
    """Write money without its minor units, for the eye and where room is short: $817."""
    return money(str(round(Decimal(amount))), currency).partition(".")[0]


def _plain_spaces(text: str) -> str:
    """Give the text with ordinary spaces in place of those that do not break."""
    return text.replace("\xa0", " ").replace("\u202f", " ")


@lru_cache(maxsize=4096)
def count(number: int) -> str:
    """Write a whole number with grouping: 12345 gives 12,345."""
    written: str = _WHOLE.apply(number, LOCALE)
    return written


@lru_cache(maxsize=1024)
def day(iso: str | None, width: str = "medium") -> str:
    """Write an ISO day in words (Mar 21, 2027; `long` spells the month out); a missing one is "open"."""
    if not iso:
        return "open"
    written: str = format_date(date.fromisoformat(iso[:10]), format=width, locale=LOCALE)
    return _plain_spaces(written)


def days(first: str | None, last: str | None, width: str = "medium") -> str:
    """Write an inclusive run of days."""
    return f"{day(first, width)} to {day(last, width)}"


def window(first: str, last: str) -> str:
    """Write an inclusive run of days shortly: in 2026, Dec 2025 to Nov 2026, or both days."""
    begin, end = date.fromisoformat(first), date.fromisoformat(last)
    after = end + timedelta(days=1)
    if begin.day != 1 or after.day != 1:
        return days(first, last)
    if (begin.month, after.month, after.year) == (1, 1, begin.year + 1):
        return f"in {begin.year}"
    months = (format_date(month, format="MMM y", locale=LOCALE) for month in (begin, end))
    return " to ".join(months)


def month(iso: str) -> str:
    """Write the month of an ISO day shortly: Mar 2027."""
    written: str = format_date(date.fromisoformat(iso), format="MMM y", locale=LOCALE)
    return written


def listed(names: Sequence[str], most: int) -> str:
    """Name at most so many, and count the others."""
    left = len(names) - most
    return ", ".join(names[:most]) + (f" and {several(left, 'more', 'more')}" if left > 0 else "")


def percent(share: object) -> str:
    """Write a share in percent with one decimal."""
    return f"{Decimal(str(share)).quantize(_PERCENT)} %"


@lru_cache(maxsize=64)
def currency_name(code: str) -> str:
    """Name a currency: US dollars (USD)."""
    return f"{get_currency_name(code, count=2, locale=LOCALE)} ({code})"


def place(row: Mapping[str, Any]) -> str:
    """Name a place with its code, and a plus where its figures rest on rows of the user's own: Washington (US-WA) +."""
    mark = " +" if row.get("own_rows") else ""
    code, name = printable(row["place"]), printable(row.get("name") or "").partition(" (")[0]
    if code == "unknown":
        return (name or "Place not known") + mark
    return (f"{name} ({code})" if name and name != code else code) + mark


def marked(row: Mapping[str, Any]) -> str:
    """Name a place, with a star where its figures rest on an unconfirmed fact."""
    return f"{place(row)} *" if row.get("basis") == "unconfirmed" else place(row)


def legend(record: Mapping[str, Any]) -> str:
    """Explain the marks behind the names of places."""
    own = " + rests in part on rows of your own." if record["tables"].get("own") else ""
    return f"* rests in part on an unconfirmed fact.{own}"


def several(number: int, one: str, more: str | None = None) -> str:
    """Write a count with its noun: 1 row, 2 rows."""
    return f"{count(number)} {one if number == 1 else more or one + 's'}"


def reason(code: str) -> str:
    """Say why rows were set aside, in the words of the catalogue of reasons."""
    from taxcalc.set_aside import REASONS  # noqa: PLC0415 - heavy, and loaded already where a record was computed

    return REASONS[code].words if code in REASONS else printable(code).replace("_", " ")
