"""The temporary folder goes in every case: closed, forgotten, refused, killed."""

from __future__ import annotations

import gc
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from taxcalc.errors import Refusal
from taxcalc.intake import read_orders
from taxcalc.spool_folder import PREFIX, TemporaryFolder, remove_leftovers

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.tables.load import Tables

HOLD_AND_WAIT = """
import sys, time
from taxcalc.spool_folder import TemporaryFolder
folder = TemporaryFolder()
(folder.path / "bucket.arrow").write_bytes(b"lines")
print(folder.path, flush=True)
time.sleep(60)
"""


@pytest.fixture(autouse=True)
def _own_temporary_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the folders of this test apart from all others."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setenv("TMPDIR", str(tmp_path))


def left(tmp_path: Path) -> list[Path]:
    """List what is left."""
    return list(tmp_path.glob(f"{PREFIX}*"))


def test_a_forgotten_folder_goes(tmp_path: Path) -> None:
    """Without anybody closing it."""
    folder = TemporaryFolder()
    assert left(tmp_path) == [folder.path]
    del folder
    gc.collect()
    assert not left(tmp_path)


def test_a_refused_run_leaves_nothing(
    order_file: Callable[..., Path], tables: Tables, tmp_path: Path
) -> None:
    """The second file is refused after the first went through the folder."""
    good, bad = order_file({}), order_file({"currency": "?"}, name="bad.csv")
    with pytest.raises(Refusal):
        read_orders([good, bad], tables=lambda: tables, spool_limit=0)
    assert not left(tmp_path)


def test_standard_input_leaves_nothing(
    order_file: Callable[..., Path], tables: Tables, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copy goes as soon as it is read."""
    with order_file({}).open("rb") as file:
        monkeypatch.setattr("sys.stdin", type("Piped", (), {"buffer": file}))
        intake = read_orders("-", tables=lambda: tables)
    assert intake.spool.rows == 1
    assert not left(tmp_path)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_the_folder_of_a_killed_run_goes_with_the_next_and_that_of_a_living_one_stays(tmp_path: Path) -> None:
    """The lock of a dead process is free."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    other = subprocess.Popen(
        [sys.executable, "-c", HOLD_AND_WAIT], stdout=subprocess.PIPE, text=True, env=environment
    )
    with other:
        assert other.stdout is not None
        theirs = Path(other.stdout.readline().strip())
        remove_leftovers()
        assert left(tmp_path) == [theirs]
        other.kill()
        other.wait()
    remove_leftovers()
    assert not left(tmp_path)
