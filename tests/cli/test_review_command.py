"""`taxcalc review` and `taxcalc demo`: what they ask for and how they end; the figures are tested elsewhere.

The assessment and the writers are replaced by recorders, so that only the command line is tested.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from taxcalc.cli import demo, main
from taxcalc.cli.progress import progress

RECORD = {"caution": "c", "places": [{"place": "US-TX", "name": "Telefónica"}]}


@dataclass
class Recorder:
    """Stands for the assessment: notes what it was asked, and gives a fixed record."""

    set_aside_faults: int = 0
    asked: list[dict[str, Any]] = field(default_factory=list)
    happened: list[str] = field(default_factory=list)

    def assess(self, orders: list[str], seller: Path, **asked: Any) -> Recorder:  # noqa: ANN401 - as passed
        """Note the call."""
        assert callable(asked.pop("progress"))
        self.asked.append({"orders": orders, "seller": seller, **asked})
        return self

    def record(self) -> dict[str, Any]:
        """Give the record."""
        return RECORD

    def write_folder(self, assessment: Recorder, out: Path) -> list[Path]:
        """Note that the folder was written."""
        assert assessment is self
        self.happened.append(f"folder {out}")
        return [out / "record.json"]

    def print_review(self, record: dict[str, Any], *, whole: bool = False) -> None:
        """Print something."""
        assert record is RECORD
        self.happened.append("print all" if whole else "print")
        click.echo("the review")


@pytest.fixture
def recorder(monkeypatch: pytest.MonkeyPatch) -> Recorder:
    """Put a recorder in the place of the assessment and of the writers."""
    it = Recorder()
    for module, names in {
        "taxcalc.run": ["assess"],
        "taxcalc.reports.folder": ["write_folder"],
        "taxcalc.reports.terminal": ["print_review"],
    }.items():
        fake = ModuleType(module)
        for name in names:
            setattr(fake, name, getattr(it, name))
        monkeypatch.setitem(sys.modules, module, fake)
    return it


def review(*arguments: str) -> Result:
    """Run the command on two order files."""
    return CliRunner().invoke(main, ["review", "a.csv", "-", "--seller", "s.toml", *arguments])


def test_everything_asked_is_passed_on(recorder: Recorder) -> None:
    """Every option reaches the assessment in the form it takes."""
    done = review("--columns", "c.toml", "--tables", "own", "--quarter", "2026-Q3", "--as-of", "2026-10-05")
    assert (done.exit_code, done.stdout, done.stderr) == (0, "the review\n", "")
    assert recorder.asked == [
        {
            "orders": ["a.csv", "-"],
            "seller": Path("s.toml"),
            "columns": Path("c.toml"),
            "tables": Path("own"),
            "as_of": date(2026, 10, 5),
            "period": "2026-Q3",
        }
    ]


def test_left_out_is_none(recorder: Recorder) -> None:
    """The defaults are the assessment's own."""
    assert review().exit_code == 0
    assert {recorder.asked[0][name] for name in ("columns", "tables", "as_of", "period")} == {None}
    assert recorder.happened == ["print"]


def test_the_whole_review_is_printed_on_request(recorder: Recorder) -> None:
    """What is written into a folder is whole in any case."""
    assert review("--full").exit_code == 0
    assert recorder.happened == ["print all"]


def test_a_period_of_days(recorder: Recorder) -> None:
    """Both days are inclusive; a single day is a period."""
    assert review("--from", "2026-07-01", "--to", "2026-07-01").exit_code == 0
    assert recorder.asked[0]["period"] == (date(2026, 7, 1), date(2026, 7, 1))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--quarter", "2026-Q3", "--from", "2026-07-01", "--to", "2026-09-30"], "not both"),
        (["--quarter", "2026-Q3", "--to", "2026-09-30"], "not both"),
        (["--from", "2026-07-01"], "give both"),
        (["--to", "2026-07-01"], "give both"),
        (["--from", "2026-07-02", "--to", "2026-07-01"], "is before"),
    ],
)
def test_a_period_asked_for_in_two_ways_is_2(recorder: Recorder, arguments: list[str], words: str) -> None:
    """Nothing is computed for a question that contradicts itself."""
    done = review(*arguments)
    assert done.exit_code == 2
    assert words in done.stderr
    assert recorder.asked == []


def test_json_is_one_document_with_plain_letters(recorder: Recorder) -> None:
    """The text report is not printed beside it."""
    done = review("--json")
    assert json.loads(done.stdout) == RECORD
    assert done.stdout == json.dumps(RECORD, ensure_ascii=False, indent=1) + "\n"
    assert recorder.happened == []


def test_the_folder_is_written_before_anything_is_printed(recorder: Recorder) -> None:
    """A folder that cannot be written must leave stdout empty."""
    done = review("--out", "out")
    assert recorder.happened == ["folder out", "print"]
    assert done.stderr == f"wrote {Path('out/record.json')}\n"


def test_rows_set_aside_are_4(recorder: Recorder) -> None:
    """The answer is printed all the same."""
    recorder.set_aside_faults = 2
    done = review()
    assert (done.exit_code, done.stdout) == (4, "the review\n")


def test_strict_makes_rows_set_aside_a_3(recorder: Recorder) -> None:
    """And nothing is written or printed."""
    recorder.set_aside_faults = 2
    done = review("--strict", "--out", "out")
    assert (done.exit_code, done.stdout, recorder.happened) == (3, "", [])
    assert "rows that would have to be: 2." in done.stderr
    recorder.set_aside_faults = 0
    assert review("--strict").exit_code == 0


def test_demo_pins_its_day(recorder: Recorder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo says the same today and next year."""
    (tmp_path / "demo.toml").write_text(
        'as_of = 2026-10-05\nperiod = "2026-Q3"\norders = ["a.csv", "b.csv"]\n'
        'seller = "s.toml"\ncolumns = "c.toml"\n',
        encoding="utf-8",
    )
    monkeypatch.setattr(demo, "examples", lambda: tmp_path)
    done = CliRunner().invoke(main, ["demo"])
    assert (done.exit_code, done.stdout) == (0, "the review\n")
    assert recorder.asked == [
        {
            "orders": [str(tmp_path / "a.csv"), str(tmp_path / "b.csv")],
            "seller": tmp_path / "s.toml",
            "columns": tmp_path / "c.toml",
            "as_of": date(2026, 10, 5),
            "period": "2026-Q3",
        }
    ]
    assert recorder.happened == ["folder taxcalc-demo", "print"]


class Screen:
    """A terminal that keeps what was written."""

    def __init__(self, *, is_terminal: bool) -> None:
        """Begin empty."""
        self.is_terminal = is_terminal
        self.text = ""

    def isatty(self) -> bool:
        """Tell whether somebody is looking."""
        return self.is_terminal

    def write(self, text: str) -> None:
        """Keep the text."""
        self.text += text

    def flush(self) -> None:
        """Nothing is held back."""


def shown(monkeypatch: pytest.MonkeyPatch, *, is_terminal: bool) -> str:
    """Give what is on the screen after work at 0.5, 1.5, 1.55 and 1.7 seconds."""
    screen = Screen(is_terminal=is_terminal)
    monkeypatch.setattr(sys, "stderr", screen)
    times = iter([0.0, 0.5, 1.5, 1.55, 1.7])
    with progress(lambda: next(times)) as show:
        for words in ("early", "first", "too soon", "second"):
            show(words)
    return screen.text


def test_progress_waits_a_second_and_wipes_itself_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Short work shows nothing, long work leaves nothing."""
    assert shown(monkeypatch, is_terminal=True) == "\r\x1b[2Kfirst\r\x1b[2Ksecond\r\x1b[2K"


def test_progress_is_silent_in_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    """A log file is no screen."""
    assert shown(monkeypatch, is_terminal=False) == ""
