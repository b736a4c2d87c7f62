"""From which day to which day a threshold binds, state by state, and what an Illinois year or a Colorado year leaves out.

Amounts and days inside a case are ours; windows, strictness, what counts, and how a duty starts and ends are the states'.
The answers were counted by hand on a calendar from the words of the papers that the rows of `us/thresholds`,
`us/threshold_starts` and `us/duty_ends` name, before the program was asked.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from shop import orders, seller, spread

from taxcalc import assess, places
from taxcalc.days import day as to_day
from taxcalc.duties import stretches
from taxcalc.facts import OPEN

if TYPE_CHECKING:
    from taxcalc import Assessment

Rows = list[dict[str, str]]
Spans = list[tuple[str, str | None]]

OVER, AS_OF = "100000.01", date(2026, 11, 26)
THROUGH_A_FACILITATOR = {"channel": "marketplace", "marketplace": "m"}


def sales(state: str, day: str, amount: str = OVER, count: int = 1, **more: str) -> Rows:
    """Write some sales of one day that come to an amount."""
    return spread(f"US-{state}", amount, count, date.fromisoformat(day), **more)


def spans(found: Assessment, state: str) -> Spans:
    """Give first and last day of the stretches of duty that thresholds made in a state; None where no end is known."""
    code = places.index(f"US-{state}")
    by_threshold = [i for i in found.intervals if i.cause == "threshold"]
    return [
        (str(to_day(one.first.start.day)), None if one.until >= OPEN else str(to_day(one.until)))
        for one in stretches(by_threshold, code)
    ]


def of_one(state: str, *rows: Rows, **profile: Any) -> Spans:  # noqa: ANN401 - values of a profile
    """Give the stretches of one state from its own sales."""
    every = [row for some in rows for row in some]
    return spans(assess(orders(every), seller(**profile), as_of=AS_OF), state)


BINDS: dict[str, tuple[Rows, Spans]] = {
    "CA": (sales("CA", "2024-05-10", "500000.01"), [("2024-05-11", "2025-12-31")]),
    "CO": (sales("CO", "2025-03-15"), [("2025-07-01", "2026-12-31")]),
    "AZ": (sales("AZ", "2025-11-20"), [("2026-01-01", "2026-12-31")]),
    "NE": (sales("NE", "2025-12-10", "2000.00", 200), [("2026-02-01", "2026-12-31")]),
    "ND": (sales("ND", "2025-12-10"), [("2026-01-01", "2026-12-31")]),
    "TX": (
        sales("TX", "2024-09-10", "300000.00") + sales("TX", "2025-06-10", "200000.01"),
        [("2025-10-01", None)],
    ),
    "MN": (sales("MN", "2025-03-10", "2000.00", 200), [("2025-05-09", "2027-03-09")]),
    "NY": (
        sales("NY", "2024-12-15", "300000.00", 60) + sales("NY", "2025-11-20", "200000.01", 41),
        [("2026-01-19", None)],
    ),
    "CT": (sales("CT", "2025-03-10", "100000.00", 200), [("2025-10-01", "2026-09-30")]),
    "FL": (sales("FL", "2024-03-10"), [("2025-01-01", "2025-12-31")]),
    "AL": (sales("AL", "2024-03-10", "250000.01"), [("2025-01-01", "2025-12-31")]),
    "MI": (sales("MI", "2024-03-10", "2000.00", 200), [("2025-01-01", "2025-12-31")]),
    "MD": (sales("MD", "2025-03-10", "2000.00", 200), [("2025-04-01", "2026-12-31")]),
    "HI": (sales("HI", "2025-03-10", "100000.00"), [("2025-04-01", "2026-12-31")]),
    "WA": (
        sales("WA", "2025-03-09", "60000.00", **THROUGH_A_FACILITATOR)
        + sales("WA", "2025-03-10", "60000.00"),
        [("2025-05-01", "2026-12-31")],
    ),
    "KY": (sales("KY", "2025-03-10", "2000.00", 200), [("2025-05-01", "2026-12-31")]),
    "LA": (sales("LA", "2025-03-10"), [("2025-05-09", "2026-12-31")]),
    "NJ": (sales("NJ", "2025-03-10", "2000.00", 200), [("2025-04-09", "2026-12-31")]),
    "OK": (sales("OK", "2025-03-10", "100000.00"), [("2025-04-01", "2026-12-31")]),
    "SC": (sales("SC", "2025-03-10", buyer_exempt="resale"), [("2025-05-01", "2026-12-31")]),
    "TN": (sales("TN", "2025-01-15"), [("2025-04-01", "2027-01-14")]),
    "VT": (sales("VT", "2025-03-10", "2000.00", 200), [("2025-05-01", "2027-03-09")]),
    "MA": (sales("MA", "2025-03-10"), [("2025-05-01", "2026-12-31")]),
    "AR": (sales("AR", "2025-03-10", "2010.00", 201), [("2025-03-11", "2026-12-31")]),
    "DC": (sales("DC", "2025-03-10", "2000.00", 200), [("2025-03-11", "2026-12-31")]),
    "NC": (
        sales("NC", "2024-03-10", "60000.00") + sales("NC", "2024-09-10", "50000.00"),
        [("2024-09-11", "2025-12-31")],
    ),
    "IN": (sales("IN", "2023-12-10", "2000.00", 200), [("2023-12-11", "2023-12-31")]),
    "NM": (sales("NM", "2024-03-10", "100000.00"), [("2025-01-01", "2025-12-31")]),
    "RI": (sales("RI", "2024-03-10", "100000.00"), [("2025-01-01", "2025-12-31")]),
    "ME": (sales("ME", "2025-03-02"), [("2025-04-01", "2026-12-31")]),
    "MS": (sales("MS", "2025-03-03", "250000.01"), [("2025-03-04", "2027-03-02")]),
    "OH": (
        sales("OH", "2024-03-03", "2000.00", 200) + sales("OH", "2026-02-03", "2000.00", 200),
        [("2024-03-04", "2025-12-31"), ("2026-02-04", "2027-12-31")],
    ),
}

FREE: dict[str, Rows] = {
    "CA": sales("CA", "2024-05-10", "300000.00") + sales("CA", "2025-05-10", "300000.00"),
    "TX": sales("TX", "2024-06-09", "300000.00") + sales("TX", "2025-06-10", "200000.01"),
    "NY": sales("NY", "2024-11-15", "300000.00", 60) + sales("NY", "2025-11-10", "200000.01", 41),
    "CT": sales("CT", "2025-09-10", "60000.00", 120) + sales("CT", "2025-10-02", "60000.00", 120),
    "ND": sales("ND", "2025-03-10", buyer_exempt="exempt"),
    "FL": sales("FL", "2024-03-10", buyer_exempt="exempt"),
    "AR": sales("AR", "2025-03-10", "2000.00", 200),
    "AL": sales("AL", "2024-03-10", "250000.01", buyer_exempt="resale"),
    "TN": sales("TN", "2025-01-15", buyer_exempt="resale"),
    "PA": sales("PA", "2024-03-10", **THROUGH_A_FACILITATOR),
    "GA": sales("GA", "2025-03-10", "150000.00", **THROUGH_A_FACILITATOR)
    + sales("GA", "2025-03-10", "50000.00"),
    "LA": sales("LA", "2025-03-10", "2000.00", 200),
    "SD": sales("SD", "2025-03-10", "2000.00", 200),
    "WI": sales("WI", "2025-03-10", "2000.00", 200),
    "UT": sales("UT", "2025-03-10", "1200.00", 120) + sales("UT", "2025-07-10", "800.00", 80),
    "IL": sales("IL", "2025-11-10", "2000.00", 200),
}
"""Just not met: by the window, by what counts, by who sold, or because the count was dropped."""


@pytest.fixture(scope="module")
def binding() -> Assessment:
    """Assess all cases that bind at once; no state looks at another state's sales."""
    return assess(orders([row for rows, _ in BINDS.values() for row in rows]), seller(), as_of=AS_OF)


@pytest.fixture(scope="module")
def free() -> Assessment:
    """Assess all cases that do not bind at once."""
    return assess(orders([row for rows in FREE.values() for row in rows]), seller(), as_of=AS_OF)


@pytest.mark.parametrize("state", BINDS)
def test_a_met_line_binds_from_day_to_day(binding: Assessment, state: str) -> None:
    """Counted by hand from the words of each state's rows."""
    assert spans(binding, state) == BINDS[state][1]


@pytest.mark.parametrize("state", FREE)
def test_a_line_just_not_met_binds_nobody(free: Assessment, state: str) -> None:
    """Counted by hand from the words of each state's rows."""
    assert spans(free, state) == []


@pytest.mark.source("il-86iac-131.115")
@pytest.mark.parametrize(
    ("rows", "until"),
    [
        pytest.param([], "2025-03-31", id="nothing more is sold: the year is over and no longer"),
        pytest.param(sales("IL", "2024-08-01", "90000.00"), "2025-03-31", id="below the line at its end"),
        pytest.param(sales("IL", "2025-03-31", "100000.00"), "2026-03-31", id="met again at its end"),
        pytest.param(sales("IL", "2025-05-01", "100000.00"), "2025-03-31", id="met after its end: anew"),
    ],
)
def test_an_illinois_year_is_reviewed_at_its_end_and_not_before(rows: Rows, until: str) -> None:
    """86 Ill. Adm. Code 131.115: official; one year from the next quarter, then a look back over the 12 months just ended.

    Reviews of the quarters inside the year bind nobody any longer: they begin again only after a year below the line.
    """
    found = of_one("IL", sales("IL", "2024-02-10", "100000.00"), rows)
    assert found[0] == ("2024-04-01", until)
    again = [("2025-07-01", "2026-06-30")] if rows and rows[0]["ordered_on"] == "2025-05-01" else []
    assert found[1:] == again


@pytest.mark.source("il-86iac-131.115", "il-dor-fy-2026-12")
def test_an_illinois_year_begun_on_the_count_runs_out_in_2026() -> None:
    """The count was dropped from 2026-01-01; no text on an early stop was seen, so the year that had begun is kept."""
    assert of_one("IL", sales("IL", "2025-02-10", "2000.00", 200)) == [("2025-04-01", "2026-03-31")]


@pytest.mark.source("co-rule-39-26-102-3")
@pytest.mark.parametrize(
    ("crossed", "begins"),
    [
        pytest.param("2025-09-02", "2025-12-01", id="the 90th day is 1 December"),
        pytest.param("2025-09-03", "2026-01-01", id="a day later"),
        pytest.param("2025-11-15", "2026-01-01", id="the 90th day lies in the next year"),
    ],
)
def test_a_colorado_seller_over_the_line_last_year_collects_from_new_year(crossed: str, begins: str) -> None:
    """1 CCR 201-4, rule 39-26-102(3): official; over it last year, bound for the whole current year.

    The month after the 90th day is for the year of the crossing only.
    """
    assert of_one("CO", sales("CO", crossed)) == [(begins, "2026-12-31")]


@pytest.mark.source("pa-dor-online-retailers")
@pytest.mark.parametrize(
    "later", [[], sales("PA", "2025-07-01", "10.00")], ids=["no later sale", "a sale in July"]
)
def test_own_sales_that_met_the_line_bind_without_a_later_one(later: Rows) -> None:
    """Pennsylvania DOR, Online Retailers: official; calendar 2024 decides 1 April 2025 to 31 March 2026.

    All sales were the seller's own, more than twelve months before the first day: nothing waits for another.
    """
    assert of_one("PA", sales("PA", "2024-03-10"), later) == [("2025-04-01", "2026-03-31")]


@pytest.mark.source("ny-dtf-nexus", "il-86iac-131.115", "sst-state-details-mo")
@pytest.mark.parametrize(
    ("state", "rows", "begins"),
    [
        pytest.param(
            "NY", sales("NY", "2026-09-15", "500000.01", 101), "2027-01-19", id="New York: 30 November"
        ),
        pytest.param("IL", sales("IL", "2026-08-15", "100000.00"), "2026-10-01", id="Illinois: 30 September"),
        pytest.param("MO", sales("MO", "2026-08-15"), "2027-01-01", id="Missouri: 30 September"),
    ],
)
def test_a_line_met_inside_a_quarter_binds_from_its_review(state: str, rows: Rows, begins: str) -> None:
    """A total that meets the line before the quarter is over still meets it at the end: sales only come on top.

    The seller is told of the day ahead, and not that no duty follows.
    """
    found = assess(orders(rows), seller(), as_of=date(2026, 9, 20))
    assert spans(found, state)[0][0] == begins
    kinds = {finding["kind"] for finding in found.record()["findings"] if finding["place"] == f"US-{state}"}
    assert "crossed_ahead" in kinds
    assert "crossed_without_duty" not in kinds


def test_an_illinois_year_that_runs_is_not_made_longer_by_a_review_ahead() -> None:
    """The year from April 2026 ends in March 2027, whatever the running quarter shows."""
    found = assess(orders(sales("IL", "2026-02-10", "100000.00")), seller(), as_of=date(2026, 9, 20))
    assert spans(found, "IL") == [("2026-04-01", "2027-03-31")]
