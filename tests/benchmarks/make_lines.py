"""Write N order lines for the benchmarks, in chunks, so that the memory does not grow with N.

    python tests/benchmarks/make_lines.py 1000000 lines.csv

About 80 % of the lines go to the United States, 20 % to the Union; two lines an order, 30 % through a
marketplace, 2.5 % refunds of a sale among them. A shop does not see every number that could be a postal code:
each destination has a pool of codes, about 25 000 ZIP codes in all, out of the runs of each state by its
people, and about 12 000 European ones; they are drawn once, before the first line. One seed: the same bytes
on every run. All amounts are whole cents until they are written.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import csv as arrow_csv

SEED = 20_261_020
CHUNK = 200_000
FIRST_DAY, DAYS = np.datetime64("2024-01-01"), 900
ZIP_RUNS = Path(__file__).parents[2] / "rate_tables" / "us" / "zip_states.csv"
CLASSES = np.array(
    ["clothing", "headwear", "homeware", "wall_art", "books", "stationery", "clothing_children"]
)
PRICES = np.array([2800, 2600, 1700, 2400, 2100, 1500, 2200])
CLASS_SHARES = np.array([38, 11, 20, 16, 8, 3, 4]) / 100
REFUNDS_IN_1000 = 25
MARKETPLACE_SHARE, FIRM_SHARE = 0.3, 0.02
WHOLE = 100
US_SHARE = 0.8
US_CODES, UNION_CODES = 25_000, 12_000
COLUMNS = (
    "order_id", "line_id", "ordered_on", "entry", "currency", "ship_to_country", "ship_to_region",
    "ship_to_postal_code", "product_class", "quantity", "item_amount", "shipping_amount", "tax_collected",
    "channel", "buyer_tax_number", "fulfiller_item_cost", "fulfiller_shipping_cost", "fulfiller_tax_charged",
    "ship_from_country",
)  # fmt: skip
PEOPLE = """\
CA 390 TX 305 FL 226 NY 196 PA 130 IL 125 OH 118 GA 110 NC 108 MI 100 NJ 93 VA 87 WA 78 AZ 74
TN 71 MA 70 IN 68 MD 62 MO 62 WI 59 CO 58 MN 57 SC 54 AL 51 LA 46 KY 45 OR 42 OK 40
CT 36 UT 34 NV 32 IA 32 AR 31 KS 29 MS 29 NM 21 NE 20 ID 20 WV 18 HI 14 NH 14 ME 14
PR 12 RI 11 MT 11 DE 10 SD 9 ND 8 AK 7 DC 7 VT 6 WY 6 AE 4 AP 4
""".split()  # noqa: SIM905 - a table reads better than a list
"""State and its population in 100 000; two military regions with a small share."""

UNION = """\
DE 84 10115 99998 FR 68 10000 95999 IT 59 20010 98168 ES 48 10001 52006 PL 37 10001 99440
NL 18 1011 9999 BE 12 1000 9992 AT 9 1010 9992 SK 5 81101 99201
""".split()  # noqa: SIM905 - as above
"""Member state, population in millions, first and last postal code drawn."""

TAX_CHARGED = {"WA": 95_100, "CO": 78_900}
FULFILLER_CHARGES = {"CA": 89_900, "CT": 63_500, "MA": 62_500, "MD": 60_000, "TN": 96_100, "SK": 230_000}
"""Parts per million that the shop and the fulfiller put on their invoices, roughly."""


@dataclass(frozen=True)
class Destinations:
    """What a line can be sent to: the ZIP runs of the states, then the Union; `chance` adds up to 1.

    The postal codes of a destination are `codes` of them from `first` on in `pool`.
    """

    country: np.ndarray
    region: np.ndarray
    pool: np.ndarray
    first: np.ndarray
    codes: np.ndarray
    width: np.ndarray
    chance: np.ndarray
    charged_ppm: np.ndarray
    fulfiller_ppm: np.ndarray


def destinations() -> Destinations:
    """Read the ZIP runs; a run is drawn by its length inside its state, a state by its population."""
    people = dict(zip(PEOPLE[::2], map(int, PEOPLE[1::2]), strict=True))
    with ZIP_RUNS.open(encoding="utf-8", newline="") as table:
        runs = [
            (row["place"].removeprefix("US-"), int(row["zip_from"]), int(row["zip_to"]))
            for row in csv.DictReader(table)
        ]
    runs = [run for run in runs if run[0] in people]
    codes = dict.fromkeys(people, 0)
    for state, low, high in runs:
        codes[state] += high - low + 1
    living = sum(people[state] for state, count in codes.items() if count)
    chances = [
        US_SHARE * people[state] / living * (high - low + 1) / codes[state] for state, low, high in runs
    ]
    union = list(zip(UNION[::4], map(int, UNION[1::4]), UNION[2::4], UNION[3::4], strict=True))
    members = sum(share for _, share, _, _ in union)
    slovak = FULFILLER_CHARGES["SK"]
    chance = np.array(chances + [(1 - US_SHARE) * share / members for _, share, _, _ in union])
    spans = [(low, high) for _, low, high in runs] + [(int(low), int(high)) for _, _, low, high in union]
    of_kind = np.where(np.arange(len(spans)) < len(runs), US_CODES / US_SHARE, UNION_CODES / (1 - US_SHARE))
    pools = drawn_pools(spans, np.rint(chance * of_kind).astype(int))
    sizes = np.array([len(pool) for pool in pools])
    return Destinations(
        country=np.array(["US"] * len(runs) + [code for code, _, _, _ in union]),
        region=np.array([state for state, _, _ in runs] + [""] * len(union)),
        pool=np.concatenate(pools),
        first=np.cumsum(sizes) - sizes,
        codes=sizes,
        width=np.array([5] * len(runs) + [len(low) for _, _, low, _ in union]),
        chance=chance,
        charged_ppm=np.array([TAX_CHARGED.get(state, 0) for state, _, _ in runs] + [0] * len(union)),
        fulfiller_ppm=np.array(
            [FULFILLER_CHARGES.get(state, 0) for state, _, _ in runs] + [slovak] * len(union)
        ),
    )


def drawn_pools(spans: list[tuple[int, int]], wanted: np.ndarray) -> list[np.ndarray]:
    """Draw the postal codes that occur in each span of numbers, at least one and without repeats."""
    chance = np.random.default_rng([SEED, 1])
    return [
        low + chance.choice(high - low + 1, min(max(count, 1), high - low + 1), replace=False)
        for (low, high), count in zip(spans, wanted.tolist(), strict=True)
    ]


def money(cents: np.ndarray, blank: np.ndarray | None = None) -> pa.Array:
    """Write cents as text with two decimals; null where `blank`."""
    cents = pa.array(cents, pa.int64(), mask=blank)
    whole = pc.cast(pc.divide(cents, 100), pa.string())
    rest = pc.cast(pc.subtract(cents, pc.multiply(pc.divide(cents, 100), 100)), pa.string())
    return pc.binary_join_element_wise(whole, pc.utf8_lpad(rest, 2, "0"), ".")


def padded(numbers: np.ndarray, width: np.ndarray) -> pa.Array:
    """Write postal codes with their leading zeros (four or five digits)."""
    text = pc.cast(pa.array(numbers, pa.int64()), pa.string())
    return pc.if_else(pa.array(width == 5), pc.utf8_lpad(text, 5, "0"), text)


def text(values: np.ndarray) -> pa.Array:
    """Turn a NumPy column of text into an Arrow one."""
    return pa.array(values.astype(object), pa.string())


def parts(cents: np.ndarray, ppm: np.ndarray) -> np.ndarray:
    """Take parts per million of cents, half a cent up."""
    return (cents * ppm + 500_000) // 1_000_000


def orders_of_lines(chance: np.random.Generator, lines: int) -> np.ndarray:
    """Give each line the number of its order inside the chunk; one to three lines an order."""
    sizes = chance.integers(1, 4, lines)
    return np.repeat(np.arange(lines), sizes)[:lines]


@dataclass(frozen=True)
class Rows:
    """The rows of a chunk: `sale` points into its sale lines; `wait` and `percent` are those of a refund."""

    sale: np.ndarray
    refund: np.ndarray
    wait: np.ndarray
    percent: np.ndarray


def drawn_rows(chance: np.random.Generator, sales: int, rows: int) -> Rows:
    """List every sale, then the refunds; no sale is refunded twice."""
    refunded = chance.choice(sales, rows - sales, replace=False)
    refund = np.arange(rows) >= sales
    percent = np.where(refund, chance.choice([WHOLE, 50, 25], rows, p=[0.6, 0.3, 0.1]), WHOLE)
    wait = np.where(refund, chance.integers(5, 90, rows), 0)
    return Rows(np.concatenate([np.arange(sales), refunded]), refund, wait, percent)


@dataclass(frozen=True)
class Orders:
    """The orders of a chunk: where each goes, when, and how it came in."""

    number: np.ndarray
    place: np.ndarray
    day: np.ndarray
    postal: np.ndarray
    marketplace: np.ndarray
    firm: np.ndarray


@dataclass(frozen=True)
class Sales:
    """The sale lines of a chunk; `order` points into its orders. Amounts in cents."""

    order: np.ndarray
    line: np.ndarray
    kind: np.ndarray
    quantity: np.ndarray
    goods: np.ndarray
    sending: np.ndarray


def drawn_orders(
    chance: np.random.Generator, to: Destinations, numbers: np.ndarray, span: tuple[int, int]
) -> Orders:
    """Draw the destination, the day (first of `span` to before its last) and the channel of every order."""
    count = len(numbers)
    place = chance.choice(len(to.chance), count, p=to.chance / to.chance.sum())
    return Orders(
        number=numbers,
        place=place,
        day=np.sort(chance.integers(span[0], max(span[1], span[0] + 1), count)),
        postal=to.pool[to.first[place] + chance.integers(to.codes[place])],
        marketplace=chance.random(count) < MARKETPLACE_SHARE,
        firm=(to.country[place] == "DE") & (chance.random(count) < FIRM_SHARE),
    )


def drawn_sales(chance: np.random.Generator, order: np.ndarray) -> Sales:
    """Draw goods, quantity and price of every sale line; some are sold at a discount."""
    count = len(order)
    line = np.arange(count) - np.searchsorted(order, order) + 1
    kind = chance.choice(len(CLASSES), count, p=CLASS_SHARES)
    quantity = chance.choice([1, 2, 3], count, p=[0.86, 0.11, 0.03])
    percent = chance.choice([100, 90, 85], count, p=[0.8, 0.12, 0.08])
    return Sales(
        order, line, kind, quantity, PRICES[kind] * quantity * percent // 100, np.where(line == 1, 595, 150)
    )


def head_columns(to: Destinations, orders: Orders, of: np.ndarray) -> dict[str, pa.Array]:
    """Write what rows share with their order; `of` points from rows into the orders."""
    country = to.country[orders.place[of]]
    return {
        "order_id": pc.binary_join_element_wise("A", pc.cast(pa.array(orders.number[of]), pa.string()), ""),
        "currency": text(np.where(country == "US", "USD", "EUR")),
        "ship_to_country": text(country),
        "ship_to_region": text(to.region[orders.place[of]]),
        "ship_to_postal_code": padded(orders.postal[of], to.width[orders.place[of]]),
        "channel": text(np.where(orders.marketplace[of], "marketplace", "own")),
        "buyer_tax_number": text(np.where(orders.firm[of], "DE111111125", "")),
        "ship_from_country": text(np.where(country == "US", "US", "SK")),
    }


def amount_columns(
    sales: Sales, row: Rows, charged_ppm: np.ndarray, billed_ppm: np.ndarray
) -> dict[str, pa.Array]:
    """Write the amounts of the rows: a refund is of all or part of its sale, billed with nothing."""
    item = sales.goods[row.sale] * row.percent // 100
    shipping = np.where(row.percent == WHOLE, sales.sending[row.sale], 0)
    cost = sales.goods[row.sale] * 48 // 100
    sending = np.where(sales.line[row.sale] == 1, 475, 120)
    return {
        "item_amount": money(item),
        "shipping_amount": money(shipping),
        "tax_collected": money(parts(item, charged_ppm), charged_ppm == 0),
        "fulfiller_item_cost": money(cost, row.refund),
        "fulfiller_shipping_cost": money(sending, row.refund),
        "fulfiller_tax_charged": money(parts(cost + sending, billed_ppm), row.refund),
    }


def chunk(
    chance: np.random.Generator, to: Destinations, first_order: int, rows: int, span: tuple[int, int]
) -> pa.Table:
    """Make one chunk: `rows` lines of the days `span`, the refunds after the sales that they belong to."""
    order = orders_of_lines(chance, rows - rows * REFUNDS_IN_1000 // 1000)
    orders = drawn_orders(chance, to, np.arange(first_order, first_order + order[-1] + 1), span)
    sales = drawn_sales(chance, order)
    row = drawn_rows(chance, len(order), rows)
    of = order[row.sale]
    place = orders.place[of]
    charged_ppm = np.where(orders.marketplace[of], 0, to.charged_ppm[place])
    columns = head_columns(to, orders, of) | amount_columns(sales, row, charged_ppm, to.fulfiller_ppm[place])
    columns |= {
        "line_id": pc.cast(pa.array(sales.line[row.sale]), pa.string()),
        "ordered_on": pc.cast(
            pa.array(FIRST_DAY + np.minimum(orders.day[of] + row.wait, DAYS - 1)), pa.string()
        ),
        "entry": text(np.where(row.refund, "refund", "sale")),
        "product_class": text(CLASSES[sales.kind[row.sale]]),
        "quantity": pc.cast(pa.array(sales.quantity[row.sale]), pa.string()),
    }
    return pa.table({name: columns[name] for name in COLUMNS})


def write_lines(path: Path, lines: int) -> None:
    """Write `lines` order lines to `path`, `CHUNK` at a time; the days run on from chunk to chunk."""
    chance, to = np.random.default_rng(SEED), destinations()
    writer, done, order = None, 0, 1_000_000
    try:
        while done < lines:
            rows = min(CHUNK, lines - done)
            table = chunk(chance, to, order, rows, (DAYS * done // lines, DAYS * (done + rows) // lines))
            if writer is None:
                options = arrow_csv.WriteOptions(quoting_style="none")
                writer = arrow_csv.CSVWriter(path, table.schema, write_options=options)
            writer.write_table(table)
            done, order = done + rows, order + rows
    finally:
        if writer is not None:
            writer.close()


if __name__ == "__main__":
    write_lines(Path(sys.argv[2]), int(sys.argv[1]))
