"""Findings that only a reader who asks should know, folders that cannot be looked at, and what differs."""

from __future__ import annotations

import shutil
import sys
from datetime import date
from pathlib import Path

import pytest

from taxcalc.errors import Refusal
from taxcalc.tables.audit import audit, is_full_set
from taxcalc.tables.difference import difference
from taxcalc.tables.load import load_tables
from taxcalc.tables.own_folder import start_own_rows
from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import BY_NAME, SCHEMAS
from taxcalc.tables.where import folder

sys.path.insert(0, str(Path(__file__).parent))
from small_tables import write_all, write_table

TODAY = date(2026, 11, 26)
LOCAL = "us/local_rates"
HEADER = (
    "place,average_percent,highest_percent,lowest_percent,valid_from,source,basis,checked_on,back_to_shipped"
)
GEORGIA = "US-GA,4,5,0,2026-01-01,letter,official,2026-11-20,"
SOURCES = "id,publisher,title\nletter,City,Letter\n"


def found(where, older_than=None):
    """Ids and rows of the findings."""
    return [(each.id, each.row) for each in audit(where, TODAY, older_than).findings]


@pytest.fixture
def own(tmp_path):
    """A folder with one own row and its source."""
    where = tmp_path / "own"
    write_table(where, LOCAL, f"{HEADER}\n{GEORGIA}\n")
    write_table(where, "sources", SOURCES)
    return where


def test_the_shipped_tables_have_no_findings():
    seen = audit(None, TODAY)
    assert seen.findings == []
    assert seen.tables == len(SCHEMAS)


def test_the_shipped_tables_have_findings_once_they_are_old():
    """One a sourced row, so that the age is counted from the day asked for."""
    later = audit(None, date(2030, 1, 1), older_than=365)
    sourced = [schema.name for schema in SCHEMAS if schema.sourced]
    rows = sum(
        len((folder() / f"{name}.csv").read_text(encoding="utf-8").splitlines()) - 1 for name in sourced
    )
    assert {each.id for each in later.findings} == {"E557"}
    assert len(later.findings) == rows
    assert all(each.file and each.row and each.column == "checked_on" for each in later.findings)


def test_a_slow_clock_puts_no_shipped_row_into_the_future():
    """The day of the computer may be wrong; the tables are not."""
    assert audit(None, date(2020, 1, 1)).findings == []


def test_sound_own_rows_have_no_findings(own):
    assert found(own) == []
    assert found(own, older_than=6) == []
    assert found(own, older_than=5) == [("E557", 2)]


@pytest.mark.parametrize(("name", "content", "expected"), [
    pytest.param("sources", SOURCES + "other,City,Other\n", [("E556", 3)], id="a source that nothing names"),
    pytest.param("sources", "id,publisher,title\n", [("E526", 2)], id="a source that is missing"),
    pytest.param(LOCAL, f"{HEADER}\n{GEORGIA.replace('2026-11-20', '2099-01-01')}\n", [("E558", 2)], id="a check ahead"),
    pytest.param(LOCAL, f"{HEADER}\n{GEORGIA}\n{GEORGIA}\n", [("E527", 3)], id="one key and day twice"),
    pytest.param(LOCAL, f"{HEADER}\n{GEORGIA.replace('US-GA', 'US-GX')}\n", [("E525", 2)], id="an unknown place"),
    pytest.param(LOCAL, f"{HEADER}\n{GEORGIA.replace(',4,', ',400,')}\n", [("E534", 2)], id="outside sane bounds"),
    pytest.param(LOCAL, f"{HEADER}\n{GEORGIA}\n".replace("basis", "base"), [("E530", 1), ("E529", 1), ("E556", 2)], id="name"),
    pytest.param("us/local_rate", f"{HEADER}\n", [("E533", None)], id="a file that no table has the name of"),
])  # fmt: skip
def test_every_kind_of_slip_is_found(own, name, content, expected):
    write_table(own, name, content)
    assert found(own) == expected


@pytest.mark.parametrize(
    ("content", "message_id"), [(None, "E520"), ("empty", "E555"), (b"\xff\xfe\x00", "E535")]
)
def test_what_cannot_be_loaded_at_all_is_refused(tmp_path, content, message_id):
    where = tmp_path / "none"
    if content is not None:
        where.mkdir()
    if isinstance(content, bytes):
        write_table(where, LOCAL, content)
    with pytest.raises(Refusal, match=message_id) as caught:
        audit(where, TODAY)
    assert caught.value.exit_code == 5


def test_a_full_set_is_checked_in_place_of_the_shipped_one(tmp_path):
    where = shutil.copytree(folder(), tmp_path / "full")
    assert is_full_set(where)
    assert found(where) == []
    path = where / "us/state_rates.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("US-CA,7.25", "US-CA,725", 1), encoding="utf-8")
    (finding,) = audit(where, TODAY).findings
    assert (finding.id, finding.file, finding.column, finding.value) == (
        "E534",
        str(path),
        "state_percent",
        "725",
    )


@pytest.mark.parametrize("name", ["us/state_rates.CSV", "us/state_rates.xlsx", "US/State_Rates.ods"])
def test_a_table_that_is_no_csv_file_is_not_passed_over_in_silence(own, name):
    """Unless the same table stands there as CSV: then it is what the CSV was saved from."""
    path = own / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"PK")
    assert found(own) == [("E560", None)]
    with pytest.raises(Refusal, match=r"E560.*us/state_rates\.csv"):
        load_tables(own)
    path.unlink()
    (own / "us/local_rates.xlsx").write_bytes(b"PK")
    assert found(own) == []


def test_a_full_set_as_own_rows_must_not_lack_shipped_ones(tmp_path):
    """A row taken out would go on holding, and nobody would know."""
    where = shutil.copytree(folder(), tmp_path / "full")
    assert load_tables(where).own
    path = where / "us/state_rates.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith("US-WA,")), encoding="utf-8")
    with pytest.raises(Refusal, match=r"E561 .*us/state_rates\.csv: .*'US-WA 2019-01-01'"):
        load_tables(where)
    assert found(where) == []


def test_a_file_that_no_table_has_the_name_of_is_found_in_a_full_set_too(tmp_path):
    where = shutil.copytree(folder(), tmp_path / "full")
    (where / "us/state_rate.csv").write_text("place\n", encoding="utf-8")
    assert found(where) == [("E533", None)]


def test_a_check_ahead_is_found_in_a_full_set_too(tmp_path):
    """It is held against the shipped tables, not against its own newest day."""
    where = shutil.copytree(folder(), tmp_path / "full")
    path = where / "us/class_local_rates.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("2026-11-25", "2099-01-01", 1), encoding="utf-8")
    assert found(where) == [("E558", 2)]


@pytest.mark.parametrize(("day", "older_than"), [(date(2026, 11, 26), 10**9), (date.min, 3)])
def test_an_age_that_no_calendar_has_finds_nothing(day, older_than):
    assert audit(None, day, older_than).findings == []


def test_started_folders_load_and_change_nothing(tmp_path):
    """Every column is there; without a row the tables are the shipped ones."""
    where = tmp_path / "new" / "mine"
    written = start_own_rows(where)
    assert found(where) == []
    assert difference(load_tables(), load_tables(where)) == []
    assert {path.relative_to(where).as_posix() for path in written} == {
        *(f"{schema.name}.csv" for schema in SCHEMAS if schema.dated), "sources.csv", "README.txt",
    }  # fmt: skip
    header = (where / f"{LOCAL}.csv").read_text(encoding="utf-8").strip().split(",")
    assert header == [field.name for field in fields_of(BY_NAME[LOCAL], own=True)]
    assert header[-1] == "back_to_shipped"


def test_the_examples_are_shipped_rows_that_load_when_they_are_copied(tmp_path):
    start_own_rows(tmp_path, ["us/thresholds"])
    readme = (tmp_path / "README.txt").read_text(encoding="utf-8")
    assert "Estimate only, not tax or legal advice" in readme
    rows = [line.removeprefix("# ") for line in readme.splitlines() if line.startswith("# ")]
    write_table(tmp_path, "us/thresholds", "\n".join(rows) + "\n")
    assert found(tmp_path) == []
    assert len(rows) == 4
    assert difference(load_tables(), load_tables(tmp_path)) == []


def test_nothing_is_overwritten_and_a_table_can_be_added_later(tmp_path):
    start_own_rows(tmp_path, ["us/thresholds"])
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    with pytest.raises(Refusal, match="E608"):
        start_own_rows(tmp_path, ["us/thresholds", "eu/rates"])
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before
    start_own_rows(tmp_path, ["eu/rates"])
    after = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert before.items() <= after.items()
    assert {path.name for path in after.keys() - before.keys()} == {"rates.csv", "README-eu-rates.txt"}


@pytest.mark.parametrize("name", ["places", "us/zip_states"])
def test_tables_that_hold_for_everybody_are_not_started(tmp_path, name):
    with pytest.raises(Refusal, match="E559"):
        start_own_rows(tmp_path / "own", [name])
    assert not (tmp_path / "own").exists()


def test_a_folder_that_cannot_be_made_leaves_nothing(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(Refusal, match="E609"):
        start_own_rows(tmp_path / "file" / "own", ["eu/rates"])
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def kinds(tables):
    """Name of table, kind, place and day of each row that differs, with old and new values."""
    return [
        (table["table"], row["change"], row["place"], row["valid_from"],
         {each["column"]: (each["before"], each["after"]) for each in row["columns"]})
        for table in tables for row in table["rows"]
    ]  # fmt: skip


def test_own_rows_are_added_changed_ended_and_hide_shipped_ones(tmp_path):
    shipped = write_all(tmp_path / "shipped")
    own = tmp_path / "own"
    header = "place,state_percent,sourcing_in_state,valid_from,source,basis,checked_on,back_to_shipped"
    write_table(own, "us/state_rates", (
        f"{header}\n"
        "US-CA,7.250,mixed,2019-01-01,law-a,official,2026-11-25,\n"
        "US-TX,8,origin,2019-01-01,law-b,official,2026-11-25,\n"
        "US-TX,,,2024-01-01,,,,yes\n"
        "US-CA,9,mixed,2024-01-01,memory,unconfirmed,2026-11-25,\n"
    ))  # fmt: skip
    rows = kinds(difference(load_tables(shipped=shipped), load_tables(own, shipped=shipped)))
    assert [row[1:4] for row in rows] == [
        ("added", "US-CA", "2024-01-01"),
        ("hidden", "US-CA", "2024-07-01"),
        ("changed", "US-TX", "2019-01-01"),
        ("back", "US-TX", "2024-01-01"),
    ]
    assert rows[0][4]["state_percent"] == (None, "9")
    assert rows[1][4]["state_percent"] == ("7.5", None)
    assert rows[2][4] == {"state_percent": ("6.25", "8"), "unconfirmed_columns": ("sourcing_in_state", None)}


def test_full_sets_are_compared_row_by_row(tmp_path):
    one, other = write_all(tmp_path / "one"), write_all(tmp_path / "other")
    path = other / "us/state_rates.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[1] = lines[1].replace("7.25", "7.26")
    lines[2] = lines[2].replace("2024-07-01", "2024-08-01")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    rows = kinds(difference(load_tables(shipped=one), load_tables(shipped=other)))
    assert [row[1:4] for row in rows] == [
        ("changed", "US-CA", "2019-01-01"),
        ("removed", "US-CA", "2024-07-01"),
        ("added", "US-CA", "2024-08-01"),
    ]
    assert rows[0][4] == {"state_percent": ("7.25", "7.26")}
