"""`taxcalc tables add-local`, and what list and check say of a store, as a person uses them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result
from rate_files import RATES, boundary_row, plain_boundary, rate_row, simple, standard, write

from taxcalc.caution import CAUTION
from taxcalc.cli import main
from taxcalc.seller import read_seller

if TYPE_CHECKING:
    from pathlib import Path


def tables(*arguments: object) -> Result:
    """Run a command of the group."""
    return CliRunner().invoke(main, ["tables", *map(str, arguments)])


def flat(text: str) -> str:
    """The words of a text, however they are wrapped."""
    return " ".join(text.split())


def test_it_says_what_it_did_on_stderr_and_sums_up_on_stdout(tmp_path: Path) -> None:
    done = tables("add-local", *standard(tmp_path), "--into", tmp_path / "own")
    assert done.exit_code == 0
    said = done.stderr.splitlines()
    assert said[:2] == [
        f"reading {RATES}: standard rate file",
        "reading KSB2026Q3MAY28: standard boundary file",
    ]
    assert [line.split()[0] for line in said[2:]] == ["working", "wrote", "wrote"]
    shown = flat(done.stdout)
    for words in ("Kansas (US-KS) 4 4 2020-01-01", "standard rate file, 4 rows, in fraction", "cover 6 of",
                  "the lowest is expected in Kansas", "known in part from memory", flat(CAUTION)):  # fmt: skip
        assert words in shown


def test_the_folder_beside_the_profile_is_taken_unless_another_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = tables("add-local", simple(tmp_path, "CO,80202,8.81,2021-01-01,,x"))
    assert (done.exit_code, (tmp_path / "own_tables/local/index.toml").is_file()) == (0, True)
    (tmp_path / "seller.toml").write_text('[seller]\nname = "Fen"\ncountry = "US"\nregion = "US-CO"\n')
    assert read_seller(tmp_path / "seller.toml").tables == tmp_path / "own_tables"


def test_as_json_every_object_has_its_caution(tmp_path: Path) -> None:
    done = tables("add-local", *standard(tmp_path), "--into", tmp_path / "own", "--json")
    data = json.loads(done.stdout)
    (state,) = data["states"]
    assert (state["place"], state["zones"], state["lowest_rate_in_zip"]) == ("US-KS", 4, True)
    assert [len(file["sha256"]) for file in state["added"]] == [64, 64]
    assert all(each["caution"] == CAUTION for each in (data, state, *state["files"]))


def test_rows_set_aside_make_it_a_4(tmp_path: Path) -> None:
    rows = [
        *(boundary_row("Z", f"{code}") for code in range(66100, 66299)),
        boundary_row("Z", "66300", city="99999"),
    ]
    done = tables("add-local", *standard(tmp_path, spans=rows), "--into", tmp_path / "own")
    assert done.exit_code == 4
    assert "1 row set aside, because no rate is known on all their days for: 01/99999" in flat(done.stdout)


@pytest.mark.parametrize(("arguments", "code"), [
    (("--into", "own"), 2),
    (("missing.csv",), 5),
    (("file", "--into", "own", "--change", "--replace"), 2),
    (("missing.csv", "--into", "own"), 5),
])  # fmt: skip
def test_wrong_use_and_missing_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], code: int
) -> None:
    monkeypatch.chdir(tmp_path)
    done = tables("add-local", *arguments)
    assert (done.exit_code, done.stdout) == (code, "")
    assert list(tmp_path.iterdir()) == []


def test_refusals_have_the_codes_of_the_contract(tmp_path: Path) -> None:
    """5 for a file that is refused, 6 for what would be overwritten or cannot be written, 8 while another run writes."""
    rates, spans = standard(tmp_path)
    assert tables("add-local", rates, spans, "--into", tmp_path / "own").exit_code == 0
    later = write(tmp_path, "KSR2026Q4AUG28", [rate_row("45", "20", "0.065")])
    done = tables("add-local", later, "--into", tmp_path / "own")
    assert (done.exit_code, done.stdout, done.stderr.splitlines()[-1][:4]) == (6, "", "E610")
    bad = write(tmp_path, "COR2026Q3MAY28", ["08"])
    assert tables("add-local", bad, "--into", tmp_path / "own").exit_code == 5
    assert tables("add-local", later, "--into", rates).exit_code == 6
    from taxcalc.reports.lock import only_run  # noqa: PLC0415 - only here

    with only_run(tmp_path / "own" / "local"):
        assert tables("add-local", later, "--into", tmp_path / "own", "--change").exit_code == 8


def test_list_and_check_know_the_store(tmp_path: Path) -> None:
    own = tmp_path / "own"
    tables("add-local", *standard(tmp_path), "--into", own)
    tables("add-local", simple(tmp_path, "CO,80202,8.81,2021-01-01,,x"), "--into", own)
    shown = flat(tables("list", "--tables", own).stdout)
    assert "Local rates of your own" in shown
    assert "Colorado (US-CO) 1 1 2021-01-01 own.csv: simple CSV, 1 row, in percent" in shown
    data = json.loads(tables("list", "--tables", own, "--json").stdout)
    assert [each["place"] for each in data["local_rates"]] == ["US-CO", "US-KS"]
    assert json.loads(tables("list", "--json").stdout)["local_rates"] == []
    done = tables("check", own)
    assert done.exit_code == 0
    assert "10 rows of local rates from 2020-01-01 on (US-CO, US-KS)" in done.stdout
    assert tables("check", own, "--older-than", 30, "--as-of", "2099-01-01").stdout.count("E582") == 2
    (path,) = (own / "local").glob("US-KS-*/held.parquet")
    path.write_bytes(b"x")
    done = tables("check", own)
    assert done.exit_code == 4
    assert done.stdout.startswith(f"E573 {path}: the file of the local-rate store is damaged")
    (finding,) = json.loads(tables("check", own, "--json").stdout)["findings"]
    assert finding["file"] == str(path)


def test_compare_shows_what_a_store_changes_in_money(tmp_path: Path) -> None:
    tables("add-local", *standard(tmp_path, spans=plain_boundary()), "--into", tmp_path / "own")
    orders = tmp_path / "orders.csv"
    orders.write_text(
        "order_id,ordered_on,currency,ship_to_country,ship_to_region,ship_to_postal_code,item_amount\n"
        "1,2026-07-05,USD,US,KS,66044-1500,100.00\n2,2026-10-05,USD,US,KS,66044-1500,100.00\n", encoding="utf-8",
    )  # fmt: skip
    profile = tmp_path / "seller.toml"
    profile.write_text(
        '[seller]\nname = "x"\ncountry = "US"\nregion = "US-OR"\nestablished_on = 2020-01-01\n'
        'reporting_currency = "USD"\ntime_zone = "UTC"\n[[registration]]\nplace = "US-KS"\nfrom = 2020-01-01\n',
        encoding="utf-8",
    )
    done = tables("compare", tmp_path / "own", "--orders", orders, "--seller", profile)
    assert done.exit_code == 0
    assert "$9.30" in done.stdout
