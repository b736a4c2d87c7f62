"""A short way to check a destination in tests: `checked("US-RI", profile, item="275.00")`."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from taxcalc.destination import Question, TypicalOrder, check
from taxcalc.destination.question import WhatIf, minor
from taxcalc.destination.runs import Shop
from taxcalc.seller import read_seller
from taxcalc.tables.load import Tables, load_tables

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

ON = date(2026, 5, 4)


@lru_cache(maxsize=1)
def tables() -> Tables:
    """Load the shipped tables once."""
    return load_tables(None)


def an_order(
    *,
    item: str = "100.00",
    shipping: str = "0.00",
    cost: str = "40.00",
    transport: str = "0.00",
    currency: str = "USD",
    kind: str = "other",
    tax_included: bool | None = None,
) -> TypicalOrder:
    """Write one order."""
    amounts = (minor(amount, currency) for amount in (item, shipping, cost, transport))
    return TypicalOrder(kind, currency, *amounts, tax_included, ())


def checked(  # noqa: PLR0913 - one argument a thing that can be asked
    places: str | Iterable[str],
    profile: dict[str, Any],
    *,
    on: date = ON,
    ship_from: tuple[str, ...] = ("",),
    monthly: int | None = None,
    what_if: WhatIf | None = None,
    keep_margin: int | None = None,
    history: tuple[Path, ...] = (),
    **order: Any,  # noqa: ANN401 - parts of an order
) -> dict[str, Any]:
    """Check one place or several, for one order."""
    question = Question(an_order(**order), on, ship_from, monthly, what_if or WhatIf(), keep_margin)
    codes = [places] if isinstance(places, str) else list(places)
    return check(question, codes, Shop(read_seller(profile), tables(), history)).data


def today(place: str, profile: dict[str, Any], **asked: Any) -> dict[str, Any]:  # noqa: ANN401 - as above
    """Give the waterfall of one order today."""
    found: dict[str, Any] = checked(place, profile, **asked)["compared"][0]["now"]
    return found


def expected(found: dict[str, Any], name: str) -> str:
    """Give the expected end of a range."""
    amount: str = found[name]["expected"]
    return amount
