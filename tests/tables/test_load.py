"""Rate tables are loaded, checked, looked up as of a day, and overlaid with a user's own rows."""

from __future__ import annotations

import sys
import time
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from taxcalc import places
from taxcalc.columns import NO_DAY, PRODUCT_CLASSES
from taxcalc.errors import Refusal
from taxcalc.tables.load import check_tables, load_tables
from taxcalc.tables.schema import BASES, NO_VALUE

sys.path.insert(0, str(Path(__file__).parent))
from small_tables import RATES, SOURCES, write_all, write_table

NAME = "us/state_rates"
HEADER = "place,state_percent,sourcing_in_state,valid_from,source,basis,checked_on"
GOOD = "US-CA,7.25,mixed,2019-01-01,law-a,official,2026-11-25"


def day(text: str) -> int:
    """Days since 1970-01-01."""
    return (date.fromisoformat(text) - date(1970, 1, 1)).days


@pytest.fixture
def shipped(tmp_path):
    """A folder of small tables."""
    return write_all(tmp_path / "shipped")


@pytest.mark.parametrize(("on", "percent"), [
    pytest.param("2018-12-31", NO_VALUE, id="before the first row nothing is known"),
    pytest.param("2019-01-01", 72_500, id="first day"),
    pytest.param("2024-06-30", 72_500, id="last day of the old rate"),
    pytest.param("2024-07-01", 75_000, id="first day of the new rate"),
    pytest.param("2090-01-01", 75_000, id="the last row is carried on"),
])  # fmt: skip
def test_a_row_holds_until_the_next_one_of_its_key(shipped, on, percent):
    table = load_tables(shipped=shipped)[NAME]
    assert table["state_percent"][table.lookup(day(on), place="US-CA")] == percent


def test_an_ended_rule_is_told_apart_from_one_that_was_never_there(shipped):
    table = load_tables(shipped=shipped)[NAME]
    days = np.array([day("2018-12-31"), day("2024-12-31"), day("2025-01-01")])
    assert table.lookup(days, place="US-TX").tolist() == [-1, 2, -1]
    assert table.ended(days, place="US-TX").tolist() == [False, False, True]


def test_keys_are_broadcast_and_matched_exactly(shipped):
    table = load_tables(shipped=shipped)["us/product_rules"]
    classes = np.array([PRODUCT_CLASSES.index("clothing"), -1, PRODUCT_CLASSES.index("books")], dtype=np.int8)
    rows = table.lookup(
        day("2026-01-01"), place=np.int16(places.index("US-NY")), product_class=classes, part="both"
    )
    assert rows.tolist() == [0, 2, -1]
    local = table.lookup(day("2026-01-01"), place="US-NY", product_class="clothing", part="local",
                         locality=np.array(["Erie County", "Kings County"], dtype=object))  # fmt: skip
    assert local.tolist() == [1, -1]
    assert table["item_price"][rows].tolist() == [11_000, NO_VALUE, NO_VALUE]


def test_a_lookup_by_other_than_the_key_columns_is_an_error(shipped):
    with pytest.raises(TypeError, match="looked up by"):
        load_tables(shipped=shipped)[NAME].lookup(0, country="US")


def test_rows_carry_their_name_basis_and_day_of_checking(shipped):
    table = load_tables(shipped=shipped)[NAME]
    rows = np.array([1, 2, -1])
    assert table.row_ids(rows).tolist() == [f"{NAME}:US-CA:2024-07-01", f"{NAME}:US-TX:2019-01-01", ""]
    assert table.basis(rows).tolist() == [1, 0, 0]
    assert table.basis(rows, "state_percent").tolist() == [BASES.index("unconfirmed"), 0, 0]
    assert table.basis(rows, "sourcing_in_state").tolist() == [1, BASES.index("unconfirmed"), 0]
    assert table.checked_on(rows).tolist() == [day("2026-11-20"), day("2026-11-25"), NO_DAY]


def test_days_of_change_are_listed_for_a_place(shipped):
    tables = load_tables(shipped=shipped)
    texas = places.index("US-TX")
    expected = [day("2019-01-01"), day("2025-01-01")]
    assert tables[NAME].change_days(texas).tolist() == tables.change_days(texas).tolist() == expected
    assert tables[NAME].first_day(place="US-TX") == expected[0]
    assert tables[NAME].first_day(place="US-OR") == NO_DAY


def test_the_version_names_the_newest_day_and_follows_every_byte(shipped):
    before = load_tables(shipped=shipped)
    (shipped / "CHANGES.md").write_text(
        "## 2027-01-02 US-CA 7.25 to 7.5, in force from 2028-01-01\n", encoding="utf-8"
    )
    write_table(shipped, NAME, RATES.replace("7.25", "7.26"))
    after = load_tables(shipped=shipped)
    assert before.version[:11] == "2026-11-25 "
    assert after.version[:11] == "2027-01-02 "
    assert before.version[11:] != after.version[11:]
    assert before.oldest_checked_on == date(2026, 11, 20)


def test_a_source_is_described_and_an_unknown_one_is_a_key_error(shipped):
    tables = load_tables(shipped=shipped)
    assert tables.source("law-a")["publisher"] == "Office A"
    assert tables.source("memory")["link"] == ""
    with pytest.raises(KeyError):
        tables.source("law-z")


@pytest.mark.parametrize(("row", "message_id", "column"), [
    pytest.param(GOOD.replace("2019-01-01", "31/02/2024"), "E521", "valid_from", id="a date of another form"),
    pytest.param(GOOD.replace("2019-01-01", "2023-02-29"), "E521", "valid_from", id="no day of the calendar"),
    pytest.param(GOOD.replace("2019-01-01", "43466"), "E521", "valid_from", id="a spreadsheet's day number"),
    pytest.param(GOOD.replace("7.25", "7.25%"), "E522", "state_percent", id="a percent sign"),
    pytest.param(GOOD.replace("7.25", "725"), "E534", "state_percent", id="a lost point"),
    pytest.param(GOOD.replace("7.25", "-1"), "E534", "state_percent", id="a negative rate"),
    pytest.param(GOOD.replace("7.25", "0.0725"), "E539", "state_percent", id="a fraction"),
    pytest.param(GOOD.replace("mixed", "maybe"), "E524", "sourcing_in_state", id="no choice"),
    pytest.param(GOOD.replace("US-CA", "CA"), "E525", "place", id="Canada in a table of states"),
    pytest.param(GOOD.replace("US-CA", "US-ZZ"), "E525", "place", id="no place"),
    pytest.param(GOOD.replace("law-a", "law-z"), "E526", "source", id="an unknown source"),
    pytest.param(f"{GOOD}\n{GOOD}", "E527", "valid_from", id="the same key and day twice"),
    pytest.param(GOOD.replace("7.25", ""), "E528", "state_percent", id="a required blank"),
    pytest.param(GOOD + ",x", "E531", None, id="a cell too many"),
    pytest.param(GOOD.replace("law-a", "memory"), "E532", "basis", id="memory called official"),
])  # fmt: skip
def test_a_slip_refuses_with_its_row_and_column(shipped, row, message_id, column):
    write_table(shipped, NAME, f"{HEADER}\n\n{row}\n")
    with pytest.raises(Refusal) as caught:
        load_tables(shipped=shipped)
    found = caught.value.complaint
    expected_row = 4 if message_id == "E527" else 3
    assert (found.id, found.row, found.column) == (message_id, expected_row, column)
    assert found.file == "rate_tables/us/state_rates.csv"
    assert caught.value.exit_code == 5


@pytest.mark.parametrize(("content", "message_id"), [
    pytest.param(f"{HEADER},colour\n{GOOD},red\n".encode(), "E530", id="an unknown column"),
    pytest.param(HEADER.replace("basis,", "").encode(), "E529", id="a missing column"),
    pytest.param(f"{HEADER}\n{GOOD}\n".encode("utf-16"), "E535", id="another encoding"),
    pytest.param(b"", "E535", id="an empty file"),
])  # fmt: skip
def test_a_file_of_another_form_is_refused(shipped, content, message_id):
    write_table(shipped, NAME, content)
    assert [complaint.id for complaint in check_tables(shipped=shipped)] == [message_id]


def test_a_byte_order_mark_and_another_order_of_columns_are_accepted(shipped):
    header, row = HEADER.split(","), GOOD.split(",")
    write_table(shipped, NAME, "\ufeff" + ",".join(header[::-1]) + "\r\n" + ",".join(row[::-1]) + "\r\n")
    assert load_tables(shipped=shipped)[NAME]["state_percent"].tolist() == [72_500, NO_VALUE]


def test_the_complaint_reads_as_a_sentence(shipped):
    write_table(shipped, NAME, f"{HEADER}\n{GOOD.replace('2019-01-01', '31/02/2024')}\n")
    assert str(check_tables(shipped=shipped)[0]) == (
        "E521 rate_tables/us/state_rates.csv, row 2, column \"valid_from\": '31/02/2024' is no date. "
        "Write it as 2024-02-29."
    )


def test_runs_of_zip_codes_must_not_overlap(shipped):
    write_table(shipped, "us/zip_states", "zip_from,zip_to,place\n90000,90999,US-CA\n90500,91000,US-NV\n")
    assert [(c.id, c.row) for c in check_tables(shipped=shipped)] == [("E537", 3)]


def test_an_own_row_holds_until_the_shipped_rows_are_called_back(shipped, tmp_path):
    own = tmp_path / "mine"
    write_table(own, "sources", "id,publisher,title\nletter,City,Letter\n")
    write_table(own, NAME, (
        f"{HEADER},back_to_shipped\n"
        "US-CA,9,mixed,2023-01-01,letter,official,2026-11-25,\n"
        "US-CA,,,2025-01-01,,,,yes\n"
    ))  # fmt: skip
    tables = load_tables(own, shipped=shipped)
    table = tables[NAME]
    days = np.array([day(text) for text in ("2022-12-31", "2023-01-01", "2024-12-31", "2025-01-01")])
    rows = table.lookup(days, place="US-CA")
    assert table["state_percent"][rows].tolist() == [72_500, 90_000, 90_000, 75_000]
    assert table.is_own(rows).tolist() == [False, True, True, False]
    assert table.row_ids(rows)[1] == f"own:{NAME}:US-CA:2023-01-01"
    assert tables.source("letter")["publisher"] == "City"
    assert tables.own
    assert tables.version.startswith(load_tables(shipped=shipped).version + " +own ")
    assert table["state_percent"][table.lookup(day("2024-12-31"), place="US-TX")] == 62_500


def test_own_files_of_unknown_name_and_changed_places_are_refused(shipped, tmp_path):
    own = tmp_path / "mine"
    write_table(own, "us/state_rate", f"{HEADER}\n")
    write_table(own, "places", "place,name\nXX,Nowhere\n")
    assert [complaint.id for complaint in check_tables(own, shipped=shipped)] == ["E533", "E533"]
    assert [complaint.id for complaint in check_tables(tmp_path / "nowhere", shipped=shipped)] == ["E520"]


def test_five_thousand_questions_are_answered_quickly(shipped):
    table = load_tables(shipped=shipped)["us/product_rules"]
    place = np.full(5_000, places.index("US-NY"), dtype=np.int16)
    part = np.array(["both", "local"] * 2_500, dtype=object)
    table.lookup(0, place="US-NY", product_class="*", part="both")
    start = time.thread_time()
    rows = table.lookup(
        np.full(5_000, day("2026-01-01"), np.int32), place=place, product_class=place * 0, part=part
    )
    assert time.thread_time() - start < 0.05
    assert rows.tolist() == [0, -1] * 2_500


def test_a_missing_shipped_table_is_named(shipped):
    (shipped / "us" / "thresholds.csv").unlink()
    with pytest.raises(Refusal, match=r"E520 rate_tables/us/thresholds\.csv"):
        load_tables(shipped=shipped)


def test_sources_may_not_be_listed_twice(shipped):
    write_table(shipped, "sources", SOURCES + "law-a,Office A,Law A again\n")
    assert [(c.id, c.row) for c in check_tables(shipped=shipped)] == [("E527", 4)]


def test_the_name_of_a_row_is_one_word_and_no_other_rows() -> None:
    """Names stand one after the other behind a figure; counties and fees have blanks in theirs."""
    for table in load_tables():
        names = table.row_ids(np.arange(table.size)).tolist()
        assert len(set(names)) == len(names), table.name
        assert not [name for name in names if name.split() != [name]]
