"""The folder for the accountant: every file ties to the lines, every sheet has its caution, the same input the same bytes."""

from __future__ import annotations

import csv
import html
import itertools
import json
import re
import shutil
import subprocess
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import openpyxl
import pyarrow.parquet as pq
import pytest
from click.testing import CliRunner, Result
from example import assessment
from python_calamine import CalamineWorkbook

from taxcalc.caution import CAUTION, TITLE
from taxcalc.cli import main
from taxcalc.errors import Refusal
from taxcalc.handoff.book import FOOT, PICTURES_TAB
from taxcalc.handoff.folder import FILES, TABS
from taxcalc.handoff.line_files import REPORTED, write_lines
from taxcalc.handoff.since import read_previous
from taxcalc.reports.pictures import pictures

if TYPE_CHECKING:
    from collections.abc import Iterator

EXAMPLES = Path(__file__).parents[2] / "examples"
ORDERS = [str(EXAMPLES / f"orders-{year}.csv") for year in (2024, 2025, 2026)]
OPTIONS = [
    "--seller",
    str(EXAMPLES / "seller.toml"),
    "--columns",
    str(EXAMPLES / "columns.toml"),
    "--quarter",
    "2026-Q3",
]
AS_OF = ["--as-of", "2026-10-20"]


def hand_off(out: Path, *more: str) -> Result:
    """Run the command on the example."""
    return CliRunner().invoke(main, ["handoff", *ORDERS, *OPTIONS, *AS_OF, "--out", str(out), *more])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Hand the example off once; some of its rows are set aside on purpose, hence 4."""
    out = tmp_path_factory.mktemp("hand") / "off"
    done = hand_off(out, "--control", "tax_collected=671.83", "--control", "period:collected=222.00")
    assert done.exit_code == 4, done.stderr
    assert "672" not in done.stdout
    assert "differs" in done.stdout
    return out


@pytest.fixture(scope="module")
def record(folder: Path) -> dict[str, Any]:
    """Read its record."""
    found: dict[str, Any] = json.loads((folder / "record.json").read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def recalculated(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Open the workbook in LibreOffice and save it again, so that every formula is computed by another program."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not installed")
    out = tmp_path_factory.mktemp("office")
    words = [
        office,
        f"-env:UserInstallation=file://{out}/profile",
        "--headless",
        "--convert-to",
        "xlsx",
        "--outdir",
        str(out),
    ]
    subprocess.run([*words, str(folder / "exposure.xlsx")], check=True, capture_output=True, timeout=120)
    return out / "exposure.xlsx"


def lines(folder: Path) -> Iterator[dict[str, str]]:
    """Read the line figures."""
    with (folder / "lines.csv").open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(file)


def test_every_file_is_there_and_carries_its_caution(folder: Path) -> None:
    """A file, a sheet and a line without it would be a defect."""
    assert {path.name for path in folder.iterdir()} == {*FILES, "taxcalc-folder.json"}
    for name in ("README.txt", "record.json"):
        assert CAUTION in " ".join((folder / name).read_text(encoding="utf-8").split())
    for tab in TABS:
        with (folder / f"{tab}.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert rows
        assert {row["caution"] for row in rows} == {CAUTION}
    assert {row["caution"] for row in lines(folder)} == {CAUTION}
    assert pq.read_schema(folder / "lines.parquet").metadata[b"caution"].decode() == CAUTION


def test_every_sheet_is_a_workpaper(folder: Path) -> None:
    """Caution above the table and at the foot of each page, frozen and filterable headers, nothing hidden or merged."""
    book = openpyxl.load_workbook(folder / "exposure.xlsx")
    *tabs, drawn = book.sheetnames
    assert (tuple(tabs), drawn) == (TABS, PICTURES_TAB)
    for page in map(book.__getitem__, tabs):
        above = [page.cell(row, 1).value for row in range(1, 7)]
        assert CAUTION in above, page.title
        assert FOOT in page.oddFooter.left.text
        assert page.freeze_panes is not None
        assert page.sheet_state == "visible"
        assert not page.merged_cells.ranges
        assert page.page_setup.orientation == "landscape"
        assert page.print_title_rows
        assert not any(
            one.hidden for one in [*page.row_dimensions.values(), *page.column_dimensions.values()]
        )
        assert page.auto_filter.ref or any(
            "Nothing" in str(page.cell(row, 1).value) or "No " in str(page.cell(row, 1).value)
            for row in range(1, 9)
        )


def test_pictures_say_what_they_show_and_do_not_overlap(folder: Path, record: dict[str, Any]) -> None:
    """The last sheet has the pictures of the page, each with words for those who do not see it, and the caution."""
    page = openpyxl.load_workbook(folder / "exposure.xlsx")[PICTURES_TAB]
    assert FOOT in page.oddFooter.left.text
    assert page.cell(2, 1).value == FOOT
    expected = pictures(record, assessment().usual_order())
    assert len(page._images) == len(expected) > 2  # noqa: SLF001 - the reader has no other name for them
    with zipfile.ZipFile(folder / "exposure.xlsx") as book:
        drawing = book.read("xl/drawings/drawing1.xml").decode("utf-8")
    described = [html.unescape(words) for words in re.findall(r' descr="([^"]*)"', drawing)]
    assert [" ".join(words.split()) for words in described] == [" ".join(one.alt.split()) for one in expected]
    spans = [(one.anchor._from.row, one.anchor.to.row) for one in page._images]  # noqa: SLF001 - as above
    assert all(end < begin for (_, end), (begin, _) in itertools.pairwise(spans))


def test_the_page_is_that_of_the_review(folder: Path, record: dict[str, Any]) -> None:
    """One page: what the folder of a review holds."""
    text = (folder / "page.html").read_text(encoding="utf-8")
    assert text.count("<svg") == len(pictures(record, assessment().usual_order()))
    assert html.escape(CAUTION, quote=False) in " ".join(text.split())


def totals(path: Path) -> dict[tuple[str, int], tuple[Decimal, Decimal, Decimal]]:
    """Give every total by sheet and column: by formula, by the program, and the difference; as the reader sees values."""
    found = {}
    book = CalamineWorkbook.from_path(path)
    for name in book.sheet_names:
        rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        at = next((number for number, row in enumerate(rows) if row and row[0] == "Total (formula)"), None)
        if at is None:
            continue
        for column, value in enumerate(rows[at + 1][1:], start=1):
            if isinstance(value, (int, float)):
                cells = (rows[at + below][column] for below in range(3))
                found[name, column] = tuple(round(Decimal(str(cell)), 4) for cell in cells)
    return found


def test_totals_are_live_formulas_that_another_program_computes_alike(
    folder: Path, recalculated: Path
) -> None:
    """Each column that is added up: formula = program, in what we wrote and after LibreOffice computed it anew."""
    ours, theirs = totals(folder / "exposure.xlsx"), totals(recalculated)
    assert len(ours) > 40
    assert ours == theirs
    for place, (formula, program, difference) in ours.items():
        assert formula == program, place
        assert difference == 0, place
    book = openpyxl.load_workbook(folder / "exposure.xlsx")
    page = book["B-summary"]
    cell = next(row[4] for row in page.iter_rows() if row[0].value == "Total (formula)")
    assert str(cell.value).startswith("=SUM(")
    assert book.defined_names["total_sales"].attr_text.endswith(f"${cell.column_letter}${cell.row}")


def test_two_readers_see_the_same_cells(folder: Path) -> None:
    """Numbers are numbers, days are days, texts are texts."""
    one = openpyxl.load_workbook(folder / "exposure.xlsx", data_only=True)["B-summary"]
    other = (
        CalamineWorkbook.from_path(folder / "exposure.xlsx")
        .get_sheet_by_name("B-summary")
        .to_python(skip_empty_area=False)
    )
    for line, values in enumerate(other, start=1):
        for column, value in enumerate(values, start=1):
            seen = one.cell(line, column).value
            if isinstance(value, (int, float)):
                assert seen == pytest.approx(value)
            elif value not in ("", None):
                assert str(seen)[:10] == str(value)[:10]


def test_the_lead_figures_are_those_of_the_record(folder: Path, record: dict[str, Any]) -> None:
    """The names that a formula of the accountant's can use."""
    book = openpyxl.load_workbook(folder / "exposure.xlsx", data_only=True)

    def named(name: str) -> Decimal:
        sheet, _, cell = book.defined_names[name].attr_text.partition("!")
        return Decimal(str(book[sheet.strip("'")][cell.replace("$", "")].value)).quantize(Decimal("0.01"))

    total = record["totals"]
    assert named("total_sales") == Decimal(total["sales"])
    assert named("total_to_collect") == Decimal(total["to_collect"]["expected"])
    assert named("total_not_collected") == Decimal(total["shortfall"]["expected"])
    assert named("total_fulfiller_charged") == Decimal(total["fulfiller_tax_charged"])


def test_the_lines_add_up_to_every_place_of_the_period(folder: Path, record: dict[str, Any]) -> None:
    """Recomputed here from lines.csv, to the cent: sales, both taxes, what was collected."""
    sums: dict[str, dict[str, Decimal]] = {}
    for row in lines(folder):
        if "2026-07-01" <= row["tax_point"] <= "2026-09-30":
            into = sums.setdefault(row["place"], dict.fromkeys(REPORTED, Decimal(0)))
            for name in REPORTED:
                into[name] += Decimal(row[f"reporting_{name}"])
    seen = 0
    for place in record["places"]:
        ours = sums.get(place["place"], dict.fromkeys(REPORTED, Decimal(0)))
        assert ours["sales"] == Decimal(place["sales"])
        assert ours["collected"] == Decimal(place["collected"])
        assert ours["to_collect"] == Decimal(place["to_collect"]["expected"])
        assert ours["fulfiller_tax"] == Decimal(place["fulfiller_tax"]["expected"])
        assert ours["fulfiller_tax_charged"] == Decimal(place["fulfiller_tax_charged"])
        seen += bool(ours["sales"])
    assert seen > 50


def test_both_line_files_hold_the_same(folder: Path) -> None:
    """Parquet in minor units, CSV in decimals."""
    table = pq.read_table(folder / "lines.parquet").to_pylist()
    for one, other in zip(table, lines(folder), strict=True):
        assert one["order_id"] == other["order_id"]
        decimals = {"JPY": 0}.get(one["currency"], 2)
        assert Decimal(one["to_collect"]).scaleb(-decimals) == Decimal(other["to_collect"])
        assert Decimal(one["reporting_sales"]).scaleb(-2) == Decimal(other["reporting_sales"])


def test_state_and_local_parts_are_the_tax(folder: Path) -> None:
    """And the state's part is its rate of the taxable amount, to the cent, where a price has no tax inside."""
    checked = 0
    for row in lines(folder):
        state, local = (Decimal(row[f"reporting_{name}_tax"]) for name in ("state", "local"))
        assert state + local == Decimal(row["reporting_to_collect"])
        if (
            row["place"] == "US-WA"
            and row["entry"] == "sale"
            and row["duty"] == "collect"
            and row["tax_included"] == "false"
        ):
            assert abs(Decimal(row["reporting_taxable"]) * Decimal("0.065") - state) <= Decimal("0.005")
            checked += 1
    assert checked > 50


def test_the_same_input_gives_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    """All files, the workbook by its cells."""
    again = tmp_path / "again"
    hand_off(again, "--control", "tax_collected=671.83", "--control", "period:collected=222.00")
    for name in FILES:
        if name != "exposure.xlsx":
            assert (folder / name).read_bytes() == (again / name).read_bytes(), name
    one, other = (openpyxl.load_workbook(path / "exposure.xlsx") for path in (folder, again))
    for page, twin in zip(one, other, strict=True):
        assert [[cell.value for cell in row] for row in page] == [
            [cell.value for cell in row] for row in twin
        ]


def test_a_control_total_that_differs_is_shown_and_marked(folder: Path) -> None:
    """On the lead sheet, with the difference; those that agree have their tick."""
    with (folder / "A-lead.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["What"]: row for row in csv.DictReader(file) if row["Part"] == "Control total"}
    assert rows["tax_collected"]["Tick"] == "C"
    given = [row for row in rows.values() if row["Held against"] == "222.00"]
    assert [(row["Tick"], row["Difference"]) for row in given] == [("X", "0.21")]
    assert {row["Tick"] for row in rows.values()} == {"S", "F", "L", "C", "X"}


@pytest.mark.parametrize(
    ("control", "words"),
    [("sales", "is no control total"), ("colour=3", "has no control total"), ("tax_collected=1.5 XXQ", "no currency"),
     ("period:item_amount=3", "has no control total"),
     ("period:sales=1 EUR", "Leave EUR out"), ("rows=5 EUR", "Leave EUR out"),
     ("item_amount=1.234", "decimals")],
)  # fmt: skip
def test_a_control_total_that_is_none_is_2(tmp_path: Path, control: str, words: str) -> None:
    """And nothing is written."""
    done = hand_off(tmp_path / "out", "--control", control)
    assert done.exit_code == 2
    assert words in done.stderr
    assert not (tmp_path / "out").exists()


def test_sums_of_ours_that_do_not_agree_publish_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the program ends with 7 and leaves no folder."""
    from taxcalc.handoff import folder as module  # noqa: PLC0415 - to break it

    monkeypatch.setattr(module, "broken", lambda made: made[:1])
    done = hand_off(tmp_path / "out")
    assert done.exit_code == 7
    assert not (tmp_path / "out").exists()


def test_a_place_whose_lines_do_not_add_up_publishes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where two places are wrong by the same amount, so that the sum over all of them is right."""
    from taxcalc.handoff import folder as module  # noqa: PLC0415 - to break it

    def shifted(*arguments: Any) -> Any:  # noqa: ANN401 - as the function that it stands for
        sums = write_lines(*arguments)
        one, other, *_ = sums.by_quarter.values()
        one["collected"] += 1
        other["collected"] -= 1
        return sums

    monkeypatch.setattr(module, "write_lines", shifted)
    done = hand_off(tmp_path / "out")
    assert done.exit_code == 7
    assert "collected, " in done.stderr
    assert not (tmp_path / "out").exists()


def test_no_cell_hides_decimals_of_its_amount(folder: Path) -> None:
    """Amounts of other currencies than the sheet's show those of their own."""
    book = openpyxl.load_workbook(folder / "exposure.xlsx")
    checked = 0
    for page in book:
        for cell in (cell for row in page.iter_rows() for cell in row):
            if isinstance(cell.value, float) and cell.number_format not in ("General", "yyyy-mm-dd"):
                decimals = len(cell.number_format.partition(";")[0].partition(".")[2])
                assert round(cell.value, decimals) == cell.value, (page.title, cell.coordinate)
                checked += 1
    assert checked > 500


def test_since_last_time_names_causes_and_figures(folder: Path, tmp_path: Path) -> None:
    """A new order and a new statement in the profile show as causes, with the figures that they changed."""
    orders = tmp_path / "orders-2026.csv"
    text = (EXAMPLES / "orders-2026.csv").read_text(encoding="utf-8")
    header, *rows = text.splitlines()
    late = next(row for row in rows if ",2026-08-" in row and ",sale," in row)
    orders.write_text(
        "\n".join([header, *rows, late.replace(late.split(",")[0], "LATE-1", 1)]) + "\n", encoding="utf-8"
    )
    profile = (EXAMPLES / "seller.toml").read_text(
        encoding="utf-8"
    ) + '\n[[presence]]\nplace = "US-CO"\nkind = "event"\nfrom = 2026-08-01\n'
    (tmp_path / "seller.toml").write_text(profile, encoding="utf-8")
    words = [
        "handoff",
        *ORDERS[:2],
        str(orders),
        "--seller",
        str(tmp_path / "seller.toml"),
        *OPTIONS[2:],
        *AS_OF,
    ]
    done = CliRunner().invoke(
        main, [*words, "--out", str(tmp_path / "out"), "--previous", str(folder / "record.json")]
    )
    assert done.exit_code == 4, done.stderr
    with (tmp_path / "out" / "R-changes.csv").open(encoding="utf-8", newline="") as file:
        changes = list(csv.DictReader(file))
    causes = {row["Figure"]: row["Said in words"] for row in changes if row["What"] == "cause"}
    assert causes["profile"] == "newly said: presence US-CO event from 2026-08-01"
    assert "orders-2026.csv" in causes["files"]
    assert "late orders" in causes["orders and refunds"]
    assert any(row["Place or measure"] == "US-CO" and row["Figure"] == "duty_from" for row in changes)
    assert any(
        row["What"] == "totals" and row["Figure"] == "orders" and row["Difference"] == "1" for row in changes
    )


def test_an_earlier_period_is_compared_as_it_stands_now(folder: Path, tmp_path: Path) -> None:
    """The record of the third quarter, compared from a hand-off of the second: nothing changed."""
    done = CliRunner().invoke(
        main,
        [
            "handoff",
            *ORDERS,
            *OPTIONS[:-1],
            "2026-Q2",
            *AS_OF,
            "--out",
            str(tmp_path / "out"),
            "--previous",
            str(folder / "record.json"),
        ],
    )
    assert done.exit_code == 4, done.stderr
    with (tmp_path / "out" / "R-changes.csv").open(encoding="utf-8", newline="") as file:
        assert [row["What"] for row in csv.DictReader(file)] == [
            "Nothing changed, or nothing to compare with."
        ]


BARE = json.dumps({"title": TITLE, "places": [], "totals": {}, "period": {}})


@pytest.mark.parametrize("text", ["no JSON", "[]", '{"title": "something else"}', BARE, "[" * 100_000])
def test_an_earlier_record_that_is_none_is_5(tmp_path: Path, text: str) -> None:
    """With the mend; also where a part of it is gone."""
    (tmp_path / "record.json").write_text(text, encoding="utf-8")
    done = hand_off(tmp_path / "out", "--previous", str(tmp_path / "record.json"))
    assert done.exit_code == 5
    assert "E516" in done.stderr


@pytest.mark.parametrize("key", ["as_of", "currency", "files", "tie_out", "thresholds", "period", "program"])
def test_an_earlier_record_with_a_part_gone_is_5(record: dict[str, Any], tmp_path: Path, key: str) -> None:
    """Never a fault of the program."""
    text = json.dumps({name: value for name, value in record.items() if name != key})
    (tmp_path / "record.json").write_text(text, encoding="utf-8")
    with pytest.raises(Refusal, match="E516"):
        read_previous(tmp_path / "record.json")


def test_figures_in_another_currency_are_not_subtracted(folder: Path, tmp_path: Path) -> None:
    """Dollars less euros is no difference; the cause is named."""
    profile = (EXAMPLES / "seller.toml").read_text(encoding="utf-8").replace('"USD"', '"EUR"', 1)
    (tmp_path / "seller.toml").write_text(profile, encoding="utf-8")
    words = ["handoff", *ORDERS, "--seller", str(tmp_path / "seller.toml"), *OPTIONS[2:], *AS_OF]
    done = CliRunner().invoke(
        main, [*words, "--out", str(tmp_path / "out"), "--previous", str(folder / "record.json")]
    )
    assert done.exit_code == 4, done.stderr
    with (tmp_path / "out" / "R-changes.csv").open(encoding="utf-8", newline="") as file:
        changes = list(csv.DictReader(file))
    assert {row["What"] for row in changes} == {"cause"}
    assert any("in USD, now in EUR" in row["Said in words"] for row in changes)


def rows_of(folder: Path, name: str) -> list[dict[str, str]]:
    """Read a table of the folder."""
    with (folder / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_row_set_aside_stands_in_the_folder(folder: Path, record: dict[str, Any]) -> None:
    """Also where the sheet shows the first of them only."""
    assert len(rows_of(folder, "set_aside.csv")) == record["tie_out"]["rows_set_aside"] > 0


def test_the_period_is_whole_over_the_sheets_of_the_regimes(folder: Path, record: dict[str, Any]) -> None:
    """United States, Union and elsewhere together are the sales of the period; elsewhere no tax is said to be none."""
    names = ("I-us-period.csv", "J-eu-period.csv", "J4-elsewhere.csv")
    rows = [row for name in names for row in rows_of(folder, name)]
    gross = sum(Decimal(row["Gross sales, as charged"]) for row in rows)
    assert gross == Decimal(record["totals"]["sales"])
    for row in (row for name in names[:2] for row in rows_of(folder, name)):
        titles = list(row)
        first, last = (
            titles.index(title) for title in ("Gross sales, as charged", "Taxable amount, without tax")
        )
        parts = sum((Decimal(row[title]) for title in titles[first + 1 : last + 1]), Decimal(0))
        assert parts == Decimal(row["Gross sales, as charged"]), row["Place"]
    assert {row["Tax there"] for row in rows_of(folder, names[2])} == {"not known"}


def test_every_figure_says_what_it_rests_on(folder: Path) -> None:
    """Fact, seller's statement, assumption or estimate, for every column that holds numbers; every column has its line."""
    book = CalamineWorkbook.from_path(folder / "exposure.xlsx")
    rests = {
        (row["Sheet"], row["Column"]): row["What it rests on"] for row in rows_of(folder, "T-dictionary.csv")
    }
    for tab in TABS[:-1]:
        rows = rows_of(folder, f"{tab}.csv")
        assert {column for sheet, column in rests if sheet == tab} == set(rows[0]) - {"caution"}
        cells = book.get_sheet_by_name(tab).to_python(skip_empty_area=False)
        at = next(number for number, row in enumerate(cells) if row[0] == next(iter(rows[0])))
        numbers = {
            str(title)
            for row in cells[at + 1 :]
            for title, cell in zip(cells[at], row, strict=True)
            if isinstance(cell, (int, float)) and title
        }
        assert all(rests[tab, title] for title in numbers), tab
    assert rests["B-summary", "Collected"].startswith("fact")
    assert rests["B-summary", "Should collect"].startswith("estimate")
    assert rests["C-since-duty", "Paid over (seller's statement)"].startswith("seller's statement")
    assert rests["E-limits", "May reach"] == "assumption"


def test_evidence_names_reasons_as_the_lines_do(folder: Path) -> None:
    """So that the orders can be found."""
    named = {row["Reason"] for row in rows_of(folder, "P2-evidence.csv")}
    assert named
    assert named <= {row["reason"] for row in lines(folder)}


def test_a_folder_of_ours_is_replaced_and_any_other_is_not(tmp_path: Path) -> None:
    """As with the review."""
    out = tmp_path / "out"
    assert hand_off(out).exit_code == 4
    assert hand_off(out).exit_code == 4
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    assert hand_off(out).exit_code == 6
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"
