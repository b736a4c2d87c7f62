"""European Union: our own arithmetic from published rules, rates and reference rates of exchange."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import answers, asked, net_sale, orders, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_the_150_are_tested_on_the_price_paid_at_the_rate_of_the_day(imports: pd.DataFrame) -> None:
    """European Commission, Explanatory Notes 2027, questions 20 and 21: stated; numbers derived.

    List price 160 with a coupon of 20 is 140. USD 165 at 1.1355 (ECB, 2026-09-30) is 145.31. USD 170.33 would
    be 150.004, which is 150.00 once rounded to cents, and counts as reaching the limit only.
    """
    assert imports.loc[["discounted", "dollars", "too many dollars"], "reason"].tolist() == ["eu_ioss"] * 3
    assert imports.loc[["150 net", "over"], "reason"].tolist() == ["eu_ioss", "eu_import_over_150"]


@pytest.mark.source("ie-revenue-rates-table", "ro-ajfp-salaj-2025")
@pytest.mark.parametrize(
    ("order", "vat"),
    [("IE 121.00 2020-10-01", 2100), ("IE 123.00 2021-03-01", 2300), ("RO 121.00 2025-08-01", 2100)],
)
def test_price_with_vat_is_split(rates: pd.DataFrame, order: str, vat: int) -> None:
    """Irish Revenue and a Romanian tax office (in a newspaper).

    Official rates, derived split of 121.00 and 123.00.
    """
    assert rates.loc[order, ["to_collect_low", "to_collect", "to_collect_high"]].tolist() == [vat] * 3


@pytest.mark.source("eu-reg-282-2011-art-60")
def test_vat_is_not_rounded_to_whole_units() -> None:
    """Implementing Regulation 282/2011, art. 60: stated; derived, 19 % of 6 497.68 stays 1 234.56."""
    assert asked(union_seller("DE"), net_sale("A", "DE", "6497.68")).iloc[0].to_collect == 123_456


@pytest.mark.source("ecb-reference-rates", "eu-dir-2006-112-art-59c")
@pytest.mark.parametrize(
    ("state", "currency", "limit"),
    [
        pytest.param("SE", "SEK", 99_680, id="Sweden"),
        pytest.param("DK", "DKK", 74_415, id="Denmark"),
        pytest.param("CZ", "CZK", 256_530, id="Czechia"),
        pytest.param("RO", "RON", 46_337, id="Romania"),
        pytest.param("PL", "PLN", 42_000, id="Poland, rounded by its law (from memory)"),
        pytest.param("HU", "HUF", 3_100_000, id="Hungary, rounded by its law (from memory)"),
    ],
)
def test_the_limit_in_the_sellers_own_currency(state: str, currency: str, limit: int) -> None:
    """Directive 2006/112/EC art. 59c with the ECB rates of 2017-12-05: derived.

    The limit stays what it was at the rate of that day, whatever the rate of the order day is.
    """
    rows = [
        {"order_id": "at", "to": "FI", "item_amount": f"{limit}.00", "ordered_on": "2026-03-02"},
        {"order_id": "over", "to": "FI", "item_amount": "1.00", "ordered_on": "2026-03-03"},
    ]
    profile = union_seller(state, reporting_currency=currency)
    found = assess(orders(rows, currency=currency, tax_included="no"), profile)
    assert answers(found).loc[["at", "over"], "place"].tolist() == [state, "FI"]
    shown = found.thresholds.set_index("place").loc["EU"]
    assert (shown.currency, shown.limit, shown.crossed_by) == (currency, limit * 100, "over")


@pytest.mark.source("ecb-reference-rates", "eu-dir-2006-112-art-59c")
@pytest.mark.parametrize(
    ("seen_from", "currency", "limit"),
    [
        pytest.param(date(2025, 12, 31), "BGN", 1_955_800, id="last day of the lev"),
        pytest.param(date(2026, 1, 1), "EUR", 1_000_000, id="first day of the euro"),
    ],
)
def test_the_bulgarian_limit_turns_into_euro(seen_from: date, currency: str, limit: int) -> None:
    """ECB rate of 2017-12-05 (BGN 19 558 for EUR 10 000): derived; Bulgaria has the euro since 2026."""
    sale = net_sale("A", "FR", "100.00", "2025-12-01")
    found = (
        assess(orders([sale]), union_seller("BG"), as_of=seen_from).thresholds.set_index("place").loc["EU"]
    )
    assert (found.currency, found.limit) == (currency, limit)
