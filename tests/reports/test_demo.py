"""The reports of the shipped example, through the command line: shown, written, refused."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from taxcalc.caution import CAUTION
from taxcalc.cli import main
from taxcalc.reports import terminal
from taxcalc.reports.json_file import json_text
from taxcalc.reports.layout import FigureTable
from taxcalc.reports.lock import only_run

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    """Run the demo once, in a folder of its own."""
    folder = tmp_path_factory.mktemp("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        return folder, CliRunner().invoke(main, ["demo"])


def again(shop: tuple[Path, Result], monkeypatch: pytest.MonkeyPatch) -> Result:
    """Run the demo once more in the same folder."""
    monkeypatch.chdir(shop[0])
    return CliRunner().invoke(main, ["demo"])


def test_what_is_shown_can_be_read_in_two_minutes(shop: tuple[Path, Result]) -> None:
    """Some rows of the example are set aside on purpose, hence 4; the folder has the whole review."""
    _folder, done = shop
    assert done.exit_code == 4
    assert len(done.stdout.splitlines()) < 300
    assert done.stderr.count("wrote ") == 7


def test_asked_for_the_whole_review_shows_what_is_written(shop: tuple[Path, Result]) -> None:
    """The same record, by `review --full` as in the folder."""
    folder = shop[0] / "taxcalc-demo"
    record = json.loads((folder / "record.json").read_text(encoding="utf-8"))
    out = io.StringIO()
    terminal.print_review(record, out, whole=True)
    assert out.getvalue() == (folder / "review.txt").read_text(encoding="utf-8")


def test_every_table_of_a_real_record_has_its_caution(shop: tuple[Path, Result]) -> None:
    """And every object of the record that holds amounts."""
    text = (shop[0] / "taxcalc-demo" / "record.json").read_text(encoding="utf-8")
    record = json.loads(text)
    assert json_text(record) == text
    whole, short = (
        [piece for piece in pieces(record, 100) if isinstance(piece, FigureTable)]
        for pieces in (terminal.full, terminal.short)
    )
    assert len(whole) >= 8
    in_words = [each for each in record["one_stop_shop"] if each["nil"] or not each["registered"]]
    written = (shop[0] / "taxcalc-demo" / "review.txt").read_text(encoding="utf-8")
    assert " ".join(written.split()).count(CAUTION) == len(whole) + len(in_words) + 1
    assert " ".join(shop[1].stdout.split()).count(CAUTION) == len(short) + 1


def test_every_place_with_tax_is_named(shop: tuple[Path, Result]) -> None:
    """Nothing that should be collected is left out of the text."""
    record = json.loads((shop[0] / "taxcalc-demo" / "record.json").read_text(encoding="utf-8"))
    taxed = [row for row in record["places"] if row["to_collect"]["high"].strip("0.")]
    assert taxed
    written = (shop[0] / "taxcalc-demo" / "review.txt").read_text(encoding="utf-8")
    for row in taxed:
        assert f"({row['place']})" in written


def test_written_again_it_is_the_same(shop: tuple[Path, Result], monkeypatch: pytest.MonkeyPatch) -> None:
    """Byte for byte."""
    before = {path.name: path.read_bytes() for path in (shop[0] / "taxcalc-demo").iterdir()}
    assert again(shop, monkeypatch).exit_code == 4
    assert {path.name: path.read_bytes() for path in (shop[0] / "taxcalc-demo").iterdir()} == before


def test_a_folder_in_use_is_8(shop: tuple[Path, Result], monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is printed."""
    with only_run(shop[0].resolve() / "taxcalc-demo"):
        done = again(shop, monkeypatch)
    assert (done.exit_code, done.stdout) == (8, "")
    assert "E801" in done.stderr


def test_a_foreign_file_is_6(shop: tuple[Path, Result], monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is printed, and the message names it."""
    notes = shop[0] / "taxcalc-demo" / "notes.txt"
    notes.write_text("mine", encoding="utf-8")
    done = again(shop, monkeypatch)
    assert (done.exit_code, done.stdout) == (6, "")
    assert "notes.txt" in done.stderr
    assert notes.read_text(encoding="utf-8") == "mine"
    notes.unlink()
