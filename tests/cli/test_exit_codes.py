"""The exit codes of the contract, and what goes to stdout and stderr with each."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from taxcalc.cli import main
from taxcalc.cli.run import run_command
from taxcalc.errors import Complaint, Refusal


def raises(error: BaseException) -> int:
    """Run a command that ends in the given exception."""

    def command() -> None:
        raise error

    return run_command(command)


@pytest.mark.parametrize(
    ("message_id", "code"),
    [("E301", 3), ("E501", 5), ("E540", 5), ("E601", 6), ("E701", 7), ("E801", 8)],
)
def test_a_refusal_ends_with_the_hundred_of_its_id(
    message_id: str,
    code: int,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The complaint is on stderr, stdout is empty."""
    assert raises(Refusal(Complaint(message_id, "it is so.", "Do this.", "orders.csv", 7))) == code
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == f"{message_id} orders.csv, row 7: it is so. Do this.\n"


def test_ten_complaints_are_shown_and_the_rest_counted(capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody reads 300 lines; the count tells how much is left."""
    many = [Complaint("E301", f"number {n}.", "") for n in range(13)]
    assert raises(Refusal(many[0], tuple(many[1:]))) == 3
    lines = capsys.readouterr().err.splitlines()
    assert lines[9] == "E301: number 9."
    assert lines[10:] == ["+ 3 more"]


def test_values_cannot_steer_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """An escape sequence from a file is shown, not obeyed."""
    raises(Refusal(Complaint("E301", "\x1b[2Jgone\u202e", "")))
    assert capsys.readouterr().err == "E301: \\x1b[2Jgone\\u202e\n"


def test_our_own_fault_is_one_sentence_and_a_log(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The user sees a sentence and a path; the details stand in the file."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert raises(ZeroDivisionError("inner detail")) == 1
    shown = capsys.readouterr()
    (log,) = (tmp_path / "taxcalc").iterdir()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert str(log) in shown.err
    assert "inner detail" not in shown.err
    assert "ZeroDivisionError: inner detail" in log.read_text(encoding="utf-8")


def test_a_log_that_cannot_be_written_goes_to_the_temporary_folder(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A state folder that is a file does not hide the fault."""
    blocked, spare = tmp_path / "state", tmp_path / "spare"
    blocked.write_text("", encoding="utf-8")
    spare.mkdir()
    monkeypatch.setenv("XDG_STATE_HOME", str(blocked))
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(spare))
    assert raises(ValueError("x")) == 1
    assert str(spare / "taxcalc") in capsys.readouterr().err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_stopped(error: BaseException, capsys: pytest.CaptureFixture[str]) -> None:
    """Ctrl-C is no fault and leaves no trace."""
    assert raises(error) == 130
    assert capsys.readouterr() == ("", "Stopped.\n")


@pytest.mark.parametrize(("given", "code"), [(None, 0), (0, 0), (4, 4)])
def test_the_code_a_command_gives(given: int | None, code: int) -> None:
    """Nothing said is done."""
    assert run_command(lambda: given) == code


@pytest.mark.parametrize(
    "arguments",
    [
        ["nonsense"],
        ["review"],
        ["review", "orders.csv"],
        ["review", "orders.csv", "--seller", "s.toml", "--nonsense"],
        ["review", "orders.csv", "--seller", "s.toml", "--quarter", "2026-Q5"],
        ["review", "orders.csv", "--seller", "s.toml", "--as-of", "31.12.2026"],
        ["intake"],
        ["start"],
    ],
)
def test_wrong_use_is_2(arguments: list[str]) -> None:
    """A wrong command or option is told apart from wrong files."""
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert "Usage:" in done.stderr


def test_a_closed_pipe_ends_quietly() -> None:
    """Reading only the first line of an answer is no fault."""
    code = (
        "import taxcalc.cli.run as r, sys, click\n"
        "sys.exit(r.run_command(lambda: [click.echo('line ' * 50) for _ in range(20000)] and None))"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        said = process.stderr.read()
        assert process.wait(timeout=30) == 0
    assert said == b""


HELD = """
import sys, time
from taxcalc.cli.run import run_command
from taxcalc.spool_folder import TemporaryFolder

def wait():
    folder = TemporaryFolder()
    print(folder.path, flush=True)
    time.sleep(60)

sys.exit(run_command(wait))
"""


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM"])
def test_a_stopped_run_ends_with_130_and_takes_its_folder_along(name: str) -> None:
    """Both ways of stopping a command end alike."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    pipe = subprocess.PIPE
    with subprocess.Popen(
        [sys.executable, "-c", HELD], stdout=pipe, stderr=pipe, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        folder = Path(process.stdout.readline().strip())
        assert folder.is_dir()
        process.send_signal(getattr(signal, name))
        said = process.communicate(timeout=30)
    assert (process.returncode, said) == (130, ("", "Stopped.\n"))
    assert not folder.exists()


def test_what_sigterm_did_before_it_does_again_after_a_command() -> None:
    """A program that runs a command inside itself keeps its own answer."""
    before = signal.getsignal(signal.SIGTERM)
    assert run_command(lambda: 0) == 0
    assert signal.getsignal(signal.SIGTERM) == before
