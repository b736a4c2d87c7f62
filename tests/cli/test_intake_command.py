"""What `taxcalc intake` shows and writes; reading itself is tested in tests/intake."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from click.testing import CliRunner, Result

from taxcalc.caution import CAUTION, Figures
from taxcalc.cli import main
from taxcalc.cli.intake_text import as_text, write_intake
from taxcalc.errors import Refusal
from taxcalc.start import write_start_folder

if TYPE_CHECKING:
    from pathlib import Path

TIE_OUT = {
    "rows_read": 12,
    "rows_used": 9,
    "rows_set_aside": 3,
    "by_reason": {"bad_date": 2, "exact_duplicate": 1},
    "amounts": {"USD": {"item_amount": {"read": "120.50", "used": "100.00", "set_aside": "20.50"}}},
    "caution": CAUTION,
}
FRAME = pd.DataFrame(
    {
        "file": ["a.csv", "a.csv"],
        "row": [3, 118],
        "column": ["ordered_on", ""],
        "value": ["=cmd|' /C calc'!A0", "x"],
        "reason": ["bad_date", "exact_duplicate"],
        "mend": ["Write it, as an ISO day.", "-"],
    }
)
SET_ASIDE = Figures("set_aside", FRAME)


def test_the_text_ties_out_and_carries_the_caution() -> None:
    """Every count, every amount, every reason in words, every note."""
    text = as_text(TIE_OUT, ["Days are read day first.", "\x1b[2Jbad"])
    lines = [" ".join(line.split()) for line in text.splitlines()]
    for line in (
        "rows read 12",
        "rows used 9",
        "rows set aside 3",
        "the value is no day of the calendar in ISO form 2",
        "USD item_amount 120.50 100.00 20.50",
        "- Days are read day first.",
        "- \\x1b[2Jbad",
    ):
        assert line in lines
    assert CAUTION in " ".join(lines)


def test_the_files_carry_the_caution_and_no_formula(tmp_path: Path) -> None:
    """A cell that a spreadsheet would run is disarmed; all else stays as it was."""
    text = as_text(TIE_OUT, [])
    assert write_intake(tmp_path / "out", text, SET_ASIDE) == [
        tmp_path / "out/intake.txt",
        tmp_path / "out/set_aside.csv",
        tmp_path / "out/taxcalc-folder.json",
    ]
    assert (tmp_path / "out/intake.txt").read_text(encoding="utf-8") == text
    rows = list(
        csv.DictReader(io.StringIO((tmp_path / "out/set_aside.csv").read_bytes().decode(), newline=""))
    )
    assert [row["row"] for row in rows] == ["3", "118"]
    assert [row["value"] for row in rows] == ["'=cmd|' /C calc'!A0", "x"]
    assert {row["caution"] for row in rows} == {CAUTION}


@pytest.mark.parametrize("frame", [FRAME, FRAME.iloc[:0]])
def test_a_second_run_replaces_its_own_files(tmp_path: Path, frame: pd.DataFrame) -> None:
    """Also where the first run had nothing to set aside."""
    out = tmp_path / "out"
    write_intake(out, as_text(TIE_OUT, []), Figures("set_aside", frame))
    write_intake(out, as_text(TIE_OUT, ["again"]), Figures("set_aside", frame))
    assert "again" in (out / "intake.txt").read_text(encoding="utf-8")
    assert sorted(path.name for path in out.iterdir()) == [
        "intake.txt",
        "set_aside.csv",
        "taxcalc-folder.json",
    ]


@pytest.mark.parametrize("name", ["intake.txt", "set_aside.csv"])
def test_a_file_of_somebody_else_is_never_replaced(tmp_path: Path, name: str) -> None:
    """Neither of the two is written then."""
    out = tmp_path / "out"
    out.mkdir()
    (out / name).write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal, match="E602"):
        write_intake(out, as_text(TIE_OUT, []), SET_ASIDE)
    assert [(path.name, path.read_text(encoding="utf-8")) for path in out.iterdir()] == [(name, "mine")]


def test_intake_and_review_take_turns_in_one_folder(shop: Path) -> None:
    """Each replaces the other's whole folder, and leaves nothing of it behind."""
    out, columns = shop / "out", ["--columns", str(shop / "columns.toml")]
    review = ["review", str(shop / "orders-example.csv"), *columns, "--seller", str(shop / "seller.toml")]
    for _ in range(2):
        assert CliRunner().invoke(main, [*review, "--out", str(out)]).exit_code == 0
        assert (out / "record.json").exists()
        assert not (out / "intake.txt").exists()
        assert intake(shop, "--out", str(out)).exit_code == 0
        assert (out / "intake.txt").exists()
        assert not (out / "record.json").exists()


def test_intake_writes_no_folder_that_holds_an_order_file(shop: Path) -> None:
    """Replacing it would take the orders away."""
    done = intake(shop, "--out", str(shop))
    assert (done.exit_code, (shop / "orders-example.csv").exists()) == (6, True)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Give a start folder."""
    write_start_folder(tmp_path / "shop")
    return tmp_path / "shop"


def intake(shop: Path, *arguments: str) -> Result:
    """Run the command on the example orders of a start folder."""
    columns = ["--columns", str(shop / "columns.toml")]
    return CliRunner().invoke(main, ["intake", str(shop / "orders-example.csv"), *columns, *arguments])


def test_the_start_folder_is_read_whole(shop: Path) -> None:
    """Every example row is used, and without --out nothing is written."""
    before = sorted(shop.rglob("*"))
    done = intake(shop)
    assert (done.exit_code, done.stderr) == (0, "")
    assert "rows used 7" in " ".join(done.stdout.split())
    assert sorted(shop.rglob("*")) == before


def test_a_row_set_aside_is_a_4(shop: Path) -> None:
    """It is counted by reason and listed with its row, column and value."""
    orders = shop / "orders-example.csv"
    orders.write_text(
        orders.read_text(encoding="utf-8").replace("2026-07-02", "2026-02-30"), encoding="utf-8"
    )
    done = intake(shop, "--out", str(shop / "out"))
    assert done.exit_code == 4
    assert "no day of the calendar" in done.stdout
    (row,) = csv.DictReader(io.StringIO((shop / "out/set_aside.csv").read_bytes().decode(), newline=""))
    assert (row["row"], row["column"], row["value"], row["reason"]) == (
        "3",
        "ordered_on",
        "2026-02-30",
        "bad_date",
    )


@pytest.mark.parametrize(
    ("file", "columns", "code"), [("none.csv", "columns.toml", 3), ("orders-example.csv", "none.toml", 5)]
)
def test_a_file_that_is_missing(shop: Path, file: str, columns: str, code: int) -> None:
    """A missing order file is told apart from a missing map."""
    done = CliRunner().invoke(main, ["intake", str(shop / file), "--columns", str(shop / columns)])
    assert (done.exit_code, done.stdout) == (code, "")
    assert file in done.stderr or columns in done.stderr


def test_a_folder_that_cannot_be_made_is_a_6(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal) as caught:
        write_intake(tmp_path / "out", as_text(TIE_OUT, []), SET_ASIDE)
    assert caught.value.exit_code == 6
