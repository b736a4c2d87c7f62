"""The output folder: whole or not at all, never over a file of others, one run at a time, identical bytes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from invented_record import a_record

from taxcalc.caution import CAUTION, Figures
from taxcalc.errors import Refusal
from taxcalc.reports import folder
from taxcalc.reports.folder import FILES, write_folder
from taxcalc.reports.lock import only_run
from taxcalc.reports.marker import NAME, sha256

ASIDE = ("file", "row", "column", "value", "reason", "mend")


class Assessed:
    """An assessment of invented figures."""

    def __init__(self, *inputs: Path, currency: str = "USD") -> None:
        """Remember what was read."""
        self.inputs = list(inputs)
        self.currency = currency

    def record(self) -> dict[str, Any]:
        """Give the record."""
        return a_record(currency=self.currency)

    def usual_order(self) -> dict[str, Any] | None:
        """Give no order: there are no lines."""
        return None

    def figures(self, name: str) -> Figures:
        """Give a small table."""
        frames = {"set_aside": pd.DataFrame({column: ["2"] for column in ASIDE})}
        plain = pd.DataFrame({"place": ["US-TX"], "sales": ["12.00"], "currency": [self.currency]})
        return Figures(name, frames.get(name, plain))


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Name a folder that is not there."""
    return tmp_path / "review"


def contents(place: Path) -> dict[str, bytes]:
    """Give every file of a folder, at any depth."""
    return {str(path.relative_to(place)): path.read_bytes() for path in place.rglob("*") if path.is_file()}


def refused(assessed: Assessed, out: Path, message_id: str) -> Refusal:
    """Write, expect a refusal, and see that nothing around changed or was left."""
    before = contents(out.parent)
    with pytest.raises(Refusal) as caught:
        write_folder(assessed, out)
    assert caught.value.complaint.id == message_id
    assert contents(out.parent) == before
    return caught.value


def test_the_files_and_the_marker_are_written(out: Path) -> None:
    """The marker lists each file with its hash; nothing is left beside the folder."""
    paths = write_folder(Assessed(), out)
    assert paths == [out / name for name in (*FILES, NAME)]
    listed = json.loads((out / NAME).read_text(encoding="utf-8"))["files"]
    assert listed == {name: sha256(out / name) for name in FILES}
    assert sorted(path.name for path in out.iterdir()) == sorted((*FILES, NAME))
    assert [path.name for path in out.parent.iterdir()] == ["review"]


def test_every_file_carries_the_caution(out: Path) -> None:
    """Whichever is sent on alone."""
    write_folder(Assessed(), out)
    for name in FILES:
        assert CAUTION in " ".join((out / name).read_text(encoding="utf-8").split())


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    """In any folder, at any time, and when written over."""
    write_folder(Assessed(), tmp_path / "a")
    write_folder(Assessed(), tmp_path / "deep" / "er" / "b")
    first = contents(tmp_path / "a")
    assert contents(tmp_path / "deep" / "er" / "b") == first
    write_folder(Assessed(), tmp_path / "a")
    assert contents(tmp_path / "a") == first
    assert not [
        content for content in first.values() if str(tmp_path).encode() in content or b"\r" in content
    ]


def test_our_own_files_are_replaced(out: Path) -> None:
    """A later review of the same shop."""
    write_folder(Assessed(), out)
    write_folder(Assessed(currency="EUR"), out)
    assert json.loads((out / "record.json").read_text(encoding="utf-8"))["currency"] == "EUR"
    assert [path.name for path in out.parent.iterdir()] == ["review"]


def test_a_file_of_ours_that_was_deleted_is_written_again(out: Path) -> None:
    """Nothing is lost by that."""
    write_folder(Assessed(), out)
    (out / "places.csv").unlink()
    write_folder(Assessed(), out)
    assert (out / "places.csv").exists()


def test_an_empty_folder_is_filled_and_keeps_its_rights(out: Path) -> None:
    """Made by the user, who knows who may look in."""
    out.mkdir(mode=0o700)
    write_folder(Assessed(), out)
    assert (out / "record.json").exists()
    if os.name == "posix":
        assert out.stat().st_mode & 0o777 == 0o700


def test_a_link_to_a_folder_stays_a_link(out: Path) -> None:
    """The files go where it points to."""
    real = out.parent / "real"
    real.mkdir()
    out.symlink_to(real, target_is_directory=True)
    write_folder(Assessed(), out)
    assert out.is_symlink()
    assert (real / "record.json").exists()


def test_a_file_of_that_name_is_refused(out: Path) -> None:
    """It is no folder."""
    out.write_text("mine", encoding="utf-8")
    assert refused(Assessed(), out, "E601").exit_code == 6


def test_a_folder_without_our_marker_is_refused(out: Path) -> None:
    """Even if its files have the names of ours."""
    out.mkdir()
    (out / "places.csv").write_text("mine", encoding="utf-8")
    assert refused(Assessed(), out, "E602").exit_code == 6


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"files": 3}', '{"files": ["a"]}', "\x00"])
def test_a_marker_that_cannot_be_read_is_refused(out: Path, text: str) -> None:
    """What it would list is not known."""
    write_folder(Assessed(), out)
    (out / NAME).write_text(text, encoding="utf-8")
    assert refused(Assessed(), out, "E603").exit_code == 6


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_the_user_changed_is_refused(out: Path, name: str) -> None:
    """Notes in the margin are not overwritten."""
    write_folder(Assessed(), out)
    with (out / name).open("a", encoding="utf-8") as file:
        file.write("my note\n")
    refusal = refused(Assessed(), out, "E604")
    assert refusal.complaint.file == str(out / name)


def test_a_file_of_somebody_else_is_refused(out: Path) -> None:
    """Whatever its name; the message names it."""
    write_folder(Assessed(), out)
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    refusal = refused(Assessed(), out, "E605")
    assert refusal.complaint.file == str(out / "notes.txt")
    (out / "notes.txt").unlink()
    (out / "mine").mkdir()
    refused(Assessed(), out, "E605")


def test_a_link_in_the_place_of_our_file_is_refused(out: Path) -> None:
    """Even with the right contents: it is not what we wrote."""
    write_folder(Assessed(), out)
    (out / "review.txt").rename(out.parent / "elsewhere.txt")
    (out / "review.txt").symlink_to(out.parent / "elsewhere.txt")
    refused(Assessed(), out, "E605")


def test_a_folder_that_holds_an_input_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As the folder itself, inside it, through a link or as `.`."""
    shop = tmp_path / "shop"
    (shop / "in").mkdir(parents=True)
    orders = shop / "in" / "orders.csv"
    orders.write_text("x", encoding="utf-8")
    (tmp_path / "link").symlink_to(shop, target_is_directory=True)
    for place in (shop, shop / "in", orders, tmp_path / "link"):
        assert refused(Assessed(orders), place, "E606").exit_code == 6
    monkeypatch.chdir(shop)
    refused(Assessed(Path("in/orders.csv")), Path(), "E606")
    write_folder(Assessed(orders), shop / "out")
    write_folder(Assessed(Path("-")), shop / "out")


def test_a_full_disk_leaves_the_earlier_output(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At whichever file it happens."""
    write_folder(Assessed(), out)

    def full(path: Path) -> None:
        if path.name == "review.txt":
            raise OSError(28, "No space left on device", str(path))

    monkeypatch.setattr(folder, "_to_disk", full)
    refusal = refused(Assessed(currency="EUR"), out, "E609")
    assert refusal.exit_code == 6
    assert "no space left on device" in str(refusal)
    assert str(out) in str(refusal)


@pytest.mark.parametrize("fault", [KeyboardInterrupt, ValueError])
def test_a_run_that_is_stopped_leaves_nothing_behind(
    out: Path, monkeypatch: pytest.MonkeyPatch, fault: type[BaseException]
) -> None:
    """Neither half a folder nor a lock."""
    write_folder(Assessed(), out)
    before = contents(out.parent)

    def stop(_: object) -> str:
        raise fault

    monkeypatch.setattr(folder, "json_text", stop)
    with pytest.raises(fault):
        write_folder(Assessed(currency="EUR"), out)
    assert contents(out.parent) == before


def test_a_rename_that_fails_puts_the_earlier_folder_back(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The moment in which neither stands in its place."""
    write_folder(Assessed(), out)
    rename = Path.rename

    def fail(self: Path, target: Path) -> Path:
        if self.name.endswith("-new"):
            raise OSError(13, "Permission denied", str(self))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    refused(Assessed(currency="EUR"), out, "E609")


def test_a_run_that_was_killed_between_the_renames_is_mended(out: Path) -> None:
    """The earlier folder comes back before anything else is done."""
    write_folder(Assessed(), out)
    out.rename(out.parent / ".review.taxcalc-old")
    half = out.parent / ".review.taxcalc-new"
    half.mkdir()
    (half / "record.json").write_text("{", encoding="utf-8")
    write_folder(Assessed(currency="EUR"), out)
    assert json.loads((out / "record.json").read_text(encoding="utf-8"))["currency"] == "EUR"
    assert [path.name for path in out.parent.iterdir()] == ["review"]


def test_a_folder_that_may_not_be_written_is_named(out: Path) -> None:
    """A place under a file can never be a folder."""
    out.write_text("mine", encoding="utf-8")
    assert "E609" in str(refused(Assessed(), out / "below", "E609"))


def test_a_second_run_on_the_same_folder_is_refused(out: Path) -> None:
    """Until the first one is done."""
    with only_run(out):
        with pytest.raises(Refusal) as caught:
            write_folder(Assessed(), out)
        assert caught.value.complaint.id == "E801"
        assert caught.value.exit_code == 8
        assert not out.exists()
    write_folder(Assessed(), out)


HOLD = """
import sys, time
from pathlib import Path
from taxcalc.reports.lock import only_run
with only_run(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.mark.skipif(os.name != "posix", reason="kills a process")
def test_a_lock_of_a_dead_process_is_taken_over(out: Path) -> None:
    """It holds while the process lives, and not a moment longer."""
    root = Path(__file__).parents[2]
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(out)],
        stdout=subprocess.PIPE,
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        with pytest.raises(Refusal, match="E801"):
            write_folder(Assessed(), out)
        other.send_signal(signal.SIGKILL)
    assert (out.parent / ".review.taxcalc-lock").exists()
    write_folder(Assessed(), out)
    assert [path.name for path in out.parent.iterdir()] == ["review"]


def test_files_are_not_dated_by_the_clock(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody asks what time it is."""
    monkeypatch.setattr(time, "time", lambda: pytest.fail("asked for the time"))
    write_folder(Assessed(), out)
