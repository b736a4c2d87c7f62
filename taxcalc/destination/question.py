"""What is asked of a destination: one typical order, from which site, on which day, and what if something were different."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from taxcalc.intake.sizes import most_in
from taxcalc.money import CURRENCY_CODE, parse_amount, write_amount

if TYPE_CHECKING:
    from datetime import date

AMOUNTS: Final = ("item_amount", "shipping_amount", "fulfiller_item_cost", "fulfiller_shipping_cost")
INVENTED: Final = {
    "item_amount": "30",
    "shipping_amount": "5",
    "fulfiller_item_cost": "14",
    "fulfiller_shipping_cost": "4",
}
"""Amounts of an order where nothing is said and no history is given, whole units of the currency; named as invented."""
USUAL_CLASS: Final = "clothing"


@dataclass(frozen=True)
class TypicalOrder:
    """One item and its shipping, in minor units of `currency` (the fulfiller's two prices too).

    `tax_included` None leaves to the profile whether the price contains the tax. `assumed` says in sentences where the
    amounts come from if not from the user.
    """

    product_class: str
    currency: str
    item_amount: int
    shipping_amount: int
    fulfiller_item_cost: int
    fulfiller_shipping_cost: int
    tax_included: bool | None = None
    assumed: tuple[str, ...] = ()

    @property
    def charged(self) -> int:
        """What the customer is charged, apart from tax on top."""
        return self.item_amount + self.shipping_amount

    @property
    def fulfiller_price(self) -> int:
        """What the fulfiller asks for goods and shipping, without tax."""
        return self.fulfiller_item_cost + self.fulfiller_shipping_cost

    def priced(self, item_amount: int) -> TypicalOrder:
        """The same order at another price of the item."""
        return replace(self, item_amount=item_amount)

    def shipped_free(self) -> TypicalOrder:
        """The same order with the shipping charge in the price of the item."""
        return replace(self, item_amount=self.charged, shipping_amount=0)


@dataclass(frozen=True)
class WhatIf:
    """What might be different: all of it together makes the second answer.

    `registered`: the seller is registered in the place. `certificate`: the fulfiller has this document. `item_amount`:
    another price, minor units. `free_shipping`: shipping is built into the price. `tax_included`: the price contains the
    tax.
    """

    registered: bool = False
    certificate: str | None = None
    item_amount: int | None = None
    free_shipping: bool = False
    tax_included: bool = False

    def __bool__(self) -> bool:
        """Tell whether anything is different at all."""
        return self != WhatIf()

    def order(self, order: TypicalOrder) -> TypicalOrder:
        """Change the order."""
        if self.item_amount is not None:
            order = order.priced(self.item_amount)
        if self.free_shipping:
            order = order.shipped_free()
        return replace(order, tax_included=True) if self.tax_included else order


@dataclass(frozen=True)
class Question:
    """Everything asked: `ship_from` place codes of sites, "" for the one that the profile leads to."""

    order: TypicalOrder
    on: date
    ship_from: tuple[str, ...] = ("",)
    monthly_orders: int | None = None
    what_if: WhatIf = WhatIf()
    keep_margin: int | None = None
    """Wanted margin in tenths of a percent of what the customer is charged apart from tax on top."""


def minor(amount: str, currency: str) -> int:
    """Read an amount as minor units of its currency.

    Raises `ValueError` where it is none, negative, too fine, or more than an order line may carry.
    """
    value = parse_amount(amount, currency)
    if not 0 <= value <= most_in(CURRENCY_CODE[currency]):
        raise ValueError(amount)
    return value


def written(amount: int, currency: str) -> str:
    """Write minor units as decimal text."""
    return write_amount(amount, currency)
