"""The shop's usual order: the kind of goods it sells most, at the middle of the prices it took for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc.columns import PRODUCT_CLASSES, PRODUCT_WORDS, Blank, Channel, Entry
from taxcalc.destination.question import AMOUNTS, INVENTED, USUAL_CLASS, TypicalOrder, minor
from taxcalc.money import CURRENCY_CODE

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.spool import Lines

_BLANKS = {
    "shipping_amount": Blank.SHIPPING_AMOUNT,
    "fulfiller_item_cost": Blank.FULFILLER_ITEM_COST,
    "fulfiller_shipping_cost": Blank.FULFILLER_SHIPPING_COST,
}


def typical_order(
    said: Mapping[str, str], product_class: str | None, currency: str, history: Assessment | None
) -> TypicalOrder:
    """Put the order together: what the user says, else what the history shows, else an invented amount, named as such.

    `said` holds amounts as decimal text by the names of their columns. Raises `ValueError` with the name of the amount
    that cannot be read.
    """
    known = _usual(history, currency, product_class) if history else {}
    kind = product_class or str(known.get("product_class") or USUAL_CLASS)
    amounts: dict[str, Any] = {}
    shown: list[str] = []
    invented: list[str] = []
    for name in AMOUNTS:
        if name in said:
            amounts[name] = _read(name, said[name], currency)
        elif name in known:
            amounts[name] = int(known[name])
            shown.append(name)
        else:
            amounts[name] = minor(INVENTED[name], currency)
            invented.append(name)
    assumed = tuple(_assumed(kind, product_class, shown, invented))
    return TypicalOrder(kind, currency, **amounts, tax_included=None, assumed=assumed)


def _read(name: str, amount: str, currency: str) -> int:
    """Read an amount."""
    try:
        return minor(amount, currency)
    except ValueError:
        raise ValueError(name) from None


def _assumed(kind: str, product_class: str | None, shown: list[str], invented: list[str]) -> list[str]:
    """Say where the order comes from."""
    found = [] if product_class else [f"No kind of goods was said: {PRODUCT_WORDS[kind]}."]
    if shown:
        found.append(f"The middle of your own orders was taken for: {_named(shown)}.")
    if invented:
        found.append(
            f"Invented, because nothing was said: {_named(invented)}. Give your own to see your own figures."
        )
    return found


def _named(names: list[str]) -> str:
    """Write names of amounts in words."""
    return ", ".join(name.replace("_", " ") for name in names)


def _usual(history: Assessment, currency: str, product_class: str | None) -> dict[str, int | str]:
    """Find the usual order among the shop's own sales in the currency; empty where there is none."""
    wanted = PRODUCT_CLASSES.index(product_class) if product_class else None
    parts = [_own_sales(history.run.intake.spool.read(number), currency) for number in history.run.buckets]
    columns = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]} if parts else {}
    if not columns or not columns["product_class"].size:
        return {}
    kind = int(np.bincount(columns["product_class"]).argmax()) if wanted is None else wanted
    here = columns["product_class"] == kind
    if not here.any():
        return {}
    found: dict[str, int | str] = {"product_class": PRODUCT_CLASSES[kind]}
    for name in AMOUNTS:
        values = columns[name][here & columns[f"{name} known"]]
        if values.size:
            found[name] = int(np.sort(values)[values.size // 2])
    return found


def _own_sales(lines: Lines, currency: str) -> dict[str, npt.NDArray[np.int64]]:
    """Take prices per item of own sales in the currency, and which of them were said."""
    code = CURRENCY_CODE[currency]
    at = np.flatnonzero(
        (lines["entry"] == Entry.SALE)
        & (lines["channel"] == Channel.OWN)
        & (lines["currency"] == code)
        & (lines["item_amount"] > 0)
    )
    quantity, blanks = lines["quantity"][at].astype(np.int64), lines["blanks"][at]
    found = {"product_class": lines["product_class"][at].astype(np.int64)}
    for name in AMOUNTS:
        found[name] = lines[name][at] // quantity
        known = (blanks & int(_BLANKS.get(name, 0))) == 0
        if name.startswith("fulfiller"):
            known &= lines["fulfiller_currency"][at] == code
        found[f"{name} known"] = known
    return found
