"""European Union: results, rates and days that an authority itself prints.

Splits of totals over orders are ours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import answers, net_sale, orders, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd

    from taxcalc import Assessment


@pytest.mark.source("ie-tdm-distance-sales")
def test_irish_trader_with_11_000_in_a_year_is_over_the_limit(irish: Assessment) -> None:
    """Irish Revenue, VAT and intra-Community Distance Sales of Goods, Example A: official.

    11 000 exceeds 10 000.
    """
    row = irish.thresholds.set_index("place").loc["EU"]
    assert (row.status, row.crossed_on, row.crossed_by) == ("crossed", "2026-04-02", "ES")
    assert row.limit == 1_000_000
    assert row.value == 1_100_000 + 10_000


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_goods_and_digital_supplies_of_9_500_are_taxed_like_sales_at_home() -> None:
    """European Commission, Explanatory Notes 2027, section 3.5 scenario 6 (read in extracts): official.

    9 500, below.
    """
    rows = [net_sale("goods", "FR", "6000.00"), net_sale("digital", "DE", "3500.00", product_class="digital")]
    found = assess(orders(rows), union_seller("BE"))
    assert set(answers(found).place) == {"BE"}
    assert found.thresholds.set_index("place").loc["EU", ["value", "status"]].tolist() == [950_000, "near"]


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_168_with_vat_is_140_and_may_use_the_import_scheme(imports: pd.DataFrame) -> None:
    """European Commission, Explanatory Notes 2027, 4.2.10 question 17 example 1: official.

    168 is 140 and 28 of VAT.
    """
    line = imports.loc["168"]
    assert (line.duty, line.reason, line.to_collect) == ("collect", "eu_ioss", 2800)


@pytest.mark.source("ie-revenue-rates-table")
@pytest.mark.parametrize(
    ("order", "percent"),
    [
        pytest.param("IE 121.00 2020-08-31", 23, id="last day of 23 %"),
        pytest.param("IE 121.00 2020-09-01", 21, id="first day of 21 %"),
        pytest.param("IE 121.00 2021-02-28", 21, id="last day of 21 %"),
        pytest.param("IE 121.00 2021-03-01", 23, id="23 % again"),
    ],
)
def test_irish_standard_rate_of_2020(rates: pd.DataFrame, order: str, percent: int) -> None:
    """Irish Revenue, table of rates: official rates and days."""
    assert rates.loc[order, "state_ppm"] == percent * 10_000


@pytest.mark.source("ro-ajfp-salaj-2025")
def test_romanian_rates_of_august_2025(rates: pd.DataFrame) -> None:
    """Romanian tax office AJFP Salaj (in a newspaper): official; 19 to 21, what was at 5 and 9 to 11."""
    days = ("2025-07-31", "2025-08-01")
    assert [rates.loc[f"RO 121.00 {day}", "state_ppm"] for day in days] == [190_000, 210_000]
    assert [rates.loc[f"RO book {day}", "to_collect"] for day in days] == [500, 1100]


@pytest.mark.source("ie-vatca-2010-sch-2")
def test_irish_books_diaries_and_childrens_clothing(rates: pd.DataFrame) -> None:
    """Ireland, VAT Consolidation Act 2010, schedule 2: official.

    Book 0 %, diary 23 %, shirt to age 10 0 %, above 23 %.
    """
    kinds = ("books", "stationery", "clothing_children", "clothing")
    assert [rates.loc[f"IE {kind}", "to_collect"] for kind in kinds] == [0, 2300, 0, 2300]
