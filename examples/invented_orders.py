"""The orders of the invented shop, drawn by chance from one seed: sales, samples and refunds as rows.

Amounts are whole minor units until `make_orders` writes them. The shop itself stands in `invented_shop`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import invented_shop as shop

if TYPE_CHECKING:
    import random

FIRST_DAY, LAST_DAY = date(2024, 4, 1), date(2026, 10, 18)
ORDERS = {2024: 1000, 2025: 1440, 2026: 1215}
SEASON = {1: 80, 2: 80, 3: 85, 4: 90, 5: 95, 6: 90, 7: 85, 8: 90, 9: 100, 10: 115, 11: 190, 12: 215}
PPM = 1_000_000

MONEY = (
    "item_amount", "shipping_amount", "tax_collected",
    "fulfiller_item_cost", "fulfiller_shipping_cost", "fulfiller_tax_charged",
)  # fmt: skip

Row = dict[str, object]


@dataclass(frozen=True)
class Order:
    """Where one order goes and who placed it. `state` is None outside the United States."""

    day: date
    country: str
    postal_code: str
    state: shop.State | None = None
    region: str = ""
    marketplace: str = ""
    buyer_tax_number: str = ""
    buyer_exempt: str = ""
    pieces: int = 0

    @property
    def from_europe(self) -> bool:
        """Whether the Slovak site makes it; the one in Indiana serves the Americas."""
        return self.country not in ("US", "CA")

    @property
    def currency(self) -> str:
        """Currency of the prices shown to the customer."""
        return "GBP" if self.country == "GB" else "EUR" if self.from_europe else "USD"

    @property
    def crosses_a_border(self) -> bool:
        """Whether the parcel goes through customs and costs more to send."""
        return (
            self.country in ("GB", "NO", "CH", "CA") or self.postal_code in shop.CANARY_ISLANDS.postal_codes
        )


def share(amount: int, ppm: int) -> int:
    """Take `ppm` parts per million of `amount`, half a cent away from zero; amounts are never negative."""
    return (amount * ppm + PPM // 2) // PPM


def drawn_days(chance: random.Random, year: int) -> list[date]:
    """Draw the days of the year's orders, in order, with the year-end season."""
    first, last = max(FIRST_DAY, date(year, 1, 1)), min(LAST_DAY, date(year, 12, 31))
    days = [first + timedelta(n) for n in range((last - first).days + 1)]
    weights = [SEASON[day.month] if (day.month, day.day) < (12, 20) else 60 for day in days]
    return sorted(chance.choices(days, weights, k=ORDERS[year]))


def order_to_a_state(chance: random.Random, day: date) -> Order:
    """Draw an order from a US customer; Georgia's listeners mostly come to the shop itself."""
    favourites = shop.FAVOURITES[day.year]
    weights = [state.share * favourites.get(state.code, 1) for state in shop.STATES]
    state = chance.choices(shop.STATES, weights)[0]
    zip_code = chance.choice(state.zips)
    if chance.randrange(20) == 0:
        zip_code += f"-{chance.randint(1, 9999):04d}"
    by_marketplace = chance.randrange(100) < (8 if state.code == "GA" else 38)
    return Order(day, "US", zip_code, state, state.code, "bazaar-west" if by_marketplace else "")


def order_from_abroad(chance: random.Random, day: date, countries: tuple[shop.Country, ...]) -> Order:
    """Draw an order from a customer outside the United States."""
    country = chance.choices(countries, [country.share for country in countries])[0]
    postal_code = chance.choice(country.postal_codes)
    region = ""
    if country.code == "CA":
        region, postal_code = "CA-" + postal_code[:2], postal_code[3:]
    by_marketplace = chance.randrange(100) < 14  # noqa: PLR2004 - a share that is used here only
    return Order(day, country.code, postal_code, None, region, "bazaar-east" if by_marketplace else "")


def drawn_order(chance: random.Random, day: date) -> Order:
    """One order of a consumer: about three in four from the United States, one in five from the Union."""
    kind = chance.choices(("us", "eu", "other"), (74, 20, 6))[0]
    if kind == "us":
        return order_to_a_state(chance, day)
    countries = (*shop.EU_COUNTRIES, shop.CANARY_ISLANDS) if kind == "eu" else shop.OTHER_COUNTRIES
    return order_from_abroad(chance, day, countries)


def orders_of_firms(chance: random.Random) -> list[Order]:
    """Two business buyers in the Union, a gift shop that resells and a library that is exempt."""
    orders = []
    by_code = {state.code: state for state in shop.STATES}
    for number in range(8):
        day = date(2024, 5, 6) + timedelta(110 * number + chance.randrange(20))
        country, postal_code, tax_number = shop.BUSINESS_BUYERS[number % 2]
        orders.append(
            Order(day, country, postal_code, buyer_tax_number=tax_number, pieces=chance.randint(4, 12))
        )
        if number % 2:
            state, status = (by_code["WA"], "resale") if number % 4 == 1 else (by_code["OH"], "exempt")
            orders.append(
                Order(
                    day + timedelta(9), "US", state.zips[2], state, state.code, buyer_exempt=status, pieces=6
                )
            )
    return orders


def price_of(chance: random.Random, order: Order, design: shop.Design, quantity: int) -> int:
    """Find what the customer is asked for the goods of a line, in minor units, after discounts."""
    single = design.eur if order.from_europe else design.usd
    if order.currency == "GBP":
        single = single * 86 // 100
    in_sale = (11, 20) <= (order.day.month, order.day.day) <= (12, 2)
    off = 15 if in_sale else 10 if chance.randrange(12) == 0 or order.pieces else 0
    return share(single * quantity, PPM * (100 - off) // 100)


def shipping_of(order: Order, pieces: int, first: bool, goods: int) -> int:  # noqa: FBT001 - reads as a sentence
    """Find what the customer is asked for sending a line; the shop sends large US orders free."""
    free = order.state is not None and not order.marketplace and goods >= 9000  # noqa: PLR2004 - USD 90.00
    if free:
        return 0
    base, more = (1190, 200) if order.crosses_a_border else (650, 150) if order.from_europe else (595, 150)
    return base + more * (pieces - 1) if first else more * pieces


def tax_charged(order: Order, goods: int) -> int | None:
    """Find what the shop charged, or shows inside the price, as tax; it forgets the tax on shipping."""
    rule = shop.SHOP_CHARGES.get(order.region) if order.state else shop.SHOP_SHOWS_VAT.get(order.country)
    if (
        rule is None
        or order.day < rule[0]
        or order.marketplace
        or order.buyer_exempt
        or order.buyer_tax_number
    ):
        return None
    since_ppm = rule[1]
    return (
        share(goods, since_ppm)
        if order.state
        else (goods * since_ppm * 2 + PPM + since_ppm) // (2 * (PPM + since_ppm))
    )


def fulfiller_taxes(order: Order, design: shop.Design) -> bool:
    """Whether the fulfiller's invoice for a US line shows tax."""
    code = order.region
    if code not in shop.FULFILLER_STATES or code in shop.ORIGIN_DECIDES:
        return False
    if design.product_class.startswith("clothing") and code in shop.NO_TAX_ON_CLOTHING:
        return False
    return order.day < shop.PAPER_DAY or code in shop.FORM_REFUSED or code == shop.FORGOTTEN_STATE


def fulfiller_tax(order: Order, design: shop.Design, goods: int, costs: int, sending: int) -> int:
    """Find what the fulfiller billed as tax for a line, in minor units of its currency."""
    if order.from_europe:
        return share(costs + sending, next(ppm for since, ppm in shop.SLOVAK_VAT if order.day >= since))
    if order.state is None or not fulfiller_taxes(order, design):
        return 0
    return share((goods if order.region in shop.RETAIL_BASE else costs) + sending, order.state.invoice_ppm)


def bill(order: Order, design: shop.Design, row: Row, quantity: int, first: bool) -> Row:  # noqa: FBT001 - as above
    """Make the fulfiller's side of a line."""
    costs = design.cost * (93 if order.from_europe else 100) * quantity // 100
    base, more = (990, 150) if order.crosses_a_border else (510, 130) if order.from_europe else (475, 120)
    sending = base + more * (quantity - 1) if first else more * quantity
    goods = row["item_amount"]
    assert isinstance(goods, int)  # noqa: S101 - tells the type checker what `lines_of` wrote
    return {
        "fulfiller_item_cost": costs,
        "fulfiller_shipping_cost": sending,
        "fulfiller_tax_charged": fulfiller_tax(order, design, goods, costs, sending),
        "fulfiller_currency": "EUR" if order.from_europe else "USD",
        "ship_from_country": "SK" if order.from_europe else "US",
        "ship_from_region": "" if order.from_europe else "IN",
    }


def heads_of(order: Order, order_id: str) -> Row:
    """Make what all lines of an order share."""
    return {
        "order_id": order_id,
        "ordered_on": order.day,
        "entry": "sale",
        "currency": order.currency,
        "ship_to_country": order.country,
        "ship_to_region": order.region,
        "ship_to_postal_code": order.postal_code,
        "channel": "marketplace" if order.marketplace else "own",
        "marketplace": order.marketplace,
        "buyer_tax_number": order.buyer_tax_number,
        "buyer_exempt": order.buyer_exempt,
    }


def lines_of(chance: random.Random, order: Order, order_id: str) -> list[Row]:
    """Make the lines of one order with both sides of the chain."""
    count = chance.choices((1, 2, 3, 4), (58, 27, 11, 4))[0]
    designs = chance.choices(shop.DESIGNS, [design.weight for design in shop.DESIGNS], k=count)
    quantities = [order.pieces or chance.choices((1, 2, 3), (86, 11, 3))[0] for _ in designs]
    prices = [price_of(chance, order, *pair) for pair in zip(designs, quantities, strict=True)]
    sent = order.day + timedelta(chance.randint(2, 5))
    rows = []
    for number, (design, quantity, goods) in enumerate(
        zip(designs, quantities, prices, strict=True), start=1
    ):
        row = heads_of(order, order_id) | {
            "line_id": str(number),
            "supplied_on": sent if sent <= LAST_DAY else "",
            "product_class": design.product_class,
            "sku": design.sku,
            "description": design.description,
            "quantity": quantity,
            "item_amount": goods,
            "shipping_amount": shipping_of(order, quantity, number == 1, sum(prices)),
            "tax_collected": tax_charged(order, goods),
        }
        rows.append(row | bill(order, design, row, quantity, number == 1))
    return rows


def samples(chance: random.Random, order_id: str, day: date) -> list[Row]:
    """Make the line of a piece that the studio ordered for itself, to look at the print."""
    state = next(state for state in shop.STATES if state.code == "OR")
    rows = lines_of(chance, Order(day, "US", state.zips[1], state, "OR"), order_id)[:1]
    return [row | {"entry": "sample", "item_amount": 0, "shipping_amount": 0} for row in rows]


def refund_of(chance: random.Random, sale: Row) -> Row | None:
    """Draw a refund of a sale, whole or in part, soon or much later; None if after the last day."""
    ordered_on = sale["ordered_on"]
    assert isinstance(ordered_on, date)  # noqa: S101 - tells the type checker what `heads_of` wrote
    wait = chance.randint(6, 40) if chance.randrange(100) < 72 else chance.randint(70, 170)  # noqa: PLR2004 - a share
    part = PPM if chance.randrange(100) < 62 else chance.choice((250_000, 300_000, 500_000))  # noqa: PLR2004 - as above
    day = ordered_on + timedelta(wait)
    if day > LAST_DAY:
        return None
    amounts = {column: share(sale[column], part) for column in MONEY[:3] if isinstance(sale[column], int)}
    if part != PPM:
        amounts["shipping_amount"] = 0
    if day.year == LAST_DAY.year:  # the new export writes refunds with a minus
        amounts = {column: -amount for column, amount in amounts.items()}
    nothing_billed = dict.fromkeys(MONEY[3:])
    return sale | amounts | nothing_billed | {"entry": "refund", "ordered_on": day, "supplied_on": ""}


def all_orders(chance: random.Random) -> list[Order]:
    """Every order but the samples, by day."""
    drawn = [drawn_order(chance, day) for year in ORDERS for day in drawn_days(chance, year)]
    return sorted(drawn + orders_of_firms(chance), key=lambda order: order.day)


def early_refund(sale: Row) -> Row:
    """Make a refund in the first weeks of a sale that is older than the files."""
    changed = {"order_id": "QL-09871", "entry": "refund", "ordered_on": date(2024, 4, 9), "supplied_on": ""}
    return sale | dict.fromkeys(MONEY[3:]) | changed | {"original_ordered_on": date(2024, 3, 12)}


def all_rows(chance: random.Random) -> list[Row]:
    """Sales, samples and refunds of the whole time, by day and order."""
    rows: list[Row] = []
    for number, order in enumerate(all_orders(chance), start=10_001):
        order_id = f"{'BW' if order.marketplace else 'QL'}-{number}"
        rows += lines_of(chance, order, order_id)
    refunds = [refund_of(chance, row) for row in rows if chance.randrange(1000) < 33]  # noqa: PLR2004 - a share
    for number in range(12):
        rows += samples(chance, f"QL-S{number + 1:03d}", date(2024, 4, 20) + timedelta(76 * number))
    rows += [early_refund(rows[0])] + [refund for refund in refunds if refund is not None]
    return sorted(rows, key=lambda row: (row["ordered_on"], row["order_id"], row["line_id"], row["entry"]))
