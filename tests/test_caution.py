"""No figure without its caution: in the record of the example, in the files written from it, in writers."""

from __future__ import annotations

import copy
import csv
import inspect
import json
import re
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from example import assessment, record

from taxcalc.caution import CAUTION, Figures
from taxcalc.reports import csv_files
from taxcalc.reports.csv_files import write_csv
from taxcalc.reports.folder import FILES, TABLES, write_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

Way = tuple[Any, ...]
AMOUNT = re.compile(r"-?\d+\.\d\d")
RANGE = {"low", "expected", "high"}
TIE_OUT = ("tie_out", "amounts")


def amounts_without_caution(value: Any, way: tuple[str, ...] = ()) -> Iterator[str]:  # noqa: ANN401
    """Name every object that holds amounts and no caution of its own.

    The leaves of a range and the sums inside the tie-out are left to the object around them.
    """
    if isinstance(value, list):
        for number, part in enumerate(value):
            yield from amounts_without_caution(part, (*way, str(number)))
    elif isinstance(value, dict):
        leaf = set(value) == RANGE or way[:2] == TIE_OUT
        holds = any(_is_amount(part) for part in value.values()) or (
            way == TIE_OUT[:1] and "amounts" in value
        )
        if holds and not leaf and value.get("caution") != CAUTION:
            yield ".".join(way) or "record"
        for name, part in value.items():
            yield from amounts_without_caution(part, (*way, name))


def _is_amount(part: object) -> bool:
    """Tell whether a value is an amount or a range of amounts."""
    if isinstance(part, dict):
        return set(part) == RANGE
    return isinstance(part, str) and AMOUNT.fullmatch(part) is not None


def objects_with_caution(value: Any, way: Way = ()) -> Iterator[Way]:  # noqa: ANN401
    """Give the way to every object that carries the caution, the record itself left out."""
    if isinstance(value, list):
        for number, part in enumerate(value):
            yield from objects_with_caution(part, (*way, number))
    elif isinstance(value, dict):
        if way and "caution" in value:
            yield way
        for name, part in value.items():
            yield from objects_with_caution(part, (*way, name))


def test_every_object_with_amounts_carries_the_caution() -> None:
    """In every part of the record that shows money."""
    assert list(amounts_without_caution(record())) == []
    assert record()["caution"] == CAUTION
    kinds = {str(way[0]) for way in objects_with_caution(record())}
    assert {"tie_out", "places", "thresholds", "findings", "fulfiller", "totals"} <= kinds


def test_the_search_finds_each_caution_that_is_missing() -> None:
    """One taken away anywhere is noticed there, so that the test above can fail."""
    noticed = 0
    for way in objects_with_caution(record()):
        broken = copy.copy(record())
        spot: Any = broken
        for step in way:
            spot[step] = copy.copy(spot[step])
            spot = spot[step]
        del spot["caution"]
        found = list(amounts_without_caution(broken))
        assert found in ([], [".".join(map(str, way))])
        noticed += len(found)
    assert noticed > 100


WRITERS = [
    function
    for _, function in inspect.getmembers(csv_files, inspect.isfunction)
    if function.__module__ == csv_files.__name__ and function.__name__.startswith("write")
]


@pytest.mark.parametrize("writer", WRITERS, ids=lambda writer: writer.__name__)
def test_writers_take_nothing_without_a_caution(writer: Any, tmp_path: Path) -> None:  # noqa: ANN401 - a writer
    """Neither a plain frame, nor plain rows, nor figures whose caution is blank."""
    path = tmp_path / "figures"
    for plain in (pd.DataFrame({"sales": ["1.00"]}), [{"sales": "1.00"}], {"sales": ["1.00"]}):
        with pytest.raises(TypeError, match="Figures"):
            writer(plain, path)
    with pytest.raises(ValueError, match="caution"):
        writer(Figures("places", pd.DataFrame({"sales": ["1.00"]}), " "), path)
    assert not path.exists()


@pytest.mark.parametrize("name", TABLES)
def test_every_row_of_a_csv_file_carries_the_caution(name: str, tmp_path: Path) -> None:
    """In a column of that name, the last one."""
    write_csv(assessment().figures(name), tmp_path / "figures.csv")
    with (tmp_path / "figures.csv").open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    assert header[-1] == "caution"
    assert len(rows) == len(assessment().figures(name).frame) > 5
    assert {row[-1] for row in rows} == {CAUTION}


def test_every_file_of_the_output_folder_carries_the_caution(tmp_path: Path) -> None:
    """The record is written as it is, and the review says the caution under every table."""
    write_folder(assessment(), tmp_path / "out")
    for name in FILES:
        assert CAUTION in " ".join((tmp_path / "out" / name).read_text(encoding="utf-8").split()), name
    written = json.loads((tmp_path / "out" / "record.json").read_text(encoding="utf-8"))
    assert list(amounts_without_caution(written)) == []
    review = (tmp_path / "out" / "review.txt").read_text(encoding="utf-8")
    tables = re.split(r"^-{20,}$", review, flags=re.MULTILINE)[1:]
    assert len(tables) > 5
    assert all(CAUTION in " ".join(table.split()) for table in tables)
