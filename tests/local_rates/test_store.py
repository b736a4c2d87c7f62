"""The store: change files, nothing overwritten unasked, whole or not at all, damage found, and laws of reading."""

from __future__ import annotations

import random
import shutil
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rate_files import (
    BOUNDARY,
    OPEN,
    RATES,
    STATE,
    add,
    boundary_row,
    held,
    plain_boundary,
    plain_rates,
    rate_row,
    simple,
    standard,
    write,
)

from taxcalc.errors import Refusal
from taxcalc.local_rates import files as rate_files_module
from taxcalc.local_rates import write as write_module
from taxcalc.local_rates.audit import audited
from taxcalc.local_rates.index import AddedFile, AddedState, index_text, read_index
from taxcalc.local_rates.store import store_in
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from pathlib import Path

NEXT_RATES, NEXT_BOUNDARY = "KSR2026Q4AUG28", "KSB2026Q4AUG28"
CODES = ["66044", "66044-1500", "66044-2999", "66047", "66048-0001", "66050", "66051"]
BEFORE, AFTER = date(2026, 9, 30), date(2026, 10, 1)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def refused(own: Path, *files: Path, **how: bool) -> str:
    """The id with which files are refused; the store is as it was."""
    before = contents(own)
    with pytest.raises(Refusal) as caught:
        add(own, *files, **how)
    assert contents(own) == before
    return caught.value.complaint.id


def later_rates() -> list[str]:
    """The rates of the next quarter: the county's rises, a new district."""
    return [
        rate_row(*STATE),
        rate_row("00", "045", "0.0125", end="20260930"),
        rate_row("00", "045", "0.015", begin="20261001"),
        *plain_rates()[2:],
        rate_row("63", "00200", "0.002", begin="20261001"),
    ]


def later_boundary() -> list[str]:
    """The boundaries of the next quarter: a range of ZIP+4 joins the new district, one more ZIP code."""
    return [
        plain_boundary()[0],
        boundary_row("4", "66044-1000", "66044-1999", city="36000", end="20260930"),
        boundary_row("4", "66044-1000", "66044-1999", city="36000", districts=("00200",), begin="20261001"),
        *plain_boundary()[2:],
        boundary_row("Z", "66051", begin="20261001"),
    ]


def test_a_change_file_after_a_full_file_is_the_full_file_of_the_later_state(tmp_path: Path) -> None:
    """Only rows that are new or altered stand in the change file; a row of the same key and first day is replaced."""
    add(tmp_path / "own", *standard(tmp_path / "a"))
    changes = (
        write(tmp_path / "b", NEXT_RATES, [row for row in later_rates() if row not in plain_rates()]),
        write(
            tmp_path / "b", NEXT_BOUNDARY, [row for row in later_boundary() if row not in plain_boundary()]
        ),
    )
    add(tmp_path / "own", *changes, change=True)
    add(tmp_path / "whole", *standard(tmp_path / "c", later_rates(), later_boundary()))
    for day in (BEFORE, AFTER):
        assert held(tmp_path / "own", CODES, day) == held(tmp_path / "whole", CODES, day)
    assert held(tmp_path / "own", CODES, BEFORE) != held(tmp_path / "own", CODES, AFTER)
    (state,) = read_index(tmp_path / "own" / "local" / "index.toml")
    assert [(file.name, file.change) for file in state.files] == [
        (RATES, False), (BOUNDARY, False), (NEXT_RATES, True), (NEXT_BOUNDARY, True),
    ]  # fmt: skip


def test_a_change_file_that_leaves_the_earlier_row_open_is_refused(tmp_path: Path) -> None:
    """Which of the two holds is not guessed."""
    add(tmp_path / "own", *standard(tmp_path / "a"))
    path = write(tmp_path, NEXT_RATES, [rate_row(*STATE), rate_row("00", "045", "0.015", begin="20261001")])
    assert refused(tmp_path / "own", path, change=True) == "E567"


@pytest.mark.parametrize(("full", "change", "message"), [
    ("0.065", "0.02", ""),
    ("6.5", "2.0", ""),
    ("6.5", "0.02", "E583"),
    ("0.065", "2.0", "E583"),
    ("0.065", "0.25", "E583"),
])  # fmt: skip
def test_a_change_file_without_the_row_of_the_state_is_in_the_unit_of_the_full_file(
    tmp_path: Path, full: str, change: str, message: str
) -> None:
    """Where its rates make sense in that unit; 25 percent is no local rate, 0.02 may be a fraction."""
    add(tmp_path / "own", write(tmp_path, RATES, [rate_row("45", "20", full)]))
    path = write(tmp_path, NEXT_RATES, [rate_row("00", "045", change)])
    if message:
        assert refused(tmp_path / "own", path, change=True) == message
        return
    (added,) = add(tmp_path / "own", path, change=True)
    add(tmp_path / "own", write(tmp_path, BOUNDARY, [boundary_row("Z", "66044")]))
    assert held(tmp_path / "own", ["66044"]) == [(5, 85_000, 85_000)]
    assert added.new[0].unit == ("fraction" if full == "0.065" else "percent")


def test_a_change_file_needs_something_to_change(tmp_path: Path) -> None:
    rates, spans = standard(tmp_path)
    assert refused(tmp_path / "own", rates, spans, change=True) == "E571"
    add(tmp_path / "own", rates)
    assert refused(tmp_path / "own", spans, change=True) == "E571"


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    add(tmp_path / "own", *standard(tmp_path / "a"))
    later = standard(tmp_path / "b", later_rates(), later_boundary())
    assert refused(tmp_path / "own", *later) == "E610"
    assert refused(tmp_path / "own", *standard(tmp_path / "a")) == "E570"
    own = simple(tmp_path, "KS,66044,8.25,2026-01-01,,x")
    assert refused(tmp_path / "own", own) == "E610"
    add(tmp_path / "own", *later, overwrite=True)
    assert held(tmp_path / "own", ["66051"], AFTER) == [(5, 80_000, 80_000)]
    add(tmp_path / "own", own, overwrite=True)
    assert held(tmp_path / "own", ["66044", "66051"], AFTER) == [(5, 82_500, 82_500), None]
    (state,) = read_index(tmp_path / "own" / "local" / "index.toml")
    assert [file.name for file in state.files] == ["own.csv"]
    folders = [path.name for path in (tmp_path / "own" / "local").iterdir() if path.is_dir()]
    assert folders == [state.folder]


def test_files_that_say_the_same_stand_in_the_place_of_each_other(tmp_path: Path) -> None:
    """The folder in use is never cleared away for its own twin; only the index changes."""
    add(tmp_path / "own", simple(tmp_path, "CO,80202,8.81,2026-01-01,,x"))
    before = contents(tmp_path / "own")
    add(tmp_path / "own", simple(tmp_path, "CO,80202,8.810,2026-01-01,,y", name="again.csv"), overwrite=True)
    after = contents(tmp_path / "own")
    assert set(before) == set(after)
    assert {name for name in before if before[name] != after[name]} == {"local/index.toml"}
    assert held(tmp_path / "own", ["80202"], state="US-CO") == [(5, 88_100, 88_100)]


def test_states_are_added_one_after_the_other(tmp_path: Path) -> None:
    """A new state leaves the others alone, and rows keep their numbers apart."""
    add(tmp_path / "own", *standard(tmp_path))
    before = held(tmp_path / "own", CODES)
    rows = ["CO,80202,8.81,2026-01-01,,x", "AL,36101,10,2026-01-01,,y"]
    add(tmp_path / "own", simple(tmp_path, *rows))
    assert held(tmp_path / "own", CODES) == before
    assert held(tmp_path / "own", ["80202"], state="US-CO") == [(5, 88_100, 88_100)]
    assert held(tmp_path / "own", ["36101"], state="US-AL") == [(5, 100_000, 100_000)]


def test_files_of_different_layouts_are_not_mixed(tmp_path: Path) -> None:
    own = simple(tmp_path, "KS,66044,8.25,2026-01-01,,x")
    assert refused(tmp_path / "own", *standard(tmp_path), own) == "E581"


def test_more_files_than_can_be_told_apart_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("taxcalc.local_rates.add.MOST_FILES", 1)
    assert refused(tmp_path / "own", *standard(tmp_path)) == "E580"


def test_more_zones_than_can_be_told_apart_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("taxcalc.local_rates.add.most_zones", lambda *_: 3)
    assert refused(tmp_path / "own", *standard(tmp_path)) == "E575"


def test_ranges_over_whole_states_many_times_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("taxcalc.local_rates.pieces.MOST", 1000)
    spans = [boundary_row("A", "66044"), boundary_row("Z", "66000", "67999")]
    assert refused(tmp_path / "own", *standard(tmp_path, spans=spans)) == "E576"


def test_what_cannot_be_written_leaves_the_store_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full when the index is to be replaced."""
    add(tmp_path / "own", *standard(tmp_path / "a"))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write_module, "_write_index", full)
    own = simple(tmp_path, "CO,80202,8.81,2026-01-01,,x")
    assert refused(tmp_path / "own", own) == "E609"
    assert refused(tmp_path / "fresh", own) == "E609"
    assert not (tmp_path / "fresh" / "local").exists()


def test_a_folder_of_somebody_else_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "own" / "local").mkdir(parents=True)
    (tmp_path / "own" / "local" / "mine.txt").write_text("x", encoding="utf-8")
    assert refused(tmp_path / "own", *standard(tmp_path)) == "E602"


def test_what_a_killed_run_left_is_cleared_away(tmp_path: Path) -> None:
    """Folders that the index does not name go with the next file; anything else in there stays."""
    add(tmp_path / "own", *standard(tmp_path))
    left = tmp_path / "own" / "local" / "US-CO-0123abcd"
    left.mkdir()
    (left / "held.parquet").write_bytes(b"x")
    other = tmp_path / "own" / "local" / "notes"
    other.mkdir()
    add(tmp_path / "own", simple(tmp_path, "CO,80202,8.81,2026-01-01,,x"))
    assert (left.exists(), other.exists()) == (False, True)


@pytest.mark.parametrize("part", ["where", "held", "rates", "spans"])
def test_a_damaged_file_is_found_and_never_used(tmp_path: Path, part: str) -> None:
    add(tmp_path / "own", *standard(tmp_path))
    assert audited(tmp_path / "own", "")[1] == []
    (path,) = (tmp_path / "own" / "local").glob(f"*/{part}.parquet")
    path.write_bytes(path.read_bytes()[:-1] + b"?")
    assert [(each.id, each.file) for each in audited(tmp_path / "own", "")[1]] == [("E573", str(path))]
    if part in ("where", "held"):
        with pytest.raises(Refusal, match="E573"):
            held(tmp_path / "own", CODES)
    path.unlink()
    assert [each.id for each in audited(tmp_path / "own", "")[1]] == ["E573"]


@pytest.mark.parametrize("text", ["", "edition = 2\n", "edition = 1\n[[state]]\nplace = 1\n", "?", "\x00"])
def test_an_index_that_was_not_written_by_us_is_refused(tmp_path: Path, text: str) -> None:
    add(tmp_path / "own", *standard(tmp_path))
    (tmp_path / "own" / "local" / "index.toml").write_text(text, encoding="utf-8")
    with pytest.raises(Refusal, match="E574"):
        store_in(tmp_path / "own")
    with pytest.raises(Refusal, match="E574"):
        load_tables(tmp_path / "own")
    assert [each.id for each in audited(tmp_path / "own", "")[1]] == ["E574"]


def test_a_count_that_the_index_has_wrong_is_found(tmp_path: Path) -> None:
    add(tmp_path / "own", *standard(tmp_path))
    path = tmp_path / "own" / "local" / "index.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("held = 4\n", "held = 5\n", 1), encoding="utf-8")
    assert [each.id for each in audited(tmp_path / "own", "")[1]] == ["E573"]


def test_a_state_without_newer_files_for_long_is_found(tmp_path: Path) -> None:
    add(tmp_path / "own", *standard(tmp_path))
    assert audited(tmp_path / "own", "2026-11-25")[1] == []
    assert [each.id for each in audited(tmp_path / "own", "2026-11-26")[1]] == ["E582"]


@given(name=st.text(st.characters(exclude_categories=["Cs"]), max_size=20), number=st.integers(0, 2**40))
def test_the_index_is_read_as_it_was_written(name: str, number: int) -> None:
    """Whatever a file is called."""
    file = AddedFile(
        bit=1, name=name, layout="simple CSV", sha256="0" * 64, change=True, unit="", rows=number, set_aside=0, first_day="",
        added_on="2026-11-25", sources=[name, "x"],
    )  # fmt: skip
    hashes = dict.fromkeys(("where", "held", "rates", "spans"), "1" * 64)
    state = AddedState("US-KS", "US-KS-0", hashes, 1, number, 1, "", "", [file])

    class Path:
        """A path to the text just written."""

        def read_text(self, encoding: str) -> str:
            """Give it."""
            assert encoding == "utf-8"
            return index_text([state])

    assert read_index(Path()) == [state]  # type: ignore[arg-type]


def test_names_of_rows_tell_file_hash_and_day(tmp_path: Path) -> None:
    rates, spans = standard(tmp_path)
    (added,) = add(tmp_path / "own", rates, spans)
    store = store_in(tmp_path / "own")
    assert store is not None
    hashes = [file.sha256[:8] for file in added.new]
    expected = f"own:us/local:US-KS/zip/{RATES}@{hashes[0]}/{BOUNDARY}@{hashes[1]}:2020-01-01"
    assert store.row_ids(np.array([0, -1])).tolist() == [expected, ""]
    assert store.is_own(np.array([0, -1])).tolist() == [True, False]
    assert store.sources(np.array([0, -1])) == {"sst-rate-boundary-files"}
    assert store.basis(np.array([0, -1])).tolist() == [1, 0]


# Laws


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_order_and_cut_of_the_files_change_nothing(tmp_path: Path, data: st.DataObject) -> None:
    """Rows shuffled, and every file cut into two: every code has the same on every day."""
    rows = data.draw(invented_rows())
    shuffled = random.Random(data.draw(st.integers(0, 999)))  # noqa: S311 - a shuffle, seeded by the test
    at = data.draw(st.integers(1, 3))
    folder = tmp_path / str(len(list(tmp_path.iterdir())))
    add(folder / "plain", *standard(folder, *rows))
    parts = []
    for name, some in zip((RATES, BOUNDARY), rows, strict=True):
        mixed = shuffled.sample(some, len(some))
        if name == RATES:
            mixed = [row for row in mixed if row.startswith("20,45")] + [
                row for row in mixed if not row.startswith("20,45")
            ]
            parts.append(write(folder / "b", f"{name}.a", mixed[:1]))
            parts.append(
                write(
                    folder / "b",
                    f"{name}.b",
                    [mixed[0].replace("20200101", "20190101").replace(OPEN, "20191231"), *mixed[1:]],
                )
            )
        else:
            parts += [
                write(folder / "b", f"{name}.a", mixed[:at]),
                write(folder / "b", f"{name}.b", mixed[at:]),
            ]
    add(folder / "mixed", *parts)
    codes = ["66044", "66045", "66046", *(f"66044-{number:04}" for number in range(0, 60, 7))]
    for day in (date(2020, 1, 1), date(2023, 7, 1), date(2026, 6, 30), date(2026, 7, 1)):
        assert held(folder / "plain", codes, day) == held(folder / "mixed", codes, day)
    shutil.rmtree(folder)


@st.composite
def invented_rows(draw: st.DrawFn) -> tuple[list[str], list[str]]:
    """A rate file and a boundary file that agree, of a few jurisdictions, ranges and changes."""
    rates = [rate_row(*STATE)]
    for kind, code in (("00", "045"), ("01", "36000"), ("63", "00123")):
        first, second = (draw(st.sampled_from(["0.01", "0.015", "0.02"])) for _ in range(2))
        rates += [rate_row(kind, code, first, end="20260630"), rate_row(kind, code, second, begin="20260701")]
    spans = [boundary_row("Z", "66044"), boundary_row("Z", "66045", "66046", city="36000")]
    edges = sorted(draw(st.sets(st.integers(0, 60), min_size=4, max_size=8)))
    for low, high in pairwise(edges):
        city = draw(st.sampled_from(["", "36000"]))
        districts = draw(st.sampled_from([(), ("00123",)]))
        changed = draw(st.booleans())
        ends = [("20200101", "20230630"), ("20230701", OPEN)] if changed else [("20200101", OPEN)]
        for begin, end in ends:
            spans.append(
                boundary_row(
                    "4",
                    f"66044-{low:04}",
                    f"66044-{high - 1:04}",
                    city=city,
                    districts=districts,
                    begin=begin,
                    end=end,
                )
            )
            city = "" if city else "36000"
    return rates, spans


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=invented_rows(), code=st.integers(0, 60), day=st.sampled_from([date(2020, 1, 1), date(2023, 6, 30),
       date(2023, 7, 1), date(2026, 6, 30), date(2026, 7, 1)]))  # fmt: skip
def test_what_the_store_says_is_what_adding_up_row_by_row_says(
    tmp_path: Path, rows: tuple[list[str], list[str]], code: int, day: date
) -> None:
    """A slow reading of the layout, one row after the other, in plain Python."""
    folder = tmp_path / str(len(list(tmp_path.iterdir())))
    add(folder, *standard(folder / "in", *rows))
    written = day.strftime("%Y%m%d")
    rates = {
        (cells[1], cells[2]): round(float(cells[4]) * 1_000_000)
        for cells in (row.split(",") for row in rows[0])
        if cells[7] <= written <= cells[8]
    }
    inside: list[int] = []
    exact: list[int] = []
    for cells in (row.split(",") for row in rows[1]):
        if not (cells[1] <= written <= cells[2]) or not cells[17] <= "66044" <= cells[19]:
            continue
        parts = [
            ("45", "20"),
            ("00", cells[22]),
            ("01", cells[23]),
            *zip(cells[29::3], cells[28::3], strict=False),
        ]
        total = sum(rates[part] for part in parts if part[1])
        inside.append(total)
        if cells[0] == "4" and int(cells[18]) <= code <= int(cells[20]):
            exact.append(total)
    expected = (4, exact[0], exact[0]) if exact else (5, min(inside), max(inside))
    assert held(folder, [f"66044-{code:04}"], day) == [expected]
    shutil.rmtree(folder)


@pytest.mark.parametrize("size", [64, 100, 1000])
def test_the_size_of_blocks_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: int
) -> None:
    """Records are cut at their ends only, also where a line end stands inside quotes."""
    rows = [*plain_boundary(), boundary_row("A", "66047", street='"OLD\nROAD, 1"', city="36000")]
    add(tmp_path / "whole", *standard(tmp_path, spans=rows))
    monkeypatch.setattr(rate_files_module.blocks, "__kwdefaults__", {"skip": 0, "size": size})
    add(tmp_path / "cut", *standard(tmp_path, spans=rows))
    assert held(tmp_path / "cut", CODES) == held(tmp_path / "whole", CODES)
    assert held(tmp_path / "cut", ["66047"]) == [(5, 77_500, 93_000)]
