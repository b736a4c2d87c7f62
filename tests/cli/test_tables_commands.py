"""`taxcalc tables`: list, show, check, compare and copy, as a person uses them."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner, Result
from example import ANYWHERE, ASKED, FOLDER, ORDERS

from taxcalc.caution import CAUTION
from taxcalc.cli import main
from taxcalc.run import assess
from taxcalc.tables.schema import BASES, SCHEMAS

if TYPE_CHECKING:
    from pathlib import Path

LOCAL = (
    "place,average_percent,highest_percent,lowest_percent,valid_from,source,basis,checked_on,note,back_to_shipped\n"
    "US-GA,4,5,0,2026-01-01,memory,unconfirmed,2026-11-25,mine,\n"
)
SELLER = [
    *("--seller", str(FOLDER / ASKED["seller"]), "--columns", str(FOLDER / ASKED["columns"])),
]


def tables(*arguments: object) -> Result:
    """Run a command of the group."""
    return CliRunner().invoke(main, ["tables", *map(str, arguments)])


def flat(text: str) -> str:
    """The words of a text, however they are wrapped."""
    return " ".join(text.split())


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A folder with one own row."""
    (tmp_path / "own" / "us").mkdir(parents=True)
    (tmp_path / "own" / "us" / "local_rates.csv").write_text(LOCAL, encoding="utf-8")
    return tmp_path / "own"


def test_list_names_every_table_with_its_share_of_sureness_and_the_caution() -> None:
    done = tables("list")
    assert done.exit_code == 0
    assert all(f"\n{schema.name} " in done.stdout for schema in SCHEMAS)
    assert flat(CAUTION) in flat(done.stdout)


def test_list_as_json_counts_rows_by_basis(own: Path) -> None:
    data = json.loads(tables("list", "--json", "--tables", own).stdout)
    by_name = {each["table"]: each for each in data["tables"]}
    assert [each["table"] for each in data["tables"]] == [schema.name for schema in SCHEMAS]
    for schema in SCHEMAS:
        each = by_name[schema.name]
        if schema.sourced:
            assert list(each["rows_by_basis"]) == list(BASES)
            assert sum(each["rows_by_basis"].values()) == each["rows"]
            assert each["oldest_checked_on"] <= "2026-12-31"
        else:
            assert each["rows_by_basis"] is None
    assert by_name["us/local_rates"]["own_rows"] == 1
    assert all(each["caution"] == CAUTION for each in (data, *data["tables"]))


@pytest.mark.source("tx-comptroller-remote-sellers")
def test_show_gives_values_days_source_link_and_caution() -> None:
    """USD 500 000, from October 2019, is what the Texas Comptroller's page for remote sellers says."""
    done = tables("show", "us/thresholds", "texas", "--on", "2026-09-30")
    assert done.exit_code == 0
    shown = flat(done.stdout)
    for words in ("Texas (US-TX)", "amount: 500000", "from 2019-10-01 on", "holds on 2026-09-30",
                  "source tx-comptroller-remote-sellers", "checked on", flat(CAUTION)):  # fmt: skip
        assert words in shown
    assert "https://comptroller.texas.gov/" in shown


def test_show_takes_a_place_of_several_words_without_quotes() -> None:
    done = tables("show", "us/thresholds", "new", "york", "--on", "2026-09-30")
    assert done.exit_code == 0
    assert "in New York (US-NY)" in flat(done.stdout)


@pytest.mark.parametrize(("arguments", "words"), [
    (("us/thresholds", "US-TX", "--on", "2010-01-01"), "nothing known on 2010-01-01: the first row begins on"),
    (("us/thresholds", "OR"), "The table has no row in Oregon (US-OR): nothing is known"),
    (("us/product_rules", "US-AK"), "`taxcalc tables show us/product_rules US` shows them"),
])  # fmt: skip
def test_show_says_why_nothing_holds(arguments: tuple[str, ...], words: str) -> None:
    done = tables("show", *arguments)
    assert done.exit_code == 0
    assert words in flat(done.stdout)
    assert flat(CAUTION) in flat(done.stdout)


def test_show_marks_own_rows(own: Path) -> None:
    done = tables("show", "us/local_rates", "US-GA", "--tables", own)
    assert "your own row" in done.stdout
    assert "average_percent: 4\n" in done.stdout
    rows = json.loads(tables("show", "us/local_rates", "US-GA", "--tables", own, "--json").stdout)["rows"]
    assert [row["average_percent"] for row in rows if row["own"]] == ["4"]
    assert [row["average_percent"] for row in rows if row["hidden"]] == ["3.49"]


def test_show_says_what_is_carried_on() -> None:
    """After the day of the last check a later change is possible, and that is said."""
    shown = ["show", "us/local_rates", "GA", "--on"]
    assert "a later" in tables(*shown, "2027-01-01").stdout
    (row,) = json.loads(tables(*shown, "2027-01-01", "--json").stdout)["rows"]
    assert (row["why"], row["since"]) == ("carried_on", row["checked_on"])
    (row,) = json.loads(tables(*shown, row["checked_on"], "--json").stdout)["rows"]
    assert row["why"] == "holds"


@pytest.mark.parametrize("name", [schema.name for schema in SCHEMAS])
def test_show_knows_every_table(name: str) -> None:
    """As text and as JSON, with the caution in both."""
    done = tables("show", name)
    assert done.exit_code == 0
    assert flat(CAUTION) in flat(done.stdout)
    data = json.loads(tables("show", name, "--json").stdout)
    assert data["rows"]
    assert all(row["caution"] == CAUTION for row in data["rows"])


@pytest.mark.parametrize(("arguments", "words"), [
    (("show", "us/treshold"), "The nearest: us/thresholds"),
    (("show", "thresholds"), "Write us/thresholds or eu/thresholds"),
    (("show", "eu/rates", "Germny"), "The nearest: DE"),
    (("show", "sources", "DE"), "sources has no places"),
    (("compare", "x", "y"), "one folder only"),
    (("compare", "x", "--orders", "a.csv"), "belong together"),
    (("compare", "x", "--orders", "-", "--seller", "s.toml"), "read twice"),
    (("copy", "x", "us/nonsense"), "is no table"),
    (("check", "--older-than", "-1"), "--older-than"),
    (("nonsense",), "No such command"),
])  # fmt: skip
def test_wrong_use_is_2_and_offers_the_nearest(arguments: tuple[str, ...], words: str) -> None:
    done = tables(*arguments)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert words in flat(done.stderr)


def test_check_is_0_with_one_sentence_where_all_is_sound() -> None:
    done = tables("check")
    assert done.exit_code == 0
    assert done.stdout.count("\n") == 1
    assert done.stdout.startswith("No findings in rate_tables:")


def test_check_is_4_and_names_file_row_column_value_and_mend(own: Path) -> None:
    file = own / "us" / "local_rates.csv"
    file.write_text(LOCAL.replace("US-GA,4,", "US-GA,4%,"), encoding="utf-8")
    done = tables("check", own)
    assert done.exit_code == 4
    assert done.stdout.splitlines()[0] == (
        f"E522 {file}, row 2, column \"average_percent\": '4%' is no percentage. Write the number as the law prints it, "
        "without a sign and with a point, at most four decimals: 7.25."
    )
    (finding,) = json.loads(tables("check", own, "--json").stdout)["findings"]
    assert (finding["row"], finding["column"], finding["value"]) == (2, "average_percent", "4%")


def test_check_counts_the_age_from_the_day_asked_for(own: Path) -> None:
    assert tables("check", own, "--older-than", 30, "--as-of", "2026-12-25").exit_code == 0
    done = tables("check", own, "--older-than", 30, "--as-of", "2026-12-26")
    assert done.exit_code == 4
    assert "E557" in done.stdout


def test_check_is_5_where_nothing_can_be_loaded(tmp_path: Path) -> None:
    for where in (tmp_path / "none", tmp_path):
        done = tables("check", where)
        assert (done.exit_code, done.stdout) == (5, "")
        assert done.stderr.startswith("E5")


def test_copy_starts_a_folder_that_check_and_compare_take(tmp_path: Path) -> None:
    where = tmp_path / "mine"
    done = tables("copy", where, "eu/rates")
    assert done.exit_code == 0
    assert {line.partition(" ")[0] for line in done.stderr.splitlines()} == {"wrote"}
    assert tables("check", where).exit_code == 0
    assert "No row differs." in tables("compare", where).stdout
    again = tables("copy", where, "eu/rates")
    assert (again.exit_code, again.stdout) == (6, "")
    assert again.stderr.startswith("E608")


def test_compare_shows_old_and_new_values(own: Path) -> None:
    done = tables("compare", own)
    assert done.exit_code == 0
    assert flat(CAUTION) in flat(done.stdout)
    data = json.loads(tables("compare", own, "--json").stdout)
    (row,) = data["tables"][0]["rows"]
    assert (row["change"], row["place"]) == ("changed", "US-GA")
    assert {each["column"]: each["after"] for each in row["columns"]}["average_percent"] == "4"
    assert data["figures"] is None


def test_compare_is_5_where_own_rows_cannot_be_loaded(own: Path) -> None:
    (own / "us" / "local_rates.csv").write_text(LOCAL.replace("US-GA", "US-GX"), encoding="utf-8")
    done = tables("compare", own)
    assert (done.exit_code, done.stdout) == (5, "")
    assert done.stderr.startswith("E525")


def figures(record: dict[str, Any]) -> dict[tuple[str, str], str]:
    """Expected tax of each place of a record, on both sides."""
    return {
        (place["place"], name): place[name]["expected"]
        for place in record["places"] for name in ("to_collect", "fulfiller_tax")
    }  # fmt: skip


def test_compare_with_orders_shows_the_change_of_every_figure(own: Path) -> None:
    """The same changes as two assessments show that are made on their own."""
    arguments = ["compare", own, "--orders", *ORDERS, *SELLER, "--json"]
    data = json.loads(tables(*arguments).stdout)["figures"]
    seller, columns = FOLDER / ASKED["seller"], FOLDER / ASKED["columns"]
    before, after = (assess(ORDERS, seller, tables=each, columns=columns).record() for each in (None, own))
    was, now = figures(before), figures(after)
    changed = {key: (was[key], now[key]) for key in was if was[key] != now[key]}
    told = {
        (each["place"], name): (each["before"], each["after"])
        for each in data["places"] for name in ("to_collect", "fulfiller_tax") if each["figure"] == f"{name}.expected"
    }  # fmt: skip
    assert told == changed
    assert {place for place, _ in told} == {"US-GA"}
    assert all(
        each["caution"] == CAUTION for part in ("places", "thresholds", "totals") for each in data[part]
    )


def test_compare_with_orders_shows_days_of_duty_and_limits(tmp_path: Path) -> None:
    """A lower limit of one's own moves the crossing and the duty that follows it."""
    where = tmp_path / "own"
    tables("copy", where, "us/thresholds")
    file = where / "us" / "thresholds.csv"
    row = {
        "place": "US-OH", "amount": "1000", "currency": "USD", "amount_met_when": "over", "transactions": "20",
        "transactions_met_when": "reached", "connector": "either", "window": "current_or_previous_calendar_year",
        "exempt_sales_count": "yes", "resale_sales_count": "yes", "marketplace_sales_count": "no",
        "duty_kind": "collect", "valid_from": "2024-01-01", "source": "memory", "basis": "unconfirmed",
        "checked_on": "2026-11-25",
    }  # fmt: skip
    header = file.read_text(encoding="utf-8").strip()
    cells = ",".join(row.get(name, "") for name in header.split(","))
    file.write_text(f"{header}\n{cells}\n", encoding="utf-8")
    assert tables("check", where).exit_code == 0
    done = tables("compare", where, "--orders", *ORDERS, *SELLER)
    assert "Ohio (US-OH)" in done.stdout
    data = json.loads(tables("compare", where, "--orders", *ORDERS, *SELLER, "--json").stdout)["figures"]
    by_figure = {each["figure"]: each for each in data["places"] if each["place"] == "US-OH"}
    assert by_figure["duty_from"]["before"] is None
    assert by_figure["duty_from"]["after"].startswith("202")
    assert {each["figure"] for each in data["thresholds"] if each["place"] == "US-OH"} >= {"limit", "status"}


def test_compare_is_4_and_says_so_where_rows_of_the_orders_were_set_aside(own: Path, tmp_path: Path) -> None:
    """As a review of the same orders is; without a slip it is 0."""
    done = tables("compare", own, "--orders", *ORDERS, *SELLER)
    assert done.exit_code == 4
    aside = json.loads(tables("compare", own, "--orders", *ORDERS, *SELLER, "--json").stdout)["figures"][
        "rows_set_aside"
    ]
    assert aside == assess(ORDERS, SELLER[1], columns=SELLER[3]).set_aside_faults > 0
    assert f"{aside} rows of the orders were set aside and stand in no figure" in flat(done.stdout)
    good = tmp_path / "orders.csv"
    good.write_text(
        "order_id,ordered_on,currency,ship_to_country,ship_to_region,item_amount\n1,2026-08-01,USD,US,GA,10.00\n",
        encoding="utf-8",
    )
    done = tables("compare", own, "--orders", good, "--seller", FOLDER / ASKED["seller"])
    assert done.exit_code == 0
    assert "set aside" not in done.stdout


def test_compare_never_takes_an_order_number_for_money(tmp_path: Path) -> None:
    """A lower limit of one's own is crossed by another order, and both have numbers of digits."""
    where = tmp_path / "own"
    tables("copy", where, "us/thresholds")
    file = where / "us" / "thresholds.csv"
    limit = {
        "place": "US-WA", "amount": "500", "currency": "USD", "amount_met_when": "over", "connector": "amount_only",
        "window": "current_or_previous_calendar_year", "exempt_sales_count": "yes", "resale_sales_count": "yes",
        "marketplace_sales_count": "yes", "duty_kind": "collect", "valid_from": "2020-01-01", "source": "memory",
        "basis": "unconfirmed", "checked_on": "2026-11-25",
    }  # fmt: skip
    header = file.read_text(encoding="utf-8").strip()
    cells = ",".join(limit.get(name, "") for name in header.split(","))
    file.write_text(f"{header}\n{cells}\n", encoding="utf-8")
    orders = tmp_path / "orders.csv"
    lines = ["100017,2026-08-01,USD,US,WA,600.00", "100018,2026-08-02,USD,US,WA,100000.00"]
    head = "order_id,ordered_on,currency,ship_to_country,ship_to_region,item_amount"
    orders.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    arguments = ["compare", where, "--orders", orders, "--seller", FOLDER / ASKED["seller"]]
    rows = json.loads(tables(*arguments, "--json").stdout)["figures"]["thresholds"]
    (crossed,) = (row for row in rows if row["figure"] == "crossed_by")
    assert (crossed["before"], crossed["after"], crossed["difference"]) == ("100018", "100017", None)
    shown = flat(tables(*arguments).stdout)
    assert "crossed by 100018 100017 " in shown
    assert "$100,017" not in shown


def test_what_rests_on_own_rows_is_marked_everywhere(own: Path, tmp_path: Path) -> None:
    """In the record, in the review, in both CSV files; nothing else is marked."""
    out = tmp_path / "out"
    name = "own:us/local_rates:US-GA:2026-01-01"
    options = [
        "--as-of",
        ASKED["as_of"].isoformat(),
        "--quarter",
        ASKED["period"],
        "--tables",
        str(own),
        "--out",
        str(out),
    ]
    done = CliRunner().invoke(main, ["review", *map(str, ORDERS), *SELLER, *options])
    assert done.exit_code == 4
    assert "Georgia (US-GA) +" in done.stdout
    assert "Texas (US-TX) +" not in done.stdout
    assert "+ rests in part on rows of your own" in flat(done.stdout)
    record = json.loads((out / "record.json").read_text(encoding="utf-8"))
    assert {place["place"]: place["own_rows"] for place in record["places"] if place["own_rows"]} == {
        "US-GA": [name]
    }
    assert record["totals"]["own_rows"] == [name]
    marked = {finding["place"] for finding in record["findings"] if finding["own_rows"]}
    assert marked == {"US-GA"}
    lines = (out / "places.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].endswith(",own_rows,caution")
    assert {line[:5] for line in lines if name in line} == {"US-GA"}


def test_without_own_rows_nothing_is_marked() -> None:
    """And the record says so."""
    from example import record  # noqa: PLC0415 - computed once for all tests

    assert record()["totals"]["own_rows"] == []
    assert not any(place["own_rows"] for place in record()["places"])


def test_help_of_every_command_loads_nothing_heavy() -> None:
    """It is asked for while thinking."""
    code = (
        "import sys; from taxcalc.cli import main\n"
        "main(['tables', {name!r}, '--help'], 'taxcalc', standalone_mode=False)\n"
        "print('LOADED', *({{'numpy', 'pandas', 'rich', 'pyarrow'}} & set(sys.modules)))"
    )
    for name in ("list", "show", "check", "compare", "copy"):
        done = subprocess.run(
            [sys.executable, "-c", code.format(name=name)],
            capture_output=True,
            text=True,
            check=True,
            env=ANYWHERE,
        )
        assert done.stdout.splitlines()[-1] == "LOADED"
