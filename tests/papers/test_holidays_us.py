"""Sales-tax holidays: worked examples of the states' rules, both sides of each day and price, and what stays open.

Prices, days and words of the states are rows of us/holidays; each test names the paper of its example.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import asked, registered, seller

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

ENDS = ["to_collect_low", "to_collect", "to_collect_high"]
PLACES = ("US-TX", "US-MD", "US-MS", "US-AR", "US-AL", "US-NM", "US-MA", "US-SC", "US-FL", "US-OH", "US-CT")
SHOP = seller(registration=registered(*PLACES))


def sold(to: str, amount: str, day: str, **more: str) -> dict[str, str]:
    """Write one order of clothing."""
    return {"to": to, "item_amount": amount, "ordered_on": day, "product_class": "clothing", **more}


def ask(*rows: dict[str, str], **more: Path) -> pd.DataFrame:
    """Assess orders of a shop registered in every state of these tests."""
    return asked(SHOP, *rows, **more)


def taxed(row: dict[str, str]) -> list[bool]:
    """Tell at which end, low, expected and high, one order bears tax."""
    found = ask({"order_id": "a", **row}).loc["a", ENDS]
    return [amount > 0 for amount in found]


def parcel(name: str, *items: tuple[str, str, str]) -> list[dict[str, str]]:
    """Write a parcel to Texas in its holiday of 2024: lines of (goods, quantity, shipping)."""
    return [
        {
            **sold("US-TX", goods, "2024-08-10", quantity=quantity, shipping_amount=shipping),
            "order_id": name,
            "line_id": str(number),
        }
        for number, (goods, quantity, shipping) in enumerate(items, start=1)
    ]


@pytest.mark.source("tx-34tac-3.365")
def test_a_flat_charge_may_be_put_on_any_one_item_in_texas() -> None:
    """Texas 34 TAC 3.365, example: official result; four shirts at 98, one at 85, 10 put on the shirt at 85: all are exempt."""
    lines = ask(*parcel("shirts", ("392.00", "4", "10.00"), ("85.00", "1", "0.00")))
    assert lines.loc["shirts", ENDS].to_numpy().tolist() == [[0, 0, 0]] * 2


@pytest.mark.source("tx-comptroller-holiday-2024")
def test_a_single_item_bears_its_delivery_in_texas() -> None:
    """Texas Comptroller (read in the press): stated; jeans at 95 with delivery of 10 are 105, not exempt, tax on 105.

    Derived: 6.25 % of 105.00 is 6.5625, and 8.25 % at the highest 8.6625. The cheaper pair, 99.99 with its delivery, is ours.
    """
    lines = ask(*parcel("jeans", ("95.00", "1", "10.00")), *parcel("cheaper", ("89.99", "1", "10.00")))
    assert lines.loc["jeans", ["to_collect_low", "to_collect_high"]].tolist() == [656, 866]
    assert lines.loc["cheaper", ENDS].tolist() == [0, 0, 0]


def test_where_no_item_can_bear_the_charge_it_counts_where_it_stands() -> None:
    """Derived from the rule of Texas: two shirts at 95, 10 for the parcel; whichever bears it is 105 and taxed."""
    lines = ask(*parcel("two", ("95.00", "1", "10.00"), ("95.00", "1", "0.00")))
    assert (lines.loc["two", "to_collect_low"] > 0).tolist() == [True, False]


@pytest.mark.source("md-comptroller-holiday-2017")
@pytest.mark.parametrize(
    ("amount", "free"),
    [
        pytest.param("100.00", True, id="100 after a discount of 20"),
        pytest.param("100.01", False, id="a cent above, whole price"),
    ],
)
def test_a_discount_that_brings_the_price_to_100_counts_in_maryland(amount: str, *, free: bool) -> None:
    """Derived: jacket of 120 with a coupon of the store. Ordered and sent in the week of 10 to 16 August 2025."""
    assert taxed(sold("US-MD", amount, "2025-08-16")) == [not free] * 3


@pytest.mark.source("ms-dor-holiday-2022")
def test_shipping_stays_out_of_the_price_in_mississippi() -> None:
    """Derived: shoes of 99.00 with shipping of 12.00 stay under 100; where localities opted in is not known."""
    row = sold("US-MS", "99.00", "2025-07-12", product_class="footwear", shipping_amount="12.00")
    found = ask({"order_id": "a", **row}).loc["a"]
    assert found["to_collect_low"] == 0
    assert found["to_collect"] < round(11100 * 7 / 100)
    assert taxed(sold("US-MS", "100.00", "2025-07-12", product_class="footwear")) == [True] * 3


@pytest.mark.parametrize(
    ("row", "ends"),
    [
        pytest.param(sold("US-AR", "99.99", "2025-08-01"), (1, 1, 1), id="the day before"),
        pytest.param(sold("US-AR", "99.99", "2025-08-02"), (0, 0, 0), id="its first day"),
        pytest.param(sold("US-AR", "99.99", "2025-08-03"), (0, 0, 0), id="its last day"),
        pytest.param(sold("US-AR", "99.99", "2025-08-04"), (1, 1, 1), id="the day after"),
        pytest.param(sold("US-AR", "100.00", "2025-08-02"), (1, 1, 1), id="at a price that must be below"),
        pytest.param(sold("US-AR", "199.98", "2025-08-02", quantity="2"), (0, 0, 0), id="two of 99.99"),
        pytest.param(
            sold("US-AR", "49.00", "2025-08-02", product_class="homeware"), (1, 1, 1), id="other goods"
        ),
        pytest.param(sold("US-SC", "999.00", "2025-08-02"), (0, 0, 0), id="no limit at all"),
        pytest.param(
            sold("US-AR", "50.00", "2025-08-02", supplied_on="2025-08-06"),
            (0, 0, 1),
            id="ordered in it, sent after it: sold is not defined",
        ),
        pytest.param(
            sold("US-AR", "50.00", "2025-07-30", supplied_on="2025-08-02"),
            (0, 1, 1),
            id="ordered before it, sent in it",
        ),
        pytest.param(
            sold("US-MA", "50.00", "2025-08-09", product_class="other", supplied_on="2025-08-15"),
            (0, 0, 0),
            id="ordered and paid is enough",
        ),
        pytest.param(
            sold("US-MA", "50.00", "2025-08-07", product_class="other", supplied_on="2025-08-09"),
            (1, 1, 1),
            id="ordered before it where ordering counts",
        ),
        pytest.param(
            sold("US-TX", "50.00", "2025-08-09", supplied_on="2025-08-15"),
            (0, 0, 1),
            id="accepted for immediate shipment is not known",
        ),
        pytest.param(sold("US-AL", "50.00", "2025-07-19"), (0, 1, 1), id="paid and delivered in three days"),
        pytest.param(
            sold("US-AL", "50.00", "2025-07-19", supplied_on="2025-07-21"), (1, 1, 1), id="sent too late"
        ),
        pytest.param(sold("US-NM", "50.00", "2025-07-26"), (0, 1, 1), id="the seller may decline"),
        pytest.param(
            sold("US-FL", "50.00", "2025-08-20", product_class="accessories"), (0, 1, 1), id="bags only"
        ),
        pytest.param(
            sold("US-MA", "2500.00", "2025-08-10", product_class="wall_art"), (0, 0, 0), id="up to 2,500"
        ),
        pytest.param(
            sold("US-MA", "2500.01", "2025-08-10", product_class="wall_art"), (1, 1, 1), id="a cent more"
        ),
        pytest.param(
            sold("US-OH", "5.00", "2025-08-14", product_class="homeware"), (0, 0, 0), id="everything in Ohio"
        ),
        pytest.param(
            sold("US-OH", "5.00", "2025-08-14", product_class="digital"), (1, 1, 1), id="tangible goods only"
        ),
    ],
)
def test_days_prices_and_open_questions(row: dict[str, str], ends: tuple[int, int, int]) -> None:
    """From the rows of us/holidays: which end is taxed. The words of `counts_when` decide whose day counts."""
    assert taxed(row) == [bool(end) for end in ends]


def test_the_first_part_of_a_backpack_is_free_in_maryland() -> None:
    """Its class is wider, so only the low end is freed: 60.00 less 40.00 at 6 percent. Source: md-comptroller-holiday-2025."""
    row = sold("US-MD", "60.00", "2025-08-12", product_class="accessories", order_id="a")
    assert ask(row).loc["a", ENDS].tolist() == [120, 360, 360]


def test_a_line_says_why_and_by_which_row() -> None:
    """The reason is the holiday, its row stands beside the rates, and its basis is the weakest."""
    lines = ask(
        {"order_id": "in", **sold("US-AR", "50.00", "2025-08-02")},
        {"order_id": "open", **sold("US-NM", "50.00", "2025-07-26")},
        {"order_id": "out", **sold("US-AR", "50.00", "2025-09-02")},
    )
    assert lines["reason"].tolist() == ["us_holiday", "us_holiday_open", "us_registered"]
    assert "us/holidays:US-AR/clothing:2025-08-02" in lines.loc["in", "rows"]
    assert "us/holidays" not in lines.loc["out", "rows"]
    assert lines.loc["in", "basis"] == "unconfirmed"


def test_a_refund_gives_back_what_its_sale_bore_in_the_holiday() -> None:
    """Refunded a month later, with and without the sale in the file."""
    sale = {"order_id": "a", "line_id": "1", **sold("US-AR", "50.00", "2025-08-02")}
    back = {**sale, "entry": "refund", "ordered_on": "2025-09-10"}
    alone = {**back, "order_id": "b", "original_ordered_on": "2025-08-03"}
    assert ask(sale, back, alone)[ENDS].to_numpy().tolist() == [[0, 0, 0]] * 3


def test_a_holiday_of_ones_own_is_used(tmp_path: Path) -> None:
    """An own row for Connecticut frees what the shipped tables tax."""
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "holidays.csv").write_text(
        "place,goods,product_classes,last_day,item_price,currency,item_price_met_when,frees,local_part,counts_when,"
        "seller_may_decline,delivery_in_item_price,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
        "US-CT,books,books,2025-03-03,30,USD,up_to,whole_item,no_local_tax,sold,no,,2025-03-01,,memory,unconfirmed,,"
        "2025-03-01,invented for this test\n",
        encoding="utf-8",
    )
    book = {"product_class": "books", "to": "US-CT", "item_amount": "30.00"}
    days = ("2025-02-28", "2025-03-03", "2025-03-04")
    rows = [{"order_id": day, "ordered_on": day, **book} for day in days]
    assert (ask(*rows, tables=tmp_path)["to_collect"] > 0).tolist() == [True, False, True]
    assert (ask(*rows)["to_collect"] > 0).tolist() == [True, True, True]


def test_an_enrolled_seller_keeps_the_flat_rate_but_for_the_low_end(tmp_path: Path) -> None:
    """No paper read says whether a holiday frees sales at Alabama's flat 8 percent (us/flat_rates in_holiday).

    Derived: 8 percent of 50.00 is 4.00. An own row that makes the order enough frees a seller that is not enrolled.
    """
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "holidays.csv").write_text(
        "place,goods,product_classes,last_day,item_price,currency,item_price_met_when,frees,local_part,counts_when,"
        "seller_may_decline,delivery_in_item_price,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
        "US-AL,clothing,clothing,2025-07-20,100,USD,up_to,whole_item,freed,ordered_and_paid,no,,2025-07-18,,memory,"
        "unconfirmed,,2025-07-01,invented for this test\n",
        encoding="utf-8",
    )
    enrolled = seller(
        registration=registered("US-AL"),
        election=[{"name": "flat_rate", "place": "US-AL", "from": date(2024, 1, 1)}],
    )
    row = {"order_id": "a", **sold("US-AL", "50.00", "2025-07-19")}
    chosen = asked(enrolled, row, tables=tmp_path).loc["a"]
    assert chosen[ENDS].tolist() == [0, 400, 400]
    assert chosen["reason"] == "us_holiday_flat_rate"
    other = ask(row, tables=tmp_path).loc["a"]
    assert (other[ENDS].tolist(), other["reason"]) == ([0, 0, 0], "us_holiday")
    shipped = asked(enrolled, row, {**row, "order_id": "b", "ordered_on": "2025-07-21"})
    assert shipped[ENDS].to_numpy().tolist() == [[0, 400, 400], [400, 400, 400]]
    assert shipped["reason"].tolist() == ["us_holiday_flat_rate", "us_registered"]
