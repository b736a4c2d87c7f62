"""The scenario of interest and penalties: asked for, apart, and silent where nothing is on file."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from click.testing import CliRunner
from shop import orders, registered, seller
from test_caution import amounts_without_caution

from taxcalc import assess
from taxcalc.cli import main
from taxcalc.reports.terminal import review_text

AS_OF = date(2026, 10, 5)


def rows_of(*places_and_days: tuple[str, str]) -> list[dict[str, str]]:
    """Write one sale of 1,000 a place and day."""
    return [{"to": to, "item_amount": "1000.00", "ordered_on": day} for to, day in places_and_days]


def present(*codes: str) -> dict[str, Any]:
    """Build a seller with premises in some states since 2020, registered nowhere."""
    return seller(presence=[{"place": code, "kind": "premises", "from": date(2020, 1, 1)} for code in codes])


def both(rows: list[dict[str, str]], profile: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Give the record without and with the scenario."""
    found = assess(orders(rows), profile, as_of=AS_OF)
    plain = found.record()
    found.with_interest = True
    return plain, found.record()


def test_without_the_option_nothing_changes_and_with_it_no_other_figure_does() -> None:
    """One key more; the sentence on what is outside; the sources of the rows used."""
    plain, asked = both(rows_of(("US-TX", "2025-02-03"), ("US-GA", "2026-02-03")), present("US-TX", "US-GA"))
    assert "interest_and_penalties" not in plain
    assert "Scenario" not in review_text(plain)
    assert "Interest and penalties are not computed." in plain["outside"]
    rest = {
        key: value
        for key, value in asked.items()
        if key not in ("interest_and_penalties", "outside", "sources")
    }
    assert rest == {key: value for key, value in plain.items() if key not in ("outside", "sources")}
    assert "Interest and penalties are not computed." not in asked["outside"]
    assert {"tx-comptroller-penalties", "common-practice"} <= {source["id"] for source in asked["sources"]}
    assert list(amounts_without_caution(asked)) == []


@pytest.mark.source("ga-dor-admin-2026-01", "tx-comptroller-penalties")
def test_a_quarter_bears_interest_from_its_due_day_to_the_day_of_the_review() -> None:
    """Texas, 62.50 of state tax of 2026-Q1: due on 20 April (an assumption), 108 bearing days at 7.75 percent.

    The rate is prime plus 1, as Georgia's notice of prime plus 3 implies.
    Low: 62.50 × 0.0775 × 108 ÷ 365 = 1.43; penalty 10 percent, 6.25, and 50 for the report.
    """
    _, asked = both(rows_of(("US-TX", "2026-02-03")), present("US-TX"))
    (place,) = asked["interest_and_penalties"]["places"]
    (quarter,) = place["quarters"]
    assert (quarter["quarter"], quarter["due_on"], quarter["days_late"]) == ("2026-Q1", "2026-04-20", 168)
    assert quarter["shortfall"]["low"] == "62.50"
    assert quarter["interest"]["low"] == "1.43"
    assert quarter["penalties"]["low"] == "56.25"
    assert place["interest"] == quarter["interest"]
    assert place["basis"] == "unconfirmed"
    assert "us/practice:US/return_due_day_of_month_after_quarter:2019-01-01" in place["row_ids"]


def test_where_no_rate_is_on_file_there_is_no_figure_and_it_is_said() -> None:
    """Florida's rate was read to the end of 2025; Washington's never; Colorado has neither."""
    days = [
        ("US-FL", "2025-08-03"),
        ("US-FL", "2025-02-03"),
        ("US-WA", "2026-02-03"),
        ("US-CO", "2026-02-03"),
    ]
    _, asked = both(rows_of(*days), present("US-FL", "US-WA", "US-CO"))
    found = {place["place"]: place for place in asked["interest_and_penalties"]["places"]}
    assert all(place["interest"] is None for place in found.values())
    assert {one["interest_rate_unknown_on"] for one in found["US-FL"]["quarters"]} == {"2026-01-01"}
    assert found["US-CO"]["penalties"] is None
    assert found["US-WA"]["penalties"]["low"] == "0.00"
    assert "No penalties are on file: no figure." in found["US-CO"]["words"]
    assert any("No rate of interest is on file for 2026-01-01" in words for words in found["US-FL"]["words"])
    assert "not on file" in review_text(asked)


def test_waivers_of_a_voluntary_disclosure_are_said() -> None:
    """New York waives penalties, ordinary interest stays due; elsewhere the programme of many states speaks."""
    _, asked = both(rows_of(("US-NY", "2025-02-03"), ("US-GA", "2026-02-03")), present("US-NY", "US-GA"))
    words = {place["place"]: " ".join(place["words"]) for place in asked["interest_and_penalties"]["places"]}
    assert (
        "Penalties are waived in a voluntary disclosure. Interest at the ordinary rate stays due"
        in words["US-NY"]
    )
    assert "partly or fully waived" in words["US-GA"]


def test_what_is_not_due_yet_and_what_lies_elsewhere_is_named() -> None:
    """The third quarter is due on 20 October; no such tables are held outside the United States."""
    rows = [
        *rows_of(("US-TX", "2026-09-03")),
        {
            "to": "DE",
            "item_amount": "100.00",
            "currency": "EUR",
            "ordered_on": "2025-02-03",
            "sent_from": "DE",
        },
    ]
    _, asked = both(rows, present("US-TX"))
    found = asked["interest_and_penalties"]
    assert (found["places"], found["not_due_yet"], found["without_tables"]) == ([], ["US-TX"], ["DE"])
    assert "Nothing that was due" in review_text(asked)


@pytest.mark.parametrize("since", [date(2026, 1, 1), date(2026, 2, 1)])
def test_a_registered_sellers_return_counts_as_filed(since: date) -> None:
    """Texas: the 50 for a late report are in high alone, from the quarter of the registration on, whose return is due later."""
    profile = seller(registration=registered("US-TX", since=since))
    _, asked = both(rows_of(("US-TX", "2026-02-03")), profile)
    (place,) = asked["interest_and_penalties"]["places"]
    assert place["penalties"]["low"] == "6.25"


def test_the_command_has_the_option() -> None:
    """It stands in the help, said to be apart."""
    text = CliRunner().invoke(main, ["review", "--help"]).output
    assert "--with-interest" in text
    assert "scenario apart" in " ".join(text.split())
