"""Look-back: every quarter since duty began, and the part that a voluntary disclosure usually starts from."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import orders, registered, seller

from taxcalc import assess
from taxcalc.caution import CAUTION
from taxcalc.reports.terminal import review_text

if TYPE_CHECKING:
    from pathlib import Path

AS_OF = date(2026, 10, 5)
READ = "common-practice,unconfirmed,,2026-11-25,"
"""Source, basis and day of a row."""


def sale(to: str, day: str, amount: str = "1000.00", tax: str = "0.00", **more: str) -> dict[str, str]:
    """Write one sale."""
    return {"to": to, "item_amount": amount, "ordered_on": day, "tax_collected": tax, **more}


def record_of(rows: list[dict[str, str]], profile: dict[str, Any], **more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Assess some orders and give the record."""
    return assess(orders(rows), profile, as_of=AS_OF, **more).record()


def look_back_of(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give the look-back by place."""
    return {part["place"]: part for part in record["look_back"]}


def test_every_stretch_of_duty_is_looked_back_on() -> None:
    """Since duty began means the last stretch; the look-back takes the one before it too."""
    twice = [
        *registered("US-WA", since=date(2024, 1, 1), until=date(2024, 6, 30)),
        *registered("US-WA", since=date(2026, 1, 1)),
    ]
    rows = [sale("US-WA", "2024-02-01"), sale("US-WA", "2025-02-01"), sale("US-WA", "2026-02-01")]
    record = record_of(rows, seller(registration=twice))
    found = look_back_of(record)["US-WA"]
    assert found["duty_from"] == "2024-01-01"
    assert [one["quarter"] for one in found["quarters"]] == ["2024-Q1", "2026-Q1"]
    assert found["shortfall"]["low"] == "130.00"  # twice the state's 6.5 percent
    assert record["places"][0]["since_duty"]["shortfall"]["low"] == "65.00"


def test_no_quarter_and_no_place_pays_for_another() -> None:
    """A quarter with too much collected lacks nothing and takes nothing away."""
    rows = [
        sale("US-WA", "2025-02-01"),
        sale("US-WA", "2025-05-01", tax="500.00"),
        sale("US-TX", "2025-05-01", tax="900.00"),
    ]
    record = record_of(rows, seller(registration=registered("US-WA", "US-TX")))
    found = look_back_of(record)
    assert set(found) == {"US-WA"}
    first, second = found["US-WA"]["quarters"]
    assert (first["quarter"], first["shortfall"]["low"], first["collected"]) == ("2025-Q1", "65.00", "0.00")
    assert (second["shortfall"]["high"], second["collected"]) == ("0.00", "500.00")
    assert found["US-WA"]["shortfall"] == first["shortfall"]


@pytest.mark.source("wa-dor-voluntary-disclosure", "tn-dor-look-back", "ca-rtc-6487.05")
@pytest.mark.parametrize(
    ("place", "inside", "before"),
    [
        pytest.param("US-WA", "2022-01-01", "2021-12-31", id="four years and the current one"),
        pytest.param("US-TN", "2023-01-01", "2022-12-31", id="three years and the current one"),
        pytest.param("US-CA", "2023-10-05", "2023-09-30", id="three years, from the quarter they begin in"),
    ],
)
def test_a_state_with_years_of_its_own_is_cut_there(place: str, inside: str, before: str) -> None:
    """The first day of the look-back counts, the last day of the quarter before it does not."""
    profile = seller(presence=[{"place": place, "kind": "stock", "from": date(2020, 1, 1)}])
    (found,) = record_of([sale(place, inside), sale(place, before)], profile)["look_back"]
    disclosure = found["disclosure"]
    assert (disclosure["from"], disclosure["rule"], disclosure["basis"]) == (
        "2023-10-05" if place == "US-CA" else inside,
        "state",
        "official",
    )
    within = next(one for one in found["quarters"] if one["quarter"] == disclosure["from_quarter"])
    assert disclosure["shortfall"] == within["shortfall"]
    whole = {end: Decimal(found["shortfall"][end]) for end in ("low", "expected", "high")}
    assert all(whole[end] > Decimal(disclosure["shortfall"][end]) > 0 for end in whole)


@pytest.mark.practice
@pytest.mark.parametrize(
    ("day", "low", "expected"),
    [
        pytest.param("2023-10-01", True, True, id="inside three years"),
        pytest.param("2023-09-30", False, True, id="inside four"),
        pytest.param("2022-09-30", False, False, id="before both"),
    ],
)
def test_elsewhere_the_usual_years_are_a_range(day: str, *, low: bool, expected: bool) -> None:
    """Three to four years (common practice, no source): low with the fewest, the others with the most."""
    profile = seller(presence=[{"place": "US-GA", "kind": "stock", "from": date(2020, 1, 1)}])
    (found,) = record_of([sale("US-GA", day)], profile)["look_back"]
    disclosure = found["disclosure"]
    assert (disclosure["years"], disclosure["rule"]) == ({"least": 3, "most": 4}, "usual")
    assert disclosure["basis"] == "unconfirmed"
    assert "us/practice:US/look_back_years" in disclosure["row_ids"]
    counted = {
        end: disclosure["shortfall"][end] == found["shortfall"][end] for end in ("low", "expected", "high")
    }
    assert counted == {"low": low, "expected": expected, "high": expected}


def test_a_registered_seller_is_told_that_the_way_may_be_closed() -> None:
    """Prior contact closes it, and a registration is contact."""
    rows = [sale("US-WA", "2025-02-01"), sale("US-GA", "2025-02-01")]
    profile = seller(
        registration=registered("US-WA"),
        presence=[{"place": "US-GA", "kind": "stock", "from": date(2020, 1, 1)}],
    )
    found = look_back_of(record_of(rows, profile))
    closed = {
        place: any("registered here" in words for words in part["disclosure"]["words"])
        for place, part in found.items()
    }
    assert closed == {"US-GA": False, "US-WA": True}


def test_other_countries_have_quarters_and_no_look_back_of_a_state() -> None:
    """Nothing is held on disclosures outside the United States, and nothing is invented."""
    rows = [
        {
            "to": "DE",
            "item_amount": "100.00",
            "currency": "EUR",
            "ordered_on": "2025-02-03",
            "sent_from": "DE",
        }
    ]
    (found,) = record_of(rows, seller())["look_back"]
    assert (found["place"], found["disclosure"]) == ("DE", None)
    assert [one["quarter"] for one in found["quarters"]] == ["2025-Q1"]


def test_the_section_stands_only_where_something_lacks() -> None:
    """A shop that collected everything reads nothing of a look-back; one that did not reads the years and the caution."""
    profile = seller(registration=registered("US-WA"))
    quiet = record_of([sale("US-WA", "2025-02-01", tax="200.00")], profile)
    lacking = record_of([sale("US-WA", "2025-02-01")], profile)
    assert quiet["look_back"] == []
    assert "Look-back" not in review_text(quiet)
    text = review_text(lacking)
    section = text[text.index("Look-back and voluntary disclosure") :]
    assert "4 years and the current one" in section
    assert "Washington (US-WA) 2025-Q1" in section
    assert CAUTION.split(".", maxsplit=1)[0] in section


def test_own_rows_win_and_an_ended_practice_leaves_no_figure(tmp_path: Path) -> None:
    """Rows of the user's own: Georgia's years are marked as theirs; where what is usual is ended nothing is counted."""
    table = tmp_path / "us" / "practice.csv"
    table.parent.mkdir()
    table.write_text(
        "place,practice,least,most,valid_from,ended,source,basis,unconfirmed_columns,checked_on,note\n"
        f"US-GA,look_back_years,2,2,2019-01-01,,{READ}\n"
        f"US,look_back_years,,,2020-01-01,yes,{READ}\n"
        f"US,return_due_day_of_month_after_quarter,,,2020-01-01,yes,{READ}\n",
        encoding="utf-8",
    )
    here = [{"place": place, "kind": "stock", "from": date(2020, 1, 1)} for place in ("US-GA", "US-CO")]
    rows = [sale("US-GA", "2025-02-01"), sale("US-CO", "2025-02-01")]
    assessment = assess(orders(rows), seller(presence=here), tables=tmp_path, as_of=AS_OF)
    assessment.with_interest = True
    record = assessment.record()
    found = look_back_of(record)
    assert found["US-CO"]["disclosure"] is None
    assert found["US-GA"]["disclosure"]["years"] == {"least": 2, "most": 2}
    assert found["US-GA"]["disclosure"]["own_rows"] == ["own:us/practice:US-GA/look_back_years:2019-01-01"]
    assert record["interest_and_penalties"]["places"] == []
    assert record["interest_and_penalties"]["without_tables"] == ["US-CO", "US-GA"]
    assert "Look-back" in review_text(record)


DAYS = st.dates(date(2022, 1, 1), AS_OF)
CENTS = st.integers(1, 500_00)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(DAYS, CENTS, st.integers(0, 60_00), st.booleans()), min_size=1, max_size=12))
def test_the_whole_is_the_sum_of_the_quarters_of_the_frame(lines: list[tuple[date, int, int, bool]]) -> None:
    """Low, expected and high keep their order, and the expected lack is that of the place's quarters in `places`."""
    rows = [
        sale("US-WA", day.isoformat(), f"{cents // 100}.{cents % 100:02}", f"{tax // 100}.{tax % 100:02}",
             entry="refund" if back else "sale", **({"original_ordered_on": day.isoformat()} if back else {}))
        for day, cents, tax, back in lines
    ]  # fmt: skip
    found = assess(orders(rows), seller(registration=registered("US-WA")), as_of=AS_OF)
    parts = found.record()["look_back"]
    lack = int(found.places["shortfall"].sum())
    if not parts:
        assert lack == 0
        return
    (part,) = parts
    sums = {
        end: sum(Decimal(one["shortfall"][end]) for one in part["quarters"])
        for end in ("low", "expected", "high")
    }
    assert {end: Decimal(amount) for end, amount in part["shortfall"].items()} == sums
    assert sums["expected"] * 100 == lack
    assert 0 <= sums["low"] <= sums["expected"] <= sums["high"]
