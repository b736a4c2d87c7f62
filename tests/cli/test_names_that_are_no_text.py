"""File and folder names with bytes that are no UTF-8, as old archives leave behind: read and written like any other."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from taxcalc.start import write_start_folder

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Put an order file with one row to set aside into a folder, both with a byte of Latin-1 in their names."""
    folder = tmp_path_factory.mktemp("odd") / os.fsdecode(b"caf\xe9")
    try:
        folder.mkdir()
    except OSError:
        pytest.skip("this file system takes text only")
    write_start_folder(folder / "shop")
    lines = (folder / "shop" / "orders-example.csv").read_text(encoding="utf-8").splitlines()
    lines[-1] = lines[-1].replace(lines[-1].split(",")[0], "", 1)
    orders = folder / os.fsdecode(b"r\xe9sum\xe9.csv")
    orders.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["review", "ORDERS", "--seller", "SELLER", "--out", "review"], 4),
        (["handoff", "ORDERS", "--seller", "SELLER", "--out", "handoff"], 4),
        (["intake", "ORDERS", "--out", "intake"], 4),
        (["review", "ORDERS", "--seller", "SELLER", "--json"], 4),
    ],
)
def test_they_are_read_and_written(odd: Path, words: list[str], expected: int) -> None:
    """The exit code is that of the rows set aside; the name is shown with its bytes written out."""
    files = {"ORDERS": str(next(odd.glob("r*.csv"))), "SELLER": str(odd / "shop" / "seller.toml")}
    made = {"review", "handoff", "intake"}
    named = [
        files.get(word, str(odd / f"new {word}") if at and word in made else word)
        for at, word in enumerate(words)
    ]
    done = subprocess.run(
        [sys.executable, "-m", "taxcalc", *named, "--columns", str(odd / "shop" / "columns.toml")],
        capture_output=True,
        check=False,
    )
    assert done.returncode == expected, done.stderr.decode(errors="replace")
    shown = (done.stdout + done.stderr).decode("utf-8")
    assert "\\xe9" in shown or "\\udce9" in shown
