"""Write the orders of the invented shop in the Union: orders.csv.

    python examples/union-shop/make_orders.py [FOLDER]

Every run writes the same bytes: one seed, whole cents, no clock. The percentages are what the shop and its fulfiller
happened to put on their invoices, wrong ones among them; they are no rate table and nothing else reads them.
"""

from __future__ import annotations

import csv
import random
import sys
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

SEED = 20_261_021
FIRST_DAY, LAST_DAY = date(2025, 1, 2), date(2026, 10, 17)
ORDERS = 1100
PPM = 1_000_000

COLUMNS = (
    "order_id", "line_id", "ordered_on", "supplied_on", "entry", "currency", "ship_to_country", "ship_to_region",
    "ship_to_postal_code", "product_class", "description", "quantity", "item_amount", "shipping_amount", "tax_collected",
    "channel", "marketplace", "buyer_tax_number", "fulfiller_item_cost", "fulfiller_shipping_cost", "fulfiller_tax_charged",
    "fulfiller_currency", "ship_from_country", "ship_from_region",
)  # fmt: skip
MONEY = (
    "item_amount", "shipping_amount", "tax_collected", "fulfiller_item_cost", "fulfiller_shipping_cost", "fulfiller_tax_charged",
)  # fmt: skip


@dataclass(frozen=True)
class Design:
    """One thing on sale: kind, words, price in euro cents, what the fulfiller asks, how often it is drawn."""

    kind: str
    words: str
    price: int
    cost: int
    weight: int


DESIGNS = (
    Design("clothing", "T-shirt, dune grass", 2900, 1150, 16),
    Design("clothing", "Sweatshirt, brick tower", 5200, 2480, 9),
    Design("clothing_children", "Children's T-shirt, shrimp boat", 2400, 1010, 6),
    Design("headwear", "Cap, sea wall", 2600, 1120, 6),
    Design("accessories", "Tote bag, tram line", 1900, 690, 10),
    Design("homeware", "Mug, canal bridge", 1800, 700, 13),
    Design("homeware", "Blanket, polder map", 7800, 3820, 3),
    Design("wall_art", "Print, night ferry, A2", 3400, 1260, 14),
    Design("books", "Book, Walks along the Dyke", 2200, 960, 7),
    Design("stationery", "Notebook, tide table", 1500, 540, 6),
    Design("digital", "Desktop pictures, twelve skies", 900, 0, 2),
)

NORTH, SOUTH, OUTSIDE = ("PL", ""), ("ES", ""), ("US", "NC")
"""Three sites of the same fulfiller."""

# Where customers live: country, share, postal codes, and the site that serves them.
CUSTOMERS = (
    ("BE", 26, ("1000", "2000", "8000", "9000"), NORTH),
    ("NL", 17, ("1012 AB", "3511 BT"), NORTH),
    ("DE", 17, ("10115", "50667", "20095"), NORTH),
    ("FR", 15, ("59000", "75011", "31000"), SOUTH),
    ("PL", 6, ("00-001", "30-001"), NORTH),
    ("ES", 6, ("28013", "08002", "35001"), SOUTH),
    ("IT", 5, ("20121", "00184"), SOUTH),
    ("LU", 2, ("1111",), NORTH),
    ("AT", 3, ("1010",), NORTH),
    ("IE", 2, ("D02 X285",), NORTH),
    ("SE", 2, ("111 20",), NORTH),
    ("PT", 2, ("1100-148", "9000-019"), SOUTH),
    ("US", 10, ("10001", "60601", "94103", "02108"), OUTSIDE),
    ("GB", 3, ("SW1A 1AA",), NORTH),
    ("CH", 2, ("8001",), NORTH),
)
FIRMS = (("DE", "50667", "DE111111125"), ("FR", "75011", "FR40303265045"))
"""Firms that buy for their offices; the numbers have the right form and were made up for this example."""

OSS_SINCE = date(2026, 1, 1)
"""From here the shop charges the VAT of the state of arrival; before, it put Belgian VAT on everything."""
NUMBER_GIVEN = date(2025, 10, 1)
"""From here the fulfiller has the shop's Belgian VAT number; its Spanish site took no notice of it."""
SHOWN_VAT = {
    "BE": 210_000, "NL": 210_000, "DE": 190_000, "FR": 200_000, "PL": 230_000, "ES": 210_000, "IT": 220_000, "LU": 170_000,
    "AT": 200_000, "IE": 230_000, "SE": 250_000, "PT": 230_000,
}  # fmt: skip
SITE_VAT = {"PL": 230_000, "ES": 210_000}

Row = dict[str, object]


def share(amount: int, ppm: int) -> int:
    """Take parts per million of an amount, half a cent away from zero."""
    return (amount * ppm + PPM // 2) // PPM


def inside(gross: int, ppm: int) -> int:
    """Take the tax out of a price that contains it."""
    return (gross * ppm * 2 + PPM + ppm) // (2 * (PPM + ppm))


def vat_shown(day: date, country: str, gross: int) -> int | None:
    """Find what the shop shows as VAT inside the price."""
    if country not in SHOWN_VAT:
        return None
    return inside(gross, SHOWN_VAT[country] if day >= OSS_SINCE else SHOWN_VAT["BE"])


def fulfiller_vat(day: date, site: str, country: str, billed: int) -> int:
    """Find what the fulfiller's site puts on its invoice."""
    if site not in SITE_VAT or country in ("GB", "CH"):
        return 0
    leaves = country != site
    if leaves and day >= NUMBER_GIVEN and site == "PL":
        return 0
    return share(billed, SITE_VAT[site])


def lines_of(chance: random.Random, number: int, day: date) -> list[Row]:
    """Draw one order."""
    country, _, codes, site = chance.choices(CUSTOMERS, [share_of for _, share_of, _, _ in CUSTOMERS])[0]
    postal, tax_number = chance.choice(codes), ""
    if number % 97 == 0:
        country, postal, tax_number = FIRMS[number // 97 % len(FIRMS)]
        site = NORTH if country == "DE" else SOUTH
    if country != "US" and number % 41 == 0:
        site = OUTSIDE  # one design of the day is only made overseas
    fair = chance.randrange(100) < 12 and not tax_number  # noqa: PLR2004 - a share that is used here only
    rows: list[Row] = []
    for line in range(chance.choices((1, 2, 3), (74, 20, 6))[0]):
        design = chance.choices(DESIGNS, [one.weight for one in DESIGNS])[0]
        pieces = chance.randint(4, 9) if tax_number else chance.choices((1, 2), (88, 12))[0]
        digital = design.kind == "digital"
        goods, sent = design.price * pieces, 0 if digital else 490 if line == 0 else 100
        cost, transport = design.cost * pieces, 0 if digital else 390 if line == 0 else 90
        shown = None if fair or tax_number else vat_shown(day, country, goods + sent)
        rows.append(
            {
                "order_id": f"ZG-{number:05d}", "line_id": line + 1, "ordered_on": day,
                "supplied_on": "" if digital else day + timedelta(chance.randint(2, 6)), "entry": "sale", "currency": "EUR",
                "ship_to_country": country, "ship_to_region": "", "ship_to_postal_code": postal,
                "product_class": design.kind, "description": design.words, "quantity": pieces, "item_amount": goods,
                "shipping_amount": sent, "tax_collected": shown, "channel": "marketplace" if fair else "own",
                "marketplace": "winter-fair" if fair else "", "buyer_tax_number": tax_number,
                "fulfiller_item_cost": cost, "fulfiller_shipping_cost": transport,
                "fulfiller_tax_charged": 0 if digital else fulfiller_vat(day, site[0], country, cost + transport),
                "fulfiller_currency": "EUR", "ship_from_country": site[0], "ship_from_region": site[1],
            }
        )  # fmt: skip
    return rows


def refunds_of(chance: random.Random, rows: list[Row]) -> list[Row]:
    """Draw the refunds: about one sale in forty, three weeks later or in the next quarter."""
    found = []
    for row in rows:
        day = row["ordered_on"]
        if chance.randrange(40) or not isinstance(day, date):
            continue
        later = day + timedelta(chance.choice((21, 95)))
        if later <= LAST_DAY:
            back = {name: -value if isinstance(value := row[name], int) else value for name in MONEY}
            none = dict.fromkeys(("fulfiller_item_cost", "fulfiller_shipping_cost", "fulfiller_tax_charged"))
            found.append(row | back | none | {"entry": "refund", "ordered_on": later, "supplied_on": ""})
    return found


def written(name: str, value: object) -> str:
    """Write a value as the export does."""
    if value is None:
        return ""
    if name in MONEY and isinstance(value, int):
        return f"{'-' if value < 0 else ''}{abs(value) // 100}.{abs(value) % 100:02d}"
    return str(value)


def main() -> None:
    """Write the export into the folder given, or beside this script."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    chance = random.Random(SEED)
    days = sorted(
        FIRST_DAY + timedelta(chance.randrange((LAST_DAY - FIRST_DAY).days + 1)) for _ in range(ORDERS)
    )
    sales = [row for number, day in enumerate(days, start=1001) for row in lines_of(chance, number, day)]
    rows = sorted(
        sales + refunds_of(chance, sales), key=lambda row: (str(row["ordered_on"]), str(row["order_id"]))
    )
    with (folder / "orders.csv").open("w", encoding="utf-8", newline="") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(COLUMNS)
        table.writerows([written(name, row[name]) for name in COLUMNS] for row in rows)


if __name__ == "__main__":
    main()
