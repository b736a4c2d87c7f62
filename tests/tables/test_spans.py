"""From when until when rows hold, what holds on a day and why, and how tables and places are found by name."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import pytest

from taxcalc.tables.load import load_tables
from taxcalc.tables.names import UnknownNameError, find_place, find_table
from taxcalc.tables.overview import overview
from taxcalc.tables.shown import shown
from taxcalc.tables.spans import answers, spans

sys.path.insert(0, str(Path(__file__).parent))
from small_tables import write_all, write_table

NAME = "us/state_rates"
HEADER = "place,state_percent,sourcing_in_state,valid_from,source,basis,checked_on,back_to_shipped"
MINE = (
    f"{HEADER}\n"
    "US-CA,9,mixed,2023-01-01,memory,unconfirmed,2026-11-25,\n"
    "US-CA,,,2025-01-01,,,,yes\n"
    "US-OR,1,mixed,2023-01-01,memory,unconfirmed,2026-11-25,\n"
    "US-OR,,,2025-01-01,,,,yes\n"
)


def day(text: str) -> int:
    """Days since 1970-01-01."""
    return (date.fromisoformat(text) - date(1970, 1, 1)).days


def iso(number: int | None) -> str | None:
    """The day of a number."""
    return None if number is None else date.fromordinal(date(1970, 1, 1).toordinal() + number).isoformat()


@pytest.fixture
def shipped(tmp_path):
    """A folder of small tables."""
    return write_all(tmp_path / "shipped")


@pytest.fixture
def both(shipped, tmp_path):
    """The small tables with own rows over them."""
    write_table(tmp_path / "own", NAME, MINE)
    return load_tables(tmp_path / "own", shipped=shipped)


def held(tables):
    """Row, from, until and whether hidden."""
    return [(span.row, iso(span.first), iso(span.last), span.hidden) for span in spans(tables[NAME])]


def test_a_row_holds_until_the_day_before_the_next(shipped):
    assert held(load_tables(shipped=shipped)) == [
        (0, "2019-01-01", "2024-06-30", False),
        (1, "2024-07-01", None, False),
        (2, "2019-01-01", "2024-12-31", False),
        (3, "2025-01-01", None, False),
    ]


def test_own_rows_cut_shipped_ones_and_hide_those_that_never_come_back(both):
    expected = [
        (0, "2019-01-01", "2022-12-31", False),
        (4, "2023-01-01", "2024-12-31", False),
        (1, "2025-01-01", None, False),
        (2, "2019-01-01", "2024-12-31", False),
        (3, "2025-01-01", None, False),
        (6, "2023-01-01", "2024-12-31", False),
    ]
    assert held(both) == expected


def test_a_shipped_row_that_never_holds_again_is_hidden(shipped, tmp_path):
    write_table(tmp_path / "own", NAME, MINE.splitlines()[0] + "\n" + MINE.splitlines()[1] + "\n")
    assert held(load_tables(tmp_path / "own", shipped=shipped))[:3] == [
        (0, "2019-01-01", "2022-12-31", False),
        (4, "2023-01-01", None, False),
        (1, None, None, True),
    ]


def test_a_span_says_the_same_as_the_look_up(both):
    """Asked on its first and on its last day, the table answers with the row of the span."""
    table = both[NAME]
    for span in (each for each in spans(table) if not each.hidden):
        key = dict(zip(["place"], table.keys[span.row], strict=True))
        for on in (span.first, span.last if span.last is not None else day("2090-01-01")):
            row = int(table.lookup(on, **key))
            assert row == span.row or (row == -1 and bool(table.ended(on, **key)))


@pytest.mark.parametrize(("on", "place", "why", "row", "since"), [
    pytest.param("2018-12-31", "US-TX", "not_yet_known", -1, "2019-01-01", id="before the first row"),
    pytest.param("2024-12-31", "US-TX", "holds", 2, "2019-01-01", id="last day before the end"),
    pytest.param("2025-01-01", "US-TX", "ended", -1, "2025-01-01", id="ended"),
    pytest.param("2024-06-30", "US-CA", "holds", 4, "2023-01-01", id="an own row"),
    pytest.param("2026-11-20", "US-CA", "holds", 1, "2025-01-01", id="on the day of the last check"),
    pytest.param("2026-11-21", "US-CA", "carried_on", 1, "2026-11-20", id="carried on after the last check"),
    pytest.param("2025-01-01", "US-OR", "nothing_shipped", -1, "2025-01-01", id="back to nothing"),
])  # fmt: skip
def test_on_a_day_something_holds_or_there_is_a_reason(both, on, place, why, row, since):
    (answer,) = (each for each in answers(both[NAME], day(on)) if each.key == (place,))
    assert (answer.why, answer.row, iso(answer.since)) == (why, row, since)


def test_shown_rows_have_values_as_printed_with_source_and_days(both):
    data = shown(both, NAME, "US-CA", day("2024-06-30"))
    (row,) = data["rows"]
    assert (row["state_percent"], row["from"], row["until"], row["own"]) == (
        "9",
        "2023-01-01",
        "2024-12-31",
        True,
    )
    assert (row["source"], row["source_title"]) == ("memory", "from memory, no document read")
    assert row["row_id"] == "own:us/state_rates:US-CA:2023-01-01"
    assert [each["state_percent"] for each in shown(both, NAME, "US-TX")["rows"]] == ["6.25", ""]
    (none,) = shown(both, NAME, "US-TX", day("2018-01-01"))["rows"]
    assert (none["place"], none["why"], none["since"]) == ("US-TX", "not_yet_known", "2019-01-01")


def test_a_shipped_row_that_holds_twice_is_shown_with_the_days_asked_for(shipped, tmp_path):
    """Before the own row and after it, not always with the days after it."""
    write_table(tmp_path / "own", NAME, MINE.replace("2025-01-01", "2024-01-01"))
    both = load_tables(tmp_path / "own", shipped=shipped)
    found = [shown(both, NAME, "US-CA", day(on))["rows"][0] for on in ("2022-12-31", "2024-01-01")]
    assert [(row["state_percent"], row["from"], row["until"]) for row in found] == [
        ("7.25", "2019-01-01", "2022-12-31"),
        ("7.25", "2024-01-01", "2024-06-30"),
    ]


def test_an_ending_of_ones_own_is_marked_and_says_where_it_comes_from(shipped, tmp_path):
    rows = f"{HEADER.replace('valid_from', 'valid_from,ended')}\nUS-CA,,,2023-01-01,yes,memory,unconfirmed,2026-11-25,\n"
    write_table(tmp_path / "own", NAME, rows)
    both = load_tables(tmp_path / "own", shipped=shipped)
    (row,) = shown(both, NAME, "US-CA", day("2024-01-01"))["rows"]
    assert (row["why"], row["own"], row["source"]) == ("ended", True, "memory")
    (row,) = shown(both, NAME, "US-TX", day("2025-01-01"))["rows"]
    assert (row["why"], row["own"], row["source"]) == ("ended", False, "law-b")


HOLIDAYS = (
    "place,goods,product_classes,last_day,frees,local_part,counts_when,seller_may_decline,valid_from,source,basis,checked_on\n"
    "US-CA,clothing,clothing,2024-08-04,whole_item,freed,sold,no,2024-08-02,law-a,official,2026-11-25\n"
    "US-CA,clothing,clothing,2025-08-03,whole_item,freed,sold,no,2025-08-01,law-a,official,2026-11-25\n"
)


def test_a_holiday_is_over_after_its_last_day(tmp_path):
    """It does not hold until the next one, nor is it carried on."""
    tables = load_tables(shipped=write_all(tmp_path, us__holidays=HOLIDAYS))
    table = tables["us/holidays"]
    assert [(iso(span.first), iso(span.last)) for span in spans(table)] == [
        ("2024-08-02", "2024-08-04"),
        ("2025-08-01", "2025-08-03"),
    ]
    found = {
        on: [(each.why, each.row, iso(each.since)) for each in answers(table, day(on))]
        for on in ("2024-08-01", "2024-08-04", "2024-08-05", "2025-08-03", "2027-01-01")
    }
    assert found == {
        "2024-08-01": [("not_yet_known", -1, "2024-08-02")],
        "2024-08-04": [("holds", 0, "2024-08-02")],
        "2024-08-05": [("over", -1, "2024-08-04")],
        "2025-08-03": [("holds", 1, "2025-08-01")],
        "2027-01-01": [("over", -1, "2025-08-03")],
    }
    (row,) = shown(tables, "us/holidays", "US-CA", day("2024-08-05"))["rows"]
    assert (row["why"], row["source"]) == ("over", "law-a")


def test_a_place_without_rows_has_none_and_rows_for_all_states_are_named(shipped):
    tables = load_tables(shipped=shipped)
    assert shown(tables, NAME, "US-AK")["rows"] == []
    assert not shown(tables, NAME, "US-AK")["everywhere"]
    products = "us/product_rules"
    content = (shipped / f"{products}.csv").read_text(encoding="utf-8")
    write_table(shipped, products, content + content.splitlines()[-1].replace("US-NY", "US") + "\n")
    assert shown(load_tables(shipped=shipped), products, "US-AK")["everywhere"]


def test_the_overview_counts_rows_places_days_and_doubts(both):
    by_name = {each.name: each for each in overview(both)}
    rates = by_name[NAME]
    assert (rates.rows, rates.own_rows, rates.places) == (8, 4, 3)
    assert (iso(rates.first_day), iso(rates.last_day), iso(rates.oldest_check)) == (
        "2019-01-01",
        "2025-01-01",
        "2026-11-20",
    )
    assert rates.by_basis["secondary"] == 1
    assert rates.by_basis["unconfirmed"] == 2
    assert rates.partly_unconfirmed == 2
    assert by_name["sources"].first_day is None
    assert sum(by_name["sources"].by_basis.values()) == 0


@pytest.mark.parametrize(("text", "name"), [
    ("us/thresholds", "us/thresholds"), ("state_rates", "us/state_rates"), ("State-Rates.CSV", "us/state_rates"),
    ("rate_tables/eu/rates.csv", "eu/rates"), ("sources", "sources"),
])  # fmt: skip
def test_a_table_is_found_by_its_name(text, name):
    assert find_table(text) == name


@pytest.mark.parametrize(("text", "words"), [
    ("thresholds", "Write us/thresholds or eu/thresholds"), ("us/treshold", "The nearest: us/thresholds"),
    ("qqqq", "is no table. `taxcalc tables list`"),
])  # fmt: skip
def test_an_unknown_table_gets_the_nearest_ones(text, words):
    with pytest.raises(UnknownNameError, match=words):
        find_table(text)


@pytest.mark.parametrize(("text", "table", "code"), [
    ("us-tx", "us/thresholds", "US-TX"), ("texas", "us/thresholds", "US-TX"), ("GA", "us/thresholds", "US-GA"),
    ("Georgia", "us/thresholds", "US-GA"), ("DE", "us/thresholds", "US-DE"), ("US", "us/product_rules", "US"),
    ("DE", "eu/rates", "DE"), ("germany", "eu/rates", "DE"), ("Texas", "eu/rates", "US-TX"),
])  # fmt: skip
def test_a_place_is_found_by_code_or_name(text, table, code):
    assert find_place(text, table) == code


def test_an_unknown_place_gets_the_nearest_ones():
    with pytest.raises(UnknownNameError, match=r"'Germny' is no place\. The nearest: DE"):
        find_place("Germny", "eu/rates")
