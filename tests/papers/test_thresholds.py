"""Economic nexus: worked cases of the states and of the Streamlined Governing Board.

Amounts of orders inside a case are ours where the paper gives a total only; which total counts, and the days
on which a duty begins and ends, are the publisher's.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import answers, orders, seller, spread

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd

    from taxcalc import Assessment

OVER = "100000.01"


def one(name: str, to: str, day: str, amount: str = "10.00", **more: str) -> dict[str, str]:
    """One order, mostly a small one that asks whether a duty holds on its day."""
    return {"order_id": name, "to": to, "ordered_on": day, "item_amount": amount, **more}


@pytest.fixture(scope="module")
def history() -> Assessment:
    """One long history with a case a state, looked at from the end of 2024."""
    rows = [
        *spread("US-OH", "150000.00", 15, date(2018, 3, 1), 20),
        *spread("US-WI", "300000.00", 175, date(2017, 2, 1), 1),
        *spread("US-NE", OVER, 10, date(2018, 5, 1), 20),
        *spread("US-IL", "100000.00", 1, date(2018, 2, 1)),
        *spread("US-DC", OVER, 10, date(2018, 2, 1), 30),
        *spread("US-TX", "500000.01", 12, date(2018, 7, 1), 31),
        *spread("US-IN", "20000.00", 200, date(2023, 2, 1), 1),
        *spread("US-IA", "99999.99", 1, date(2023, 9, 14)),
        *spread("US-IA", "0.01", 1, date(2023, 9, 15)),
        *spread("US-NM", "100000.00", 5, date(2020, 3, 1)),
        *spread("US-NM", "99989.99", 5, date(2021, 3, 1)),
        *spread("US-NM", "100000.00", 5, date(2022, 3, 1)),
        one("OH before", "US-OH", "2019-07-31"),
        one("OH after", "US-OH", "2019-08-01"),
        one("IA before", "US-IA", "2023-10-31"),
        one("IA first", "US-IA", "2023-11-01"),
        one("IA last", "US-IA", "2024-12-31"),
        one("IN last", "US-IN", "2023-12-31"),
        one("IN free", "US-IN", "2024-01-01"),
        one("IL first", "US-IL", "2019-03-01"),
        one("IL last", "US-IL", "2019-12-31"),
        one("IL free", "US-IL", "2020-01-01"),
        one("NM 2021", "US-NM", "2021-06-30"),
        one("NM 2022", "US-NM", "2022-06-30"),
        one("NM 2023", "US-NM", "2023-06-30"),
        one("TX before", "US-TX", "2019-09-30"),
        one("TX first", "US-TX", "2019-10-01"),
    ]
    presence = [{"place": "US-IL", "kind": "staff", "from": date(2018, 1, 1), "until": date(2019, 2, 15)}]
    return assess(orders(rows), seller(presence=presence), as_of=date(2024, 12, 31))


@pytest.fixture(scope="module")
def lines(history: Assessment) -> pd.DataFrame:
    """Give the lines of the long history."""
    return answers(history)


def stretch(found: Assessment, place: str) -> tuple[str, str | None]:
    """Give first and last day of the duties that a threshold made at a place, which must touch each other."""
    here = found.duties[(found.duties.place == place) & (found.duties.cause == "threshold")].sort_values(
        "from"
    )
    assert len(here), f"no duty in {place}"
    spans = [
        (date.fromisoformat(a), date.fromisoformat(b) if isinstance(b, str) else date.max)
        for a, b in zip(here["from"], here["until"], strict=True)
    ]
    first, end = spans[0]
    for begin, until in spans:
        assert begin.toordinal() <= end.toordinal() + 1, f"a gap before {begin}"
        end = max(end, until)
    return first.isoformat(), None if end == date.max else end.isoformat()


@pytest.fixture(scope="module")
def terms() -> pd.DataFrame:
    """Assess the Governing Board's seller in Ohio (gross sales count) and in Georgia (retail sales)."""
    rows = [
        row
        for place in ("US-OH", "US-GA")
        for row in (
            *spread(place, "220000.00", 220, date(2026, 2, 1), buyer_exempt="resale"),
            *spread(place, "75000.00", 75, date(2026, 2, 2), buyer_exempt="exempt"),
            *spread(place, "10000.00", 10, date(2026, 2, 3)),
            *spread(place, "95000.00", 95, date(2026, 2, 4)),
        )
    ]
    return assess(orders(rows), seller()).thresholds.set_index(["place", "measure"])


@pytest.mark.source("sst-threshold-terms")
@pytest.mark.parametrize(
    ("place", "amount", "sales"),
    [
        pytest.param("US-OH", 400_000, 400, id="gross: everything counts"),
        pytest.param("US-GA", 180_000, 180, id="retail: resale is left out"),
    ],
)
def test_what_counts_as_gross_and_as_retail(terms: pd.DataFrame, place: str, amount: int, sales: int) -> None:
    """Streamlined Sales Tax Governing Board, Remote Seller Threshold Terms: official totals.

    The exempt goods of the example are plain goods here; in both kinds of state they count alike.
    """
    assert terms.loc[(place, "amount"), "value"] == amount * 100
    assert terms.loc[(place, "transactions"), "value"] == sales


@pytest.mark.source("oh-dot-out-of-state-sellers")
def test_ohio_sales_of_2018_oblige_from_the_first_day_of_the_law(
    history: Assessment, lines: pd.DataFrame
) -> None:
    """Ohio Department of Taxation, Out-of-State Sellers, example 1: official.

    150,000 in 2018, nexus 2019-08-01.
    """
    assert stretch(history, "US-OH")[0] == "2019-08-01"
    assert lines.loc["OH before", "duty"] == "below_threshold"
    assert lines.loc["OH after", "duty"] == "collect"


@pytest.mark.source("wi-dor-registration-dates")
def test_wisconsin_amount_alone_is_enough(history: Assessment) -> None:
    """Wisconsin DOR, Registration and Collection Dates, example 1: official; 300,000 in 175 sales of 2017."""
    assert stretch(history, "US-WI") == ("2018-10-01", "2018-12-31")


@pytest.mark.source("ne-dor-remote-sellers")
def test_nebraska_crossed_in_2018_collects_from_april_2019(history: Assessment) -> None:
    """Nebraska DOR, notice to remote sellers: official; passed in 2018, collects from 2019-04-01."""
    assert stretch(history, "US-NE")[0] == "2019-04-01"


@pytest.mark.source("ne-dor-remote-sellers")
@pytest.mark.parametrize(
    ("crossed", "begin"),
    [
        pytest.param(date(2019, 2, 28), "2019-04-01", id="by the end of February 2019"),
        pytest.param(date(2019, 3, 10), "2019-05-01", id="later: first of the second month after"),
    ],
)
def test_nebraska_crossings_of_2019(crossed: date, begin: str) -> None:
    """Nebraska DOR, notice to remote sellers: official dates (the day in March is ours)."""
    found = assess(orders(spread("US-NE", OVER, 1, crossed)), seller(), as_of=date(2019, 12, 31))
    assert stretch(found, "US-NE")[0] == begin


@pytest.mark.source("pa-dor-online-retailers")
def test_pennsylvania_calendar_2018_makes_the_first_period() -> None:
    """Pennsylvania DOR, Online Retailers: official; over 100,000 in 2018, 2019-07-01 to 2020-03-31."""
    found = assess(
        orders(spread("US-PA", "100000.01", 10, date(2018, 2, 1), 30)), seller(), as_of=date(2020, 6, 30)
    )
    duties = found.duties[found.duties.place == "US-PA"]
    assert duties[["from", "until"]].to_numpy().tolist() == [["2019-07-01", "2020-03-31"]]


@pytest.mark.source("pa-dor-online-retailers")
def test_pennsylvania_counts_the_day_of_the_agreement() -> None:
    """Pennsylvania DOR, Online Retailers: official; agreed 2020-12-15, shipped 2021-01-15, counts in 2020.

    So a sale over the line obliges from 2021-04-01 (and not from 2022-04-01).
    """
    sale = one("late", "US-PA", "2020-12-15", OVER, supplied_on="2021-01-15")
    found = assess(orders([sale, one("on", "US-PA", "2021-04-01")]), seller(), as_of=date(2021, 12, 31))
    assert stretch(found, "US-PA") == ("2021-04-01", "2022-03-31")


@pytest.mark.source("il-86iac-150.803")
def test_illinois_threshold_carries_on_after_presence_ends(lines: pd.DataFrame) -> None:
    """Illinois, 86 Ill. Adm. Code 150.803, example 1: official; collects from 2019-03-01 to 2019-12-31."""
    assert lines.loc[["IL first", "IL last", "IL free"], "duty"].tolist() == [
        "collect",
        "collect",
        "below_threshold",
    ]


@pytest.mark.source("dc-otr-marketplace-faq")
@pytest.mark.parametrize(
    "rows",
    [
        pytest.param(spread("US-DC", OVER, 10, date(2018, 2, 1), 30), id="over 100,000"),
        pytest.param(spread("US-DC", "2010.00", 201, date(2018, 2, 1), 1), id="over 200 sales"),
    ],
)
def test_district_of_columbia_sales_of_2018_oblige_from_2019(rows: list[dict[str, str]]) -> None:
    """District of Columbia OTR, Marketplace Sellers FAQ: official; duty from 2019-01-01."""
    found = assess(orders(rows), seller(), as_of=date(2019, 6, 30))
    assert stretch(found, "US-DC")[0] == "2019-01-01"


@pytest.mark.source("tx-comptroller-remote-sellers")
def test_texas_first_look_back_obliges_from_october_2019(history: Assessment, lines: pd.DataFrame) -> None:
    """Texas Comptroller, Remote Sellers: official.

    Over 500,000 from July 2018 to June 2019, collection by 2019-10-01.
    """
    assert stretch(history, "US-TX")[0] == "2019-10-01"
    assert lines.loc[["TX before", "TX first"], "duty"].tolist() == ["below_threshold", "collect"]


@pytest.mark.source("tx-comptroller-remote-sellers")
@pytest.mark.parametrize(
    ("total", "begin"), [("500000.00", None), ("500000.01", "2024-10-01")], ids=["at 500,000", "over 500,000"]
)
def test_texas_crossing_in_june_obliges_from_october(total: str, begin: str | None) -> None:
    """Texas Comptroller, Remote Sellers: stated.

    The first day of the fourth month after the month of crossing.
    """
    found = assess(orders(spread("US-TX", total, 2, date(2024, 6, 10))), seller(), as_of=date(2024, 12, 31))
    duties = found.duties[found.duties.place == "US-TX"]
    assert [stretch(found, "US-TX")[0]] == [begin] if begin else duties.empty


@pytest.mark.source("in-dor-remote-sellers")
def test_indiana_repealed_count_frees_the_next_year(history: Assessment, lines: pd.DataFrame) -> None:
    """Indiana DOR, Remote sellers: official; 200 sales in 2023 below 100,000: no duty in 2024."""
    assert stretch(history, "US-IN")[1] == "2023-12-31"
    assert lines.loc[["IN last", "IN free"], "duty"].tolist() == ["collect", "below_threshold"]


@pytest.mark.source("nm-3.2.1.12")
def test_new_mexico_each_year_decides_the_next(lines: pd.DataFrame) -> None:
    """New Mexico, 3.2.1.12 NMAC: stated officially.

    The duty pauses after a year below the line and returns.
    """
    duties = lines.loc[["NM 2021", "NM 2022", "NM 2023"], "duty"].tolist()
    assert duties == ["collect", "below_threshold", "collect"]


@pytest.mark.source("ia-dor-remote-sellers")
def test_iowa_duty_from_november_to_the_end_of_the_next_year(
    history: Assessment, lines: pd.DataFrame
) -> None:
    """Iowa DOR, Remote Sellers: official; met 2023-09-15, collects 2023-11-01 to at least 2024-12-31."""
    assert stretch(history, "US-IA") == ("2023-11-01", "2024-12-31")
    crossed = history.thresholds.set_index(["place", "measure"]).loc[("US-IA", "amount")]
    assert crossed.crossed_on == "2023-09-15"
    duties = lines.loc[["IA before", "IA first", "IA last"], "duty"].tolist()
    assert duties == ["below_threshold", "collect", "collect"]


@pytest.fixture(scope="module")
def iowa() -> pd.DataFrame:
    """Iowa sales of 2024: 198,000 through a marketplace that does not collect.

    2,000 through one that does.
    """
    return answers(
        assess(
            orders(
                [
                    *spread("US-IA", "198000.00", 9, date(2024, 2, 1), 10),
                    one("Y", "US-IA", "2024-07-01", "2000.00", channel="marketplace", marketplace="Y"),
                    one("Z", "US-IA", "2024-07-01"),
                ]
            ),
            seller(),
        )
    )


@pytest.mark.source("ia-701-207.6")
def test_iowa_seller_collects_where_the_marketplace_does_not(iowa: pd.DataFrame) -> None:
    """Iowa Admin. Code 701-207.6, second example (read in a copy): official.

    Must collect on the sales through Z.

    A marketplace that does not collect is none by law: its sales are the seller's own.
    """
    assert (iowa.loc["Z", "duty"], iowa.loc["Z", "to_collect_low"]) == ("collect", 60)
    assert (iowa.loc["Y", "duty"], iowa.loc["Y", "to_collect_high"]) == ("marketplace_collects", 0)


@pytest.mark.source("ia-701-207.6")
def test_iowa_seller_whose_marketplace_collects_everything_collects_nothing() -> None:
    """Iowa Admin. Code 701-207.6, first example (read in a copy): official.

    200,000 through a collecting facilitator.
    """
    through = {"channel": "marketplace", "marketplace": "Y"}
    rows = spread("US-IA", "200000.00", 10, date(2024, 1, 10), 30, **through)
    found = assess(orders(rows), seller(), as_of=date(2024, 12, 31))
    assert set(found.lines.duty) == {"marketplace_collects"}
    assert found.lines.to_collect_high.sum() == 0
    assert found.duties[found.duties.place == "US-IA"].empty, "no permit and no return is needed"


@pytest.mark.source("ks-dor-notice-19-04")
@pytest.mark.parametrize(
    ("rows", "bound"),
    [
        pytest.param([one("a", "US-KS", "2019-10-02")], [True], id="the very first sale"),
        pytest.param(
            [one("a", "US-KS", "2019-09-30"), one("b", "US-KS", "2019-10-01")],
            [False, True],
            id="the day before the notice and its first day",
        ),
        pytest.param(
            [one("a", "US-KS", "2019-10-02", "0.00"), one("b", "US-KS", "2019-10-02")],
            [False, True],
            id="a line of nothing is no sale",
        ),
        pytest.param([one("a", "US-KS", "2021-06-30")], [True], id="its last day"),
        pytest.param(
            [one("a", "US-KS", "2021-06-30"), one("b", "US-KS", "2021-07-01")],
            [True, False],
            id="the line of 100,000 came on 1 July 2021",
        ),
        pytest.param(
            [one("a", "US-KS", "2019-12-31"), one("b", "US-KS", "2021-01-01")],
            [True, True],
            id="a sale two years later is bound by itself",
        ),
        pytest.param(
            [one("a", "US-KS", "2021-03-01", OVER), one("b", "US-KS", "2021-07-01")],
            [True, True],
            id="over the new line before it came",
        ),
    ],
)
def test_kansas_asked_for_every_sale_from_the_first(rows: list[dict[str, str]], bound: list[bool]) -> None:
    """Kansas DOR, Notice 19-04 (2019-10-01 to 2021-06-30): stated; a remote seller collects on every sale.

    That the duty went with the rule is read from the line that followed; no text on the change was read.
    """
    found = answers(assess(orders(rows), seller(), as_of=date(2021, 12, 31)))
    assert [duty == "collect" for duty in found["duty"]] == bound
