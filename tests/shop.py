"""A short way to write orders and sellers in tests: everything left out is a plain sale of a plain shop.

`orders([{"to": "US-RI", "item_amount": "275.00"}])` gives a DataFrame for `taxcalc.assess`. Two words of our
own save typing: `to` is a place, with a postal code after a blank where one is needed ("US-NY 10001", "FR",
"IT 23041"), and `sent_from` is a place ("US-IN", "PL", "ES-CN"). Every other key is a canonical order column.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pandas as pd

from taxcalc.columns import COLUMNS
from taxcalc.run import assess

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from taxcalc import Assessment

PLAIN = {"ordered_on": "2026-05-04", "currency": "USD", "product_class": "other", "quantity": "1"}
NAMES = tuple(column.name for column in COLUMNS)
LONG_AGO = date(2018, 1, 1)
NET = {"currency": "EUR", "tax_included": "no"}
"""Columns of an order whose amounts are euros without tax."""


def orders(rows: Iterable[Mapping[str, str]], **defaults: str) -> pd.DataFrame:
    """Build an order file; orders without a number are numbered from 1."""
    lines = [
        {"order_id": str(number), **PLAIN, **defaults, **row} for number, row in enumerate(rows, start=1)
    ]
    frame = pd.DataFrame([_spelt_out(line) for line in lines]).fillna("")
    unknown = set(frame.columns) - set(NAMES)
    if unknown:
        message = f"no order columns: {sorted(unknown)}"
        raise ValueError(message)
    return frame


def net_sale(name: str, to: str, amount: str, day: str = "2026-03-02", **more: str) -> dict[str, str]:
    """Write one order of some net amount in euros."""
    return {"order_id": name, "to": to, "item_amount": amount, "ordered_on": day, **NET, **more}


def dropped(name: str, to: str, **more: str) -> dict[str, str]:
    """Write one drop-shipped order: 100.00 for the customer, 40.00 for the seller."""
    return {"order_id": name, "to": to, "item_amount": "100.00", "fulfiller_item_cost": "40.00", **more}


def _spelt_out(line: dict[str, str]) -> dict[str, str]:
    """Turn `to` and `sent_from` into the columns that they stand for."""
    place, _, postal_code = line.pop("to").partition(" ")
    country, _, region = place.partition("-")
    spelt = {"ship_to_country": country, "ship_to_region": region, "ship_to_postal_code": postal_code, **line}
    if "sent_from" in spelt:
        spelt["ship_from_country"], _, spelt["ship_from_region"] = spelt.pop("sent_from").partition("-")
    return spelt


def seller(**changes: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build a profile: keys of [seller] are changed by name.

    Lists (`registration=[…]`) become tables of that name.

    The plain shop sits in Oregon, which has no sales tax and gives no number, has no registration anywhere,
    and one fulfiller in Indiana that collects everywhere.
    """
    home: dict[str, Any] = {
        "name": "Paper Fern Studio",
        "country": "US",
        "region": "US-OR",
        "established_on": LONG_AGO,
        "established_in": ["US"],
        "reporting_currency": "USD",
        "time_zone": "UTC",
        "rounding": "line",
        "prices_include_tax": ["EU", "GB"],
        "pickup_offered": False,
    }
    profile: dict[str, Any] = {"fulfiller": [fulfiller()]}
    for key, value in changes.items():
        (profile if isinstance(value, list) and key not in home else home)[key] = value
    return {"seller": {key: value for key, value in home.items() if value is not None}, **profile}


def union_seller(country: str, **changes: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build the profile of a shop in a member state, with a fulfiller in that state unless told otherwise."""
    own = {
        "country": country,
        "region": None,
        "established_in": [country],
        "reporting_currency": "EUR",
        "fulfiller": [fulfiller(ship_from=[country])],
    }
    return seller(**{**own, **changes})


def fulfiller(**changes: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build a fulfiller: one site in Indiana, collects everywhere, arranges the transport.

    No choice of supply.
    """
    return {"id": "main", "ship_from": ["US-IN"], "collects_in": "all", **changes}


def registered(*places: str, since: date = LONG_AGO, **more: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - as above
    """Build one registration a place."""
    return [{"place": place, "scheme": "standard", "from": since, **more} for place in places]


def certificate(
    place: str,
    form: str,
    number_of: str | None = None,
    since: date = LONG_AGO,
    **more: Any,  # noqa: ANN401 - as above
) -> dict[str, Any]:
    """Build a document given to the fulfiller."""
    issuer = {} if number_of is None else {"number_of": number_of}
    return {"place": place, "form": form, "from": since, **issuer, **more}


def answers(assessment: Assessment, *, by: str = "order_id") -> pd.DataFrame:
    """Give the lines with the terms of their cases beside them, indexed by order_id (or another column)."""
    lines = assessment.lines
    terms = assessment.cases.loc[lines["case_id"]].reset_index(drop=True)
    joined = pd.concat([lines.reset_index(drop=True), terms.drop(columns=[*set(terms) & set(lines)])], axis=1)
    assert assessment.set_aside.empty, assessment.set_aside.to_string()
    return joined.set_index(by)


def asked(
    profile: dict[str, Any], *rows: Mapping[str, str], tables: Path | None = None, **defaults: str
) -> pd.DataFrame:
    """Assess some orders and give their answers, indexed by order_id."""
    return answers(assess(orders(rows, **defaults), profile, tables=tables))


def spread(to: str, total: str, count: int, first: date, step: int = 0, **more: str) -> list[dict[str, str]]:
    """Write `count` equal orders of `total` together, each `step` days after the one before.

    Cents left go on the last.
    """
    whole, _, cents = total.partition(".")
    minor = int(whole) * 100 + int((cents or "0").ljust(2, "0"))
    each, left = divmod(minor, count)
    amounts = [each] * (count - 1) + [each + left]
    return [
        {
            "order_id": f"{to} {first} {total} {number:04}",
            "to": to,
            "item_amount": f"{minor // 100}.{minor % 100:02}",
            "ordered_on": (first + timedelta(days=step * number)).isoformat(),
            **more,
        }
        for number, minor in enumerate(amounts)
    ]
