"""European Union: our own arithmetic from published rules, rates and reference rates of exchange."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shop import asked, net_sale, union_seller

if TYPE_CHECKING:
    import pandas as pd


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_the_150_are_tested_on_the_price_paid_at_the_rate_of_the_day(imports: pd.DataFrame) -> None:
    """European Commission, Explanatory Notes 2027, questions 20 and 21: stated; numbers derived.

    List price 160 with a coupon of 20 is 140. USD 165 at 1.1355 (ECB, 2026-09-30) is 145.31. USD 170.33 would be
    150.004, which is 150.00 once rounded to cents, and counts as reaching the limit only.
    """
    assert imports.loc[["discounted", "dollars", "too many dollars"], "reason"].tolist() == ["eu_ioss"] * 3
    assert imports.loc[["150 net", "over"], "reason"].tolist() == ["eu_ioss", "eu_import_over_150"]


@pytest.mark.source("ie-revenue-rates-table", "ro-ajfp-salaj-2025")
@pytest.mark.parametrize(
    ("order", "vat"),
    [("IE 121.00 2020-10-01", 2100), ("IE 123.00 2021-03-01", 2300), ("RO 121.00 2025-08-01", 2100)],
)
def test_price_with_vat_is_split(rates: pd.DataFrame, order: str, vat: int) -> None:
    """Irish Revenue and a Romanian tax office (in a newspaper): official rates, derived split of 121.00 and 123.00."""
    assert rates.loc[order, ["to_collect_low", "to_collect", "to_collect_high"]].tolist() == [vat] * 3


@pytest.mark.source("eu-reg-282-2011-art-60")
def test_vat_is_not_rounded_to_whole_units() -> None:
    """Implementing Regulation 282/2011, art. 60: stated; derived, 19 % of 6 497.68 stays 1 234.56."""
    assert asked(union_seller("DE"), net_sale("A", "DE", "6497.68")).iloc[0].to_collect == 123_456
