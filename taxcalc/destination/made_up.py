"""Made-up orders, as lines that intake reads like those of any file, and profiles in which a duty is added."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final

from taxcalc.destination.find import address
from taxcalc.destination.question import written
from taxcalc.intake.sources import MadeUp
from taxcalc.seller import Certificate, Election, Registration

if TYPE_CHECKING:
    from collections.abc import Iterable

    from taxcalc.destination.question import TypicalOrder
    from taxcalc.seller import Seller

MARK: Final = "typical order of taxcalc "
"""How numbers of made-up orders begin; no shop numbers its orders so."""
NAME: Final = "typical order"
"""What made-up orders are called among the files that were read."""
LONG: Final = timedelta(days=800)
"""How long before the day a supposed registration or document is taken to hold, so that it holds for all that matters."""


@dataclass(frozen=True)
class Line:
    """One made-up order line: its number, where it goes, from which site, of what, on which day."""

    number: str
    place: str
    ship_from: str
    order: TypicalOrder
    on: date
    product_class: str = ""


def numbered(at: int) -> str:
    """Give the number of the made-up order at a position."""
    return f"{MARK}{at:07d}"


def orders(lines: Iterable[Line]) -> MadeUp:
    """Write lines as a frame of canonical columns."""
    import pandas as pd  # noqa: PLC0415 - heavy

    return MadeUp(pd.DataFrame([_row(line) for line in lines]), NAME)


def _row(line: Line) -> dict[str, Any]:
    """Write one line."""
    country, region = address(line.place)
    order, money = line.order, line.order.currency
    included = {None: "", True: "yes", False: "no"}[order.tax_included]
    from_country, from_region = address(line.ship_from) if line.ship_from else ("", "")
    return {
        "order_id": line.number,
        "ordered_on": line.on.isoformat(),
        "currency": money,
        "ship_to_country": country,
        "ship_to_region": region,
        "product_class": line.product_class or order.product_class,
        "item_amount": written(order.item_amount, money),
        "shipping_amount": written(order.shipping_amount, money),
        "tax_included": included,
        "fulfiller_item_cost": written(order.fulfiller_item_cost, money),
        "fulfiller_shipping_cost": written(order.fulfiller_shipping_cost, money),
        "ship_from_country": from_country,
        "ship_from_region": from_region,
    }


def spread_over(
    place: str, ship_from: str, order: TypicalOrder, on: date, a_month: int, months: int
) -> list[Line]:
    """Give so many orders a month, evenly over the days of a year, from a day on."""
    days = 365 * months // 12
    count = a_month * months
    return [
        Line(numbered(at), place, ship_from, order, on + timedelta(days=at * days // count))
        for at in range(count)
    ]


def registered(seller: Seller, place: str, on: date, scheme: str = "standard") -> Seller:
    """The seller as if registered at a place (for a scheme of the Union: `EU`) long before the day."""
    at = "EU" if scheme in {"ioss", "union_oss", "non_union_oss"} else place
    home = seller.country if scheme != "standard" else None
    added = Registration(at, scheme, home, None, on - LONG, None)
    return replace(seller, registrations=(*seller.registrations, added))


def out_of_small_business(seller: Seller, on: date) -> Seller:
    """The seller as if it were registered for VAT in the usual way wherever it uses the small-business scheme."""
    kept = [one for one in seller.registrations if one.scheme != "small_business"]
    left = dict.fromkeys(one.place for one in seller.registrations if one.scheme == "small_business")
    usual = (Registration(at, "standard", None, None, on - LONG, None) for at in left)
    return replace(seller, registrations=(*kept, *usual))


def taxed_at_destination(seller: Seller, on: date) -> Seller:
    """The seller as if it had chosen to be taxed on arrival below the Union-wide limit."""
    added = Election("eu_tax_at_destination", None, on - LONG, None)
    return replace(seller, elections=(*seller.elections, added))


def with_document(seller: Seller, place: str, form: str, on: date) -> Seller:
    """The seller as if every fulfiller held a document of a form, with the number that such a form usually has in it."""
    at, issuer = _document(seller, place, form, on)
    names = [one.id for one in seller.fulfillers] or ["main"]
    added = tuple(Certificate(at, form, issuer, None, name, on - LONG, None) for name in names)
    return replace(seller, certificates=(*seller.certificates, *added))


def _document(seller: Seller, place: str, form: str, on: date) -> tuple[str, str | None]:
    """Give where a document works and who issued the number in it: the state itself, or where the seller is registered."""
    held = [r.place for r in seller.registrations if r.scheme == "standard" and r.from_day <= on]
    if form == "vat_number":
        in_union = [at for at in held if not at.startswith("US-")]
        return "EU", next(iter(in_union), None)
    if form == "state":
        states = [at for at in held if at.startswith("US-")]
        return place, place if place in held else next(iter(states), None)
    return "US", next((at for at in held if at.startswith("US-")), None)
