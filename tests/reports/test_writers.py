"""The CSV and JSON writers: nothing without its caution, no formula in a cell, no binary float."""

from __future__ import annotations

import copy
import csv
import io
import json
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from invented_record import a_record, spread

from taxcalc.caution import CAUTION, Figures
from taxcalc.reports.csv_files import SLICE, disarmed, write_csv
from taxcalc.reports.json_file import json_text

if TYPE_CHECKING:
    from pathlib import Path


def written(frame: pd.DataFrame, path: Path, **parts: str) -> list[list[str]]:
    """Write figures and read the file back as cells."""
    write_csv(Figures("places", frame, **parts), path)
    return list(csv.reader(io.StringIO(path.read_bytes().decode("utf-8"), newline="")))


@pytest.mark.parametrize("caution", ["", "  \n", None, 0])
def test_figures_without_a_caution_cannot_be_made(caution: Any) -> None:  # noqa: ANN401 - wrong on purpose
    """Neither blank words nor something that is no text."""
    with pytest.raises(ValueError, match="caution"):
        Figures("places", pd.DataFrame({"a": [1]}), caution)


@pytest.mark.parametrize("figures", [pd.DataFrame({"a": [1]}), {"a": [1]}, [["a"]], None, "a"])
def test_the_writer_refuses_anything_but_figures(figures: Any, tmp_path: Path) -> None:  # noqa: ANN401 - as above
    """And writes nothing."""
    with pytest.raises(TypeError, match="Figures"):
        write_csv(figures, tmp_path / "a.csv")
    assert not list(tmp_path.iterdir())


def test_every_row_carries_the_caution(tmp_path: Path) -> None:
    """The figures' own words, in a column of that name."""
    rows = written(
        pd.DataFrame({"place": ["US-TX", "US-WA"]}), tmp_path / "a.csv", caution="Careful, please."
    )
    assert rows == [["place", "caution"], ["US-TX", "Careful, please."], ["US-WA", "Careful, please."]]
    # A frame cannot bring weaker words of its own.
    rows = written(pd.DataFrame({"caution": ["none"], "place": ["US-TX"]}), tmp_path / "a.csv")
    assert rows == [["place", "caution"], ["US-TX", CAUTION]]


def test_a_file_without_rows_still_has_its_columns(tmp_path: Path) -> None:
    """As of a shop that has set nothing aside."""
    assert written(pd.DataFrame({"file": [], "row": []}, dtype="str"), tmp_path / "a.csv") == [
        ["file", "row", "caution"]
    ]


def test_the_file_is_utf_8_with_plain_line_ends(tmp_path: Path) -> None:
    """On every system."""
    written(pd.DataFrame({"name": ["Ærø"]}), tmp_path / "a.csv")
    content = (tmp_path / "a.csv").read_bytes()
    assert content.startswith(b"name,caution\n\xc3\x86r\xc3\xb8,")
    assert b"\r" not in content


@pytest.mark.parametrize(
    "start", ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"]
)
def test_a_formula_gets_an_apostrophe(start: str, tmp_path: Path) -> None:
    """Whatever a spreadsheet would run is text."""
    rows = written(pd.DataFrame({"value": [f"{start}HYPERLINK(1)"]}), tmp_path / "a.csv")
    seen = start if start.isprintable() else ascii(start)[1:-1]
    assert rows[1][0] == f"'{seen}HYPERLINK(1)"


@pytest.mark.parametrize("text", ["-12.50", "0", "-3", "1234567.89", "a=b", "x-1", "", "US-TX", "'=1"])
def test_numbers_and_plain_texts_are_left_alone(text: str) -> None:
    """A negative amount stays a number."""
    assert disarmed(text) == text


@pytest.mark.parametrize("text", ["-1+1", "+5", "-1.2.3", "-1\n", "--1", "-.5", "-1e5"])
def test_what_only_looks_like_a_number_is_disarmed(text: str) -> None:
    """Only a plain decimal is left alone."""
    assert disarmed(text) == "'" + text.replace("\n", "\\n")


def test_unseen_characters_are_shown() -> None:
    """A terminal or a reader must not be steered."""
    assert disarmed("a\x1b[2J\u202eb\x00\ud800") == "a\\x1b[2J\\u202eb\\x00\\ud800"


def test_a_row_is_one_line(tmp_path: Path) -> None:
    """Line ends inside a text, of whatever kind, do not begin a new row."""
    rows = written(pd.DataFrame({"value": ['a\r\nb"c,\rd']}), tmp_path / "a.csv", caution="c")
    assert rows == [["value", "caution"], ['a\\r\\nb"c,\\rd', "c"]]


def test_numbers_days_and_blanks_are_written_plainly(tmp_path: Path) -> None:
    """Whole numbers as they are, missing values as empty cells."""
    frame = pd.DataFrame({"n": pd.array([-5, None], "Int64"), "d": ["2026-01-31", None], "m": [3, -4]})
    rows = written(frame, tmp_path / "a.csv")
    assert [row[:3] for row in rows[1:]] == [["-5", "2026-01-31", "3"], ["", "", "-4"]]


def test_binary_floats_are_refused(tmp_path: Path) -> None:
    """An amount must be exact."""
    with pytest.raises(TypeError, match="binary floats in sales"):
        write_csv(Figures("places", pd.DataFrame({"sales": [0.1]})), tmp_path / "a.csv")
    assert written(pd.DataFrame({"share": [107.0]}), tmp_path / "a.csv")[1][0] == "107.0"


def test_a_long_file_is_written_in_slices(tmp_path: Path) -> None:
    """One header, every row once."""
    rows = written(pd.DataFrame({"n": range(SLICE + 1)}), tmp_path / "a.csv", caution="c")
    assert rows[0] == ["n", "caution"]
    assert [int(row[0]) for row in rows[1:]] == list(range(SLICE + 1))


def test_the_record_is_one_document_that_reads_back() -> None:
    """Letters of every script as they are."""
    record = a_record(seller={"name": "Ærø", "country": "DK", "region": None})
    text = json_text(record)
    assert json.loads(text) == record
    assert "Ærø" in text
    assert text.endswith("}\n")


def test_bytes_of_a_file_name_that_are_no_text_stay_valid_json() -> None:
    """As they come from a file system with another encoding."""
    text = json_text(a_record(files=[{"name": "a\udc80.csv", "rows": 1, "sha256": "0"}]))
    assert json.loads(text.encode("utf-8"))["files"][0]["name"] == "a\udc80.csv"


def _objects_with_caution(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:  # noqa: ANN401 - any part
    """List the way to every object with a caution."""
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    found = [path] if isinstance(value, dict) and "caution" in value else []
    return found + [way for key, part in parts for way in _objects_with_caution(part, (*path, key))]


HELD = [
    way
    for way in _objects_with_caution(a_record())
    if way and (way[0] != "findings" or a_record()["findings"][way[1]]["amount"])
]
"""Every object of the record that holds amounts; the findings without an amount may go without."""


@pytest.mark.parametrize("way", HELD, ids=lambda way: ".".join(map(str, way)))
@pytest.mark.parametrize("caution", [None, "", "  "])
def test_a_record_that_lost_one_caution_is_refused(way: tuple[Any, ...], caution: str | None) -> None:
    """Wherever it was lost; the message names the place, and a caution further out does not help."""
    record = copy.deepcopy(a_record())
    held: Any = record
    for key in way:
        held = held[key]
    held["caution"] = caution
    with pytest.raises(ValueError, match="no caution"):
        json_text(record)
    del held["caution"]
    with pytest.raises(ValueError, match="no caution"):
        json_text(record)


@pytest.mark.parametrize(
    "part",
    [
        {"amount": "1.00"},
        {"tax": spread("1", "2", "3")},
        {"deep": {"deeper": {"amount": "5"}}},
        {"all": ["1.00"]},
    ],
)
def test_a_new_part_with_amounts_needs_its_own_caution(part: dict[str, Any]) -> None:
    """The caution of the whole record does not cover an object inside it."""
    with pytest.raises(ValueError, match="no caution"):
        json_text(a_record(extra=part))
    with pytest.raises(ValueError, match="no caution"):
        json_text(a_record(extra=[part]))


def test_texts_of_digits_are_no_amounts() -> None:
    """Order numbers, versions and names."""
    assert json_text(a_record(files=[{"name": "2026", "rows": 1, "sha256": "1" * 64}]))
    assert json_text(a_record(duties=[{"place": "US-TX", "from": "2026-01-01", "from_order": "1044"}]))


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_numbers_that_json_does_not_have_are_refused(number: float) -> None:
    """Such a document could not be read elsewhere."""
    with pytest.raises(ValueError, match="JSON"):
        json_text(a_record(extra=number))
