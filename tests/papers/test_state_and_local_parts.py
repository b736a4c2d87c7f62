"""Where the state and the localities tax different parts of one line: each part against its own rate and its own base.

All figures are derived from the published rules and counted by hand; local rates are rows of our own, so that no range is
left. The sum is the tax of the line, rounded once (Streamlined Agreement section 324 lets both be added before that).
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import orders, registered, seller

from taxcalc import assess
from taxcalc.figures import line_figures
from taxcalc.local_rates.add import add_local
from taxcalc.tables.load import load_tables
from taxcalc.tax_parts import tax_parts

if TYPE_CHECKING:
    from pathlib import Path

ALBANY, CITY, JACKSON = "US-NY 12207", "US-NY 10001", "US-MS 39201"


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give rows of our own: 4 % beside the state's 4 %, New York City's 8.875 %, and 1 % beside Mississippi's 7 %."""
    where = tmp_path_factory.mktemp("rates")
    rows = ["state,postal_code,rate_percent,valid_from,valid_to,source"]
    for state, code, percent in (("NY", 12207, "8"), ("NY", 10001, "8.875"), ("MS", 39201, "8")):
        rows.append(f"{state},{code},{percent},2020-01-01,,the examples below")
    (where / "rates.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    add_local([where / "rates.csv"], where / "own", load_tables(), date(2026, 11, 25))
    return where / "own"


def parts(own: Path, to: str, *lines: tuple[str, str, str], day: str = "2026-05-04") -> tuple[int, int, int]:
    """Give the tax of one order and its state and local parts, expected, in cents: lines of (kind, goods, shipping)."""
    rows = [
        {
            "order_id": "A",
            "line_id": str(at),
            "to": to,
            "ordered_on": day,
            "product_class": kind,
            "item_amount": goods,
            "shipping_amount": shipping,
        }
        for at, (kind, goods, shipping) in enumerate(lines)
    ]
    found = assess(orders(rows), seller(registration=registered(to[:5])), tables=own)
    (number,) = found.run.buckets
    bucket = found.run.bucket(number)
    split = tax_parts(bucket, found.run.terms, line_figures(bucket, found.run.terms, by_order=False))
    return int(found.lines["to_collect"].sum()), int(split.state.sum()), int(split.local.sum())


@pytest.mark.source("ny-pub-718-c", "ny-tsb-m-06-6-s", "ny-tb-st-838", "ssuta-324")
@pytest.mark.parametrize(
    ("to", "lines", "state", "local"),
    [
        pytest.param(
            ALBANY, [("clothing", "109.99", "0.00")], 0, 440, id="4 % of 109.99, the county's alone"
        ),
        pytest.param(ALBANY, [("clothing", "110.00", "0.00")], 440, 440, id="4 % and 4 % of 110.00"),
        pytest.param(
            ALBANY, [("clothing", "109.99", "5.00")], 0, 460, id="delivery follows each part: 114.99"
        ),
        pytest.param(CITY, [("clothing", "109.99", "5.00")], 0, 0, id="no part in New York City"),
        pytest.param(
            CITY, [("clothing", "110.00", "0.00")], 440, 536, id="9.7625 in all, 4.40 of it the state's"
        ),
        pytest.param(
            ALBANY,
            [("clothing", "60.00", "10.00"), ("homeware", "40.00", "0.00")],
            200,
            440,
            id="one charge for a mixed parcel: the state 50.00, the county 110.00",
        ),
    ],
)
def test_new_york_clothing_below_110_is_taxed_by_the_county_alone(
    own: Path, to: str, lines: list[tuple[str, str, str]], state: int, local: int
) -> None:
    """New York, Publication 718-C and TSB-M-06(6)S, on delivery bulletin ST-838: derived.

    The state's 4 % is off below 110 an item; a county that did not elect keeps its own 4 % on the same line.
    """
    assert parts(own, to, *lines) == (state + local, state, local)


@pytest.mark.source("ms-dor-holiday-2022")
@pytest.mark.parametrize(
    ("day", "state", "local"),
    [
        pytest.param("2025-07-10", 777, 111, id="the day before: 7 % and 1 % of 111.00"),
        pytest.param("2025-07-12", 0, 111, id="in the holiday: the town's 1 % of 111.00"),
        pytest.param("2025-07-14", 777, 111, id="the day after"),
    ],
)
def test_a_mississippi_town_that_may_not_have_joined_the_holiday_taxes_alone(
    own: Path, day: str, state: int, local: int
) -> None:
    """Mississippi, holiday (read in the press): derived; shoes of 99.00 with 12.00 of shipping are free of the state's tax.

    Towns decide by themselves whether they join, so that the town's part is expected and left out at the low end only.
    """
    assert parts(own, JACKSON, ("footwear", "99.00", "12.00"), day=day) == (state + local, state, local)
