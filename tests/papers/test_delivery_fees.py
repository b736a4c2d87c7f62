"""Fees on deliveries: the states' own numbers, who is free, from when, and what an order must hold."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from shop import orders, registered, seller

from taxcalc import assess
from taxcalc.reports.terminal import review_text
from taxcalc.tables.load import load_tables
from taxcalc.tables.where import folder

if TYPE_CHECKING:
    from pathlib import Path

SHOP = seller(registration=registered("US-CO", "US-MN"))
AS_OF = date(2025, 10, 5)


def sold(to: str, amount: str, day: str, **more: str) -> dict[str, str]:
    """Write one order."""
    return {"to": to, "item_amount": amount, "ordered_on": day, **more}


def fee(place: str, *rows: dict[str, str], **changes: Any) -> dict[str, Any]:  # noqa: ANN401 - parts of a profile
    """Give the part of the record on a state's fee; the period is the third quarter of 2025."""
    profile = {**SHOP, **changes}
    record = assess(orders(rows), profile, as_of=AS_OF, period="2025-Q3").record()
    (found,) = [each for each in record["delivery_fees"] if each["place"] == place]
    return found


def counted(place: str, *rows: dict[str, str], **changes: Any) -> list[int]:  # noqa: ANN401 - parts of a profile
    """Give the number of orders of the period that bear the fee: low, expected, high."""
    return list(fee(place, *rows, **changes)["period"]["orders"].values())


@pytest.mark.source("co-dor-delivery-fee-rates")
@pytest.mark.parametrize(
    ("day", "parts", "total"),
    [
        pytest.param("2022-07-01", "0.0690 0.0530 0.0300 0.0840 0.0270 0.0070", "0.27", id="from July 2022"),
        pytest.param("2024-07-01", "0.0741 0.0569 0.0322 0.0903 0.0290 0.0075", "0.29", id="from July 2024"),
        pytest.param("2025-07-01", "0.0567 0.0589 0.0333 0.0933 0.0300 0.0078", "0.28", id="from July 2025"),
    ],
)
def test_the_fee_of_colorado_is_the_sum_of_its_six_parts(day: str, parts: str, total: str) -> None:
    """Colorado DOR, Retail Delivery Fee Rates: official part-fees and totals; the row holds the total."""
    table = load_tables()["us/delivery_fees"]
    number = (date.fromisoformat(day) - date(1970, 1, 1)).days
    (row,) = [r for r in table.rows(place="US-CO") if table["valid_from"][r] == number]
    assert sum(Decimal(part) for part in parts.split()) == Decimal(total)
    assert int(table["amount"][row]) == Decimal(total) * 100


@pytest.mark.source("co-rule-43-4-218")
@pytest.mark.parametrize(
    ("last_year", "count"),
    [
        pytest.param("480000.00", 0, id="480,000"),
        pytest.param("500000.00", 0, id="up to the limit"),
        pytest.param("500000.01", 1, id="a cent above"),
        pytest.param("520000.00", 1, id="520,000"),
    ],
)
def test_a_small_seller_of_the_year_before_is_free_in_colorado(last_year: str, count: int) -> None:
    """Rule 43-4-218: stated; 480,000 of Colorado retail sales last year, no fee; 520,000, a fee. The others are derived."""
    before = (sold("US-CO", "10.00", "2023-05-01"), sold("US-CO", last_year, "2024-05-01"))
    found = fee("US-CO", *before, sold("US-CO", "20.00", "2025-08-01"))
    assert found["period"]["orders"] == {"low": count, "expected": count, "high": count}
    assert found["period"]["amount"]["expected"] == ("0.28" if count else "0.00")
    assert found["sales_previous_year"] == last_year


@pytest.mark.source("co-rule-43-4-218")
def test_one_sale_in_three_parcels_bears_one_fee() -> None:
    """Rule 43-4-218: stated; one sale sent in three parcels bears one fee."""
    day = {"ordered_on": "2025-08-01", "to": "US-CO", "item_amount": "5.00", "order_id": "a"}
    parcels = [{**day, "line_id": str(n), "supplied_on": f"2025-08-0{n}"} for n in (1, 2, 3)]
    before = (sold("US-CO", "10.00", "2023-05-01"), sold("US-CO", "520000.00", "2024-05-01"))
    assert counted("US-CO", *before, *parcels) == [1, 1, 1]


@pytest.mark.source("mn-dor-delivery-fee")
@pytest.mark.parametrize(
    ("row", "count"),
    [
        pytest.param({"item_amount": "100.00", "product_class": "clothing"}, 1, id="clothing of 100"),
        pytest.param({"item_amount": "99.99"}, 0, id="goods of 99.99"),
        pytest.param({"item_amount": "95.00", "shipping_amount": "5.00"}, 1, id="all charges count"),
        pytest.param({"item_amount": "100.00", "channel": "marketplace"}, 0, id="the facilitator's sale"),
        pytest.param({"item_amount": "100.00", "buyer_exempt": "exempt"}, 0, id="an exempt buyer"),
        pytest.param({"item_amount": "100.00", "entry": "refund"}, 0, id="no sale"),
        pytest.param({"item_amount": "100.00", "product_class": "digital"}, 0, id="no delivery"),
    ],
)
def test_what_an_order_must_hold_in_minnesota(row: dict[str, str], count: int) -> None:
    """Minnesota DOR: stated; 0.50 once a transaction where taxable goods and clothing, though free of tax, are 100 or more.

    The orders are derived.
    """
    before = (sold("US-MN", "10.00", "2023-05-01"), sold("US-MN", "1000000.00", "2024-05-01"))
    found = fee("US-MN", *before, {"to": "US-MN", "ordered_on": "2025-08-01", **row})
    assert list(found["period"]["orders"].values()) == [count] * 3
    assert found["period"]["amount"]["expected"] == ("0.50" if count else "0.00")


@pytest.mark.source("mn-dor-delivery-fee")
@pytest.mark.parametrize(("last_year", "count"), [("900000.00", 0), ("999999.99", 0), ("1000000.00", 1)])
def test_a_seller_below_a_million_is_free_in_minnesota(last_year: str, count: int) -> None:
    """Derived: 900,000 of Minnesota retail sales last year, none."""
    before = (sold("US-MN", "10.00", "2023-05-01"), sold("US-MN", last_year, "2024-05-01"))
    assert counted("US-MN", *before, sold("US-MN", "100.00", "2025-08-01")) == [count] * 3


@pytest.mark.parametrize(
    ("place", "first", "day_before"),
    [
        pytest.param("US-CO", "2025-07-01", "2025-06-30", id="Colorado: first period at least 90 days after"),
        pytest.param("US-MN", "2025-06-01", "2025-05-31", id="Minnesota: first of a month within 60 days"),
    ],
)
def test_a_new_seller_starts_after_its_crossing(place: str, first: str, day_before: str) -> None:
    """Passed on 2025-04-02, without sales in 2024: 90 days later is July 1, 60 days later is June 1."""
    big = sold(place, "1000001.00", "2025-04-02")
    rows = [sold(place, "150.00", day) for day in (day_before, first)]
    assert fee(place, big, *rows)["liable_from"] == first
    assert fee(place, big, *rows)["since_liable"]["orders"]["expected"] == 1
    older = sold(place, "10.00", "2024-05-01")
    again = fee(place, older, big, *rows)
    assert again["since_liable"]["orders"] == {"low": 0, "expected": 0, "high": 1}
    assert (again["liable_from"], again["may_be_liable_from"]) == (None, first)


def test_sales_before_the_files_count() -> None:
    """Amounts of [[prior_sales]] stand for the year before; without them the files begin too late to know."""
    years = (2023, 2024)
    prior = [
        {
            "place": "US-CO",
            "amount": "510000.00",
            "transactions": 900,
            "from": date(year, 1, 1),
            "until": date(year, 12, 31),
        }
        for year in years
    ]
    row = sold("US-CO", "20.00", "2025-08-01")
    assert counted("US-CO", row, prior_sales=prior) == [1, 1, 1]
    alone = fee("US-CO", row)
    assert (list(alone["period"]["orders"].values()), alone["incomplete"]) == ([0, 0, 0], True)


def test_the_fee_is_said_and_stays_out_of_the_tax() -> None:
    """The review has a block and a finding; no tax of the place changes by it."""
    before = (sold("US-CO", "10.00", "2023-05-01"), sold("US-CO", "520000.00", "2024-05-01"))
    record = assess(
        orders([*before, sold("US-CO", "20.00", "2025-08-01")]), SHOP, as_of=AS_OF, period="2025-Q3"
    ).record()
    text = review_text(record)
    assert "Fees on deliveries" in text
    assert "0.28" in text
    (finding,) = [each for each in record["findings"] if each["kind"] == "delivery_fee"]
    assert finding["place"] == "US-CO"
    (state,) = [each for each in record["places"] if each["place"] == "US-CO"]
    assert Decimal(state["to_collect"]["high"]) < 20 * Decimal("0.12")
    assert "co-dor-delivery-fee-rates" in {source["id"] for source in record["sources"]}


def back(row: dict[str, str], **more: str) -> dict[str, str]:
    """Write the refund of an order, a month later."""
    return {**row, "entry": "refund", "ordered_on": "2025-09-01", **more}


BEFORE = {
    place: (sold(place, "10.00", "2023-05-01"), sold(place, "1000000.00", "2024-05-01"))
    for place in ("US-CO", "US-MN")
}
ORDER = {"order_id": "a", "line_id": "1", "item_amount": "150.00", "ordered_on": "2025-08-01"}


@pytest.mark.parametrize("place", ["US-CO", "US-MN"])
@pytest.mark.parametrize(
    ("refunds", "counts"),
    [
        pytest.param((), [1, 1, 1], id="not refunded"),
        pytest.param(({"item_amount": "150.00"},), [0, 1, 1], id="refunded in full"),
        pytest.param(
            ({"item_amount": "100.00"}, {"item_amount": "50.00", "ordered_on": "2025-09-02"}),
            [0, 1, 1],
            id="in two parts",
        ),
        pytest.param(({"item_amount": "149.99"},), [1, 1, 1], id="all but a cent"),
    ],
)
def test_a_full_refund_leaves_the_fee_open(
    place: str, refunds: tuple[dict[str, str], ...], counts: list[int]
) -> None:
    """Colorado: nothing read. Minnesota, from memory: it stays when goods come back, not when delivery is cancelled."""
    sale = {**ORDER, "to": place}
    assert counted(place, *BEFORE[place], sale, *(back(sale, **part) for part in refunds)) == counts


@pytest.mark.parametrize(
    ("rule", "counts"), [("falls_away", [0, 0, 0]), ("stays", [1, 1, 1]), ("not_read", [0, 1, 1])]
)
def test_a_row_says_what_becomes_of_the_fee(rule: str, counts: list[int], tmp_path: Path) -> None:
    """Own rows for Minnesota, with each answer."""
    (tmp_path / "us").mkdir()
    header, *rows = (folder() / "us" / "delivery_fees.csv").read_text(encoding="utf-8").splitlines()
    (own,) = [row.replace("stays_unless_cancelled", rule) for row in rows if row.startswith("US-MN")]
    own = own.replace(" after_full_refund,", ",").replace(",after_full_refund,", ",,")
    (tmp_path / "us" / "delivery_fees.csv").write_text(f"{header}\n{own}\n", encoding="utf-8")
    sale = {**ORDER, "to": "US-MN"}
    rows_ = orders([*BEFORE["US-MN"], sale, back(sale)])
    record = assess(rows_, SHOP, tables=tmp_path, as_of=AS_OF, period="2025-Q3").record()
    (found,) = [each for each in record["delivery_fees"] if each["place"] == "US-MN"]
    assert list(found["period"]["orders"].values()) == counts


def test_another_order_with_a_refund_keeps_its_fee() -> None:
    """Only the order that was given back is left out at the low end, and the review names the span."""
    sale = {**ORDER, "to": "US-CO"}
    rows = [*BEFORE["US-CO"], sale, back(sale), {**sale, "order_id": "b"}]
    assert counted("US-CO", *rows) == [1, 2, 2]
    record = assess(orders(rows), SHOP, as_of=AS_OF, period="2025-Q3").record()
    (finding,) = [each for each in record["findings"] if each["kind"] == "delivery_fee"]
    assert "1 to 2 orders" in finding["text"]
    assert "$0.28 to $0.56" in review_text(record)
