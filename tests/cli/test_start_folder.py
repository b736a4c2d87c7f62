"""`taxcalc start`: the folder is complete, usable as it is, and never laid over anything."""

from __future__ import annotations

import csv
import os
import re
import shutil
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from taxcalc.caution import CAUTION
from taxcalc.cli import main
from taxcalc.columns import BY_NAME, PRODUCT_CLASSES, REQUIRED
from taxcalc.errors import Refusal
from taxcalc.seller import keys, read_seller
from taxcalc.start import TEMPLATE, write_start_folder
from taxcalc.tables.load import load_tables
from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import BY_NAME as TABLES

NAMES = [
    "columns.toml",
    "orders-example.csv",
    "own_tables/README.txt",
    "own_tables/eu/rates.csv",
    "own_tables/sources.csv",
    "own_tables/us/local_rates.csv",
    "seller.toml",
]


def words_of(path: Path) -> str:
    """Give the words of a file without comment signs and line breaks."""
    return " ".join(path.read_text(encoding="utf-8").replace("#", " ").split())


def uncommented(text: str) -> str:
    """Switch every key and table on that a comment switches off."""
    lines = [line.removeprefix("# ") for line in text.splitlines()]
    return "\n".join(line for line in lines if line.startswith("[") or re.match(r'("[^"]+"|\w+) = ', line))


def test_the_folder_is_whole(tmp_path: Path) -> None:
    """Every file is written and named."""
    folder = tmp_path / "deep" / "shop"
    assert [path.relative_to(folder).as_posix() for path in write_start_folder(folder)] == NAMES
    assert [path.name for path in folder.parent.iterdir()] == ["shop"]


def test_the_profile_is_usable_as_it_is(tmp_path: Path) -> None:
    """Nothing has to be filled in before the first try."""
    write_start_folder(tmp_path)
    seller = read_seller(tmp_path / "seller.toml")
    assert (seller.country, seller.region) == ("US", "US-OR")
    assert seller.tables == tmp_path / "own_tables"


def test_the_profile_shows_every_key_and_its_switched_off_lines_are_right() -> None:
    """With every comment taken away it is still a profile, and no key is missing from it."""
    text = uncommented((TEMPLATE / "seller.toml").read_text(encoding="utf-8"))
    raw = tomllib.loads(text.replace('collects_in = "unknown"', ""))
    seller = read_seller(raw)
    assert len(seller.elections) == 2
    shown = {name: {key for table in _as_list(raw[name]) for key in table} for name in keys.TABLES}
    assert shown == {name: set(keys.EXAMPLES[name]) for name in keys.TABLES}


def _as_list(tables: object) -> list[dict[str, object]]:
    return tables if isinstance(tables, list) else [tables]  # type: ignore[list-item]


def test_the_map_and_the_orders_fit_each_other() -> None:
    """Every header is a canonical column or mapped to one, and nothing needed is missing."""
    columns = tomllib.loads((TEMPLATE / "columns.toml").read_text(encoding="utf-8"))
    with (TEMPLATE / "orders-example.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    named = {columns["rename"].get(header, header) for header in rows[0]}
    assert named <= set(BY_NAME)
    assert set(REQUIRED) <= named | set(columns["constant"])
    assert {columns["values"]["product_class"][row["Kind"]] for row in rows} <= set(PRODUCT_CLASSES)


def test_switched_off_lines_of_the_map_name_real_columns() -> None:
    """A seller who takes a # away gets a map that works."""
    columns = tomllib.loads(uncommented((TEMPLATE / "columns.toml").read_text(encoding="utf-8")))
    assert set(columns["rename"].values()) | set(columns["constant"]) | set(columns["values"]) <= set(BY_NAME)


@pytest.mark.parametrize("name", ["us/local_rates", "eu/rates", "sources"])
def test_own_tables_have_the_header_of_their_schema_and_no_row(name: str) -> None:
    """A template that lags behind the schema would be refused on the first run."""
    lines = (TEMPLATE / "own_tables" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert lines == [",".join(field.name for field in fields_of(TABLES[name], own=True))]


def test_own_tables_without_a_row_load() -> None:
    """The folder may be given to every command before anything is written into it, and then changes nothing."""
    with_folder = load_tables(TEMPLATE / "own_tables")
    assert not with_folder.own
    assert with_folder.version == load_tables().version


@pytest.mark.parametrize("name", ["seller.toml", "own_tables/README.txt"])
def test_the_caution_stands_at_the_top(name: str) -> None:
    """In the words of the program, before anything else."""
    assert CAUTION in words_of(TEMPLATE / name)[: len(CAUTION) + 100]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    """One file in the way stops the whole, and stays as it was."""
    taken = tmp_path / name
    taken.parent.mkdir(parents=True, exist_ok=True)
    taken.write_text("mine", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(Refusal, match="E608"):
        write_start_folder(tmp_path)
    assert sorted(tmp_path.rglob("*")) == before
    assert taken.read_text(encoding="utf-8") == "mine"


def test_a_link_that_leads_nowhere_is_in_the_way_too(tmp_path: Path) -> None:
    """Its goal may be on a disk that is not there today."""
    (tmp_path / "seller.toml").symlink_to(tmp_path / "gone")
    with pytest.raises(Refusal, match="E608"):
        write_start_folder(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["seller.toml"]


def test_a_failure_half_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was moved in before the disk failed is taken back."""
    real, moves = Path.rename, []

    def fail_on_the_third(self: Path, target: Path) -> Path:
        moves.append(target)
        if len(moves) > 2:
            raise OSError(28, os.strerror(28))
        return real(self, target)

    monkeypatch.setattr(Path, "rename", fail_on_the_third)
    with pytest.raises(Refusal, match=r"E609 .*no space left"):
        write_start_folder(tmp_path / "deep" / "shop")
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "orders.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal, match="E609"):
        write_start_folder(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["orders.csv"]


def test_the_command(tmp_path: Path) -> None:
    """Stdout holds the next step, stderr what was written; a second run is a 6."""
    folder = tmp_path / "my shop"
    done = CliRunner().invoke(main, ["start", str(folder)])
    assert done.exit_code == 0
    assert done.stderr.count("wrote ") == len(NAMES)
    assert f'--seller "{folder / "seller.toml"}"' in done.stdout
    again = CliRunner().invoke(main, ["start", str(folder)])
    assert again.exit_code == 6
    assert again.stdout == ""
    shutil.rmtree(folder)
