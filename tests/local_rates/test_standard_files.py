"""Rate and boundary files of the Streamlined standard: what they give, and every self-check with a file that fails it."""

from __future__ import annotations

import gzip
import re
import zipfile
from datetime import date
from typing import TYPE_CHECKING

import pytest
from rate_files import (
    BOUNDARY,
    COUNTY,
    JURISDICTIONS,
    OPEN,
    RATES,
    STATE,
    add,
    boundary_row,
    held,
    plain_boundary,
    plain_rates,
    rate_row,
    standard,
    write,
)

from taxcalc.errors import Refusal
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc.errors import Complaint

COUNTY_ONLY, IN_CITY, IN_DISTRICT = 77_500, 93_000, 103_000
CODES = ["66044", "66044-1500", "66044-2999", "66044-3000", "66047-0001", "66050"]
PLAIN = [
    (5, COUNTY_ONLY, IN_DISTRICT),
    (4, IN_CITY, IN_CITY),
    (4, IN_DISTRICT, IN_DISTRICT),
    (5, COUNTY_ONLY, IN_DISTRICT),
    (5, COUNTY_ONLY, COUNTY_ONLY),
    None,
]


def refusal(own: Path, *files: Path, **how: bool) -> list[Complaint]:
    """The complaints with which the files are refused; nothing is written then."""
    before = sorted(own.rglob("*"))
    with pytest.raises(Refusal) as caught:
        add(own, *files, **how)
    assert sorted(own.rglob("*")) == before
    return [caught.value.complaint, *caught.value.more]


@pytest.mark.source("oh-dor-sstp-rate-table", "sst-rate-boundary-files")
@pytest.mark.parametrize("later", [False, True], ids=["state in field 22", "state in field 23"])
def test_a_zip4_has_one_rate_and_a_zip_code_a_range(tmp_path: Path, later: bool) -> None:  # noqa: FBT001 - a parameter
    """The rates of all jurisdictions of a row are added, each by its kind and code; both numberings are read alike."""
    (added,) = add(tmp_path / "own", *standard(tmp_path, spans=plain_boundary(later=later)))
    assert held(tmp_path / "own", CODES) == PLAIN
    assert (added.checks.known_zips > added.checks.covered_zips, added.checks.covered_zips) == (True, 6)
    assert added.checks.disputed == []


def test_the_unit_is_the_one_in_which_the_state_rate_is_the_one_held(tmp_path: Path) -> None:
    """Kansas has 6.5 percent: 0.065 is a fraction, 6.5 is percent."""
    for rates in (
        plain_rates(),
        [rate_row("45", "20", "6.5"), rate_row("00", "045", "1.25"), rate_row("01", "36000", "1.55"),
         rate_row("63", "00123", "1.0")],
    ):  # fmt: skip
        own = tmp_path / rates[0].replace(",", "-")
        (added,) = add(own, *standard(tmp_path, rates))
        assert held(own, CODES) == PLAIN
    assert added.new[0].unit == "percent"


@pytest.mark.parametrize("rate", ["650", "0.07", "65", "0"])
def test_another_state_rate_is_refused(tmp_path: Path, rate: str) -> None:
    """A rate in units of its own, or of another state, is never guessed at."""
    (found,) = refusal(
        tmp_path / "own", *standard(tmp_path, [rate_row("45", "20", rate), *plain_rates()[1:]])
    )
    assert (found.id, found.value) == ("E565", rate)
    assert "6.5" in found.why


def test_a_state_rate_counts_on_its_own_days_only(tmp_path: Path) -> None:
    """The rate that is held from 2015 on proves nothing for a row that ended before."""
    early = [rate_row("45", "20", "0.065", "19900101", "19991231"), *plain_rates()[1:]]
    assert refusal(tmp_path / "own", *standard(tmp_path, early))[0].id == "E565"


@pytest.mark.source("ut-tax-bulletin-01-19")
def test_utah_lists_its_state_rate_without_the_local_part_that_holds_everywhere(tmp_path: Path) -> None:
    """us/state_rates holds 4.85 + 1.25 in one figure."""
    rates = write(tmp_path, "UTR2026Q3MAY28", [f"49,45,49,4.85,4.85,0,0,20200101,{OPEN}"])
    (added,) = add(tmp_path / "own", rates)
    assert added.new[0].unit == "percent"


def test_a_header_in_the_rate_file_is_no_row(tmp_path: Path) -> None:
    header = "State,Type,Code,Intra,Inter,FoodIntra,FoodInter,Begin,End"
    (added,) = add(tmp_path / "own", *standard(tmp_path, [header, *plain_rates()]))
    assert added.new[0].rows == len(JURISDICTIONS)


def test_the_rate_of_sales_from_outside_is_taken(tmp_path: Path) -> None:
    rates = [*plain_rates()[:3], rate_row("63", "00123", "0.01", inside="0.02")]
    (added,) = add(tmp_path / "own", *standard(tmp_path, rates))
    assert held(tmp_path / "own", CODES) == PLAIN
    assert any("1 rates differ for sellers inside the state" in note for note in added.checks.notes)


@pytest.mark.parametrize(("row", "message", "column", "value"), [
    ("20,00,045,0.0125,0.0125,0,0,20200101", "E562", None, "20,00,045,0.0125,0.0125,0,0,20200101"),
    (f"20,00,045,0.0125,0.0125,0,0,20200101,{OPEN},", "E562", None, f"20,00,045,0.0125,0.0125,0,0,20200101,{OPEN},"),
    (f"21,00,045,0.0125,0.0125,0,0,20200101,{OPEN}", "E563", "State", "21"),
    (f"20,0,045,0.0125,0.0125,0,0,20200101,{OPEN}", "E563", "JurisdictionType", "0"),
    (f"20,00,0450001,0.0125,0.0125,0,0,20200101,{OPEN}", "E563", "JurisdictionFIPSCode", "0450001"),
    (f"20,00,045,1.25%,0.0125,0,0,20200101,{OPEN}", "E563", "GeneralTaxRateIntrastate", "1.25%"),
    (f'20,00,045,0.0125,"0,0125",0,0,20200101,{OPEN}', "E563", "GeneralTaxRateInterstate", "0,0125"),
    (f"20,00,045,0.0125,-0.0125,0,0,20200101,{OPEN}", "E563", "GeneralTaxRateInterstate", "-0.0125"),
    (f"20,00,045,0.0125,0.01250005,0,0,20200101,{OPEN}", "E563", "GeneralTaxRateInterstate", "0.01250005"),
    (f"20,00,045,0.0125,0.0125,x,0,20200101,{OPEN}", "E563", "FoodDrugTaxRateIntrastate", "x"),
    (f"20,00,045,0.0125,0.0125,0,0,20200230,{OPEN}", "E563", "EffectiveBeginDate", "20200230"),
    ("20,00,045,0.0125,0.0125,0,0,20200101,2020", "E563", "EffectiveEndDate", "2020"),
    ("20,00,045,0.0125,0.0125,0,0,20200101,20191231", "E568", None, None),
])  # fmt: skip
def test_a_bad_row_of_rates_is_named(
    tmp_path: Path, row: str, message: str, column: str | None, value: str | None
) -> None:
    rates = [plain_rates()[0], row, *plain_rates()[2:]]
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, rates))
    assert (found.id, found.row, found.column, found.value) == (message, 2, column, value)
    assert found.file == str(tmp_path / RATES)


def test_periods_of_one_jurisdiction_may_not_overlap(tmp_path: Path) -> None:
    rates = [*plain_rates(), rate_row(*COUNTY[:2], "0.02", "20260701")]
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, rates))
    assert (found.id, found.row, found.value) == ("E567", 5, "00/045")
    assert "row 2" in found.why


@pytest.mark.parametrize("row", [
    boundary_row("Z", "66044") + ",",
    boundary_row("Z", "66044") + ",,",
    boundary_row("Z", "66044").rsplit(",", 1)[0],
    "Z,20200101",
], ids=["one field more", "two more", "one less", "cut off"])  # fmt: skip
def test_check_1_counts_of_fields_differ_by_whole_groups_of_three(tmp_path: Path, row: str) -> None:
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, spans=[*plain_boundary(), row]))
    assert (found.id, found.row, found.value) == ("E569", 5, row)
    assert "whole groups of three" in found.why


def test_check_1_holds_for_all_rows_alike(tmp_path: Path) -> None:
    """A whole file with one field too many is no layout that is known."""
    found = refusal(tmp_path / "own", *standard(tmp_path, spans=[f"{row}," for row in plain_boundary()]))
    assert [each.id for each in found] == ["E569"] * 3


@pytest.mark.parametrize(("rows", "words"), [
    ([boundary_row("Z", "66044", state="21")], "neither field 22 nor field 23"),
    ([boundary_row("Z", "66044"), boundary_row("Z", "66045", later=True) + ",,,20"], "whole groups of three"),
    ([boundary_row("Z", "66044"), boundary_row("Z", "66045", state="19")], "neither field 22 nor field 23"),
    ([boundary_row("Z", "66044", county="20")], "both of the fields 22 and 23"),
])  # fmt: skip
def test_check_2_the_code_of_the_state_stands_in_one_of_two_fields(
    tmp_path: Path, rows: list[str], words: str
) -> None:
    """None or both: refused, with up to three lines shown."""
    found = refusal(tmp_path / "own", *standard(tmp_path, spans=rows))
    assert {each.id for each in found} == {"E569"}
    assert words in found[0].why
    assert all(each.value in rows for each in found)


@pytest.mark.parametrize(("changes", "column"), [
    ({"county": "46"}, "county"),
    ({"county": "046"}, "county"),
    ({"city": "3600"}, "place"),
    ({"districts": ("001234",)}, "special tax district code"),
])  # fmt: skip
def test_check_3_codes_have_their_widths_and_counties_are_of_the_state(
    tmp_path: Path, changes: dict[str, str], column: str
) -> None:
    """046 is no county of Kansas: their codes are odd."""
    rows = [*plain_boundary(), boundary_row("Z", "66100", **changes)]  # type: ignore[arg-type]
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, spans=rows))
    assert (found.id, found.row, found.column) == ("E563", 5, column)


def test_check_4_jurisdictions_without_a_rate_refuse_the_file_above_half_a_percent(tmp_path: Path) -> None:
    """One of 200 rows is set aside and named; one of 199 is too many."""
    fine = [boundary_row("Z", f"{code}") for code in range(66100, 66299)]
    lost = boundary_row("Z", "66300", city="99999")
    (added,) = add(tmp_path / "own", *standard(tmp_path, spans=[*fine, lost]))
    assert added.checks.orphans.tolist() == [199]
    assert added.checks.orphan_words == ["01/99999"]
    assert (added.new[1].rows, added.new[1].set_aside) == (200, 1)
    assert held(tmp_path / "own", ["66300", "66100"]) == [None, (5, COUNTY_ONLY, COUNTY_ONLY)]
    (found,) = refusal(tmp_path / "other", *standard(tmp_path, spans=[*fine[1:], lost]))
    assert (found.id, found.row, found.value) == ("E572", 199, "01/99999")


def test_check_4_looks_at_the_same_days(tmp_path: Path) -> None:
    """A rate that begins a day after the boundary row is none for it."""
    rates = [plain_rates()[0], rate_row(*COUNTY, "20200102"), *plain_rates()[2:]]
    found = refusal(tmp_path / "own", *standard(tmp_path, rates))
    assert [each.id for each in found] == ["E572"] * 3
    assert found[0].value == "00/045"


def test_check_5_rows_of_type_z_lie_among_the_zip_codes_of_the_state(tmp_path: Path) -> None:
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, spans=[boundary_row("Z", "80202")]))
    assert found.id == "E569"
    assert "among the ZIP codes of Kansas" in found.why


@pytest.mark.source("ssuta-305")
def test_check_6_a_zip_row_that_is_not_the_lowest_rate_in_it_is_reported(tmp_path: Path) -> None:
    """The lowest combined rate of the ZIP code applies by law, whatever its own row says."""
    spans = [boundary_row("Z", "66044", city="36000"), boundary_row("4", "66044-1000", "66044-1999")]
    (added,) = add(tmp_path / "own", *standard(tmp_path, spans=spans))
    assert added.checks.disputed == ["66044"]
    assert held(tmp_path / "own", ["66044"]) == [(5, COUNTY_ONLY, IN_CITY)]


@pytest.mark.parametrize(("row", "value"), [
    (boundary_row("Z", "66044", city="36000", begin="20260101"), "66044 to 66044"),
    (boundary_row("4", "66044-1500", "66044-1600"), "66044-1500 to 66044-1600"),
    (boundary_row("4", "66044-0500", "66044-1000"), "66044-0500 to 66044-1000"),
    (boundary_row("4", "66044-2000", "66044-2999", city="36000", districts=("00123",)), "66044-2000 to 66044-2999"),
])  # fmt: skip
def test_check_7_periods_and_ranges_may_not_overlap(tmp_path: Path, row: str, value: str) -> None:
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, spans=[*plain_boundary(), row]))
    assert (found.id, found.row, found.value) == ("E567", 5, value)


@pytest.mark.parametrize(("row", "message", "column"), [
    (boundary_row("X", "66044"), "E563", "record type"),
    (boundary_row("Z", "6604"), "E563", "ZIP code low"),
    (boundary_row("Z", "66100-0001", "66100"), "E563", "ZIP extension low"),
    (boundary_row("4", "66044-100", "66044-0200"), "E563", "ZIP extension low"),
    (boundary_row("4", "66044-4000", "66044-3000"), "E569", None),
    (boundary_row("Z", "66100", "66099"), "E569", None),
    (boundary_row("A", "6604"), "E563", "ZIP code"),
    (boundary_row("Z", "66100", begin="20261301"), "E563", "beginning effective date"),
    (boundary_row("Z", "66100", districts=("",)), "E569", None),
    (boundary_row("Z", "66100", districts=("00123", "00123")), "E569", None),
])  # fmt: skip
def test_a_bad_row_of_boundaries_is_named(tmp_path: Path, row: str, message: str, column: str | None) -> None:
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, spans=[*plain_boundary(), row]))
    assert (found.id, found.row, found.column) == (message, 5, column)


def test_address_rows_widen_what_is_known_of_their_zip_code(tmp_path: Path) -> None:
    """Streets are not kept, so an address cannot be told from its neighbours."""
    spans = [boundary_row("Z", "66044"), boundary_row("A", "66044-0001", city="36000", street="MAIN"),
             boundary_row("A", "66044", districts=("00123",), street="ELM, OLD".replace(",", ""))]  # fmt: skip
    add(tmp_path / "own", *standard(tmp_path, spans=spans))
    assert held(tmp_path / "own", ["66044-0001", "66044"]) == [(5, COUNTY_ONLY, IN_CITY)] * 2


def test_the_same_address_may_not_have_two_rows_on_one_day(tmp_path: Path) -> None:
    spans = [*plain_boundary(), boundary_row("A", "66044"), boundary_row("A", "66044", city="36000")]
    (found,) = refusal(tmp_path / "own", *standard(tmp_path, spans=spans))
    assert (found.id, found.row) == ("E567", 6)


def test_a_range_of_zip4_may_pass_from_one_zip_code_to_the_next(tmp_path: Path) -> None:
    spans = [boundary_row("Z", "66044"), boundary_row("4", "66044-9000", "66046-0999", city="36000")]
    add(tmp_path / "own", *standard(tmp_path, spans=spans))
    codes = ["66044-8999", "66044-9000", "66045-0000", "66046-0999", "66046-1000"]
    rates = [(5, COUNTY_ONLY, IN_CITY), *[(4, IN_CITY, IN_CITY)] * 3, (5, IN_CITY, IN_CITY)]
    assert held(tmp_path / "own", codes) == rates


def test_rates_and_boundaries_change_on_their_own_days(tmp_path: Path) -> None:
    """Both sides of each day: the county's rate rises on 2026-07-01, the city grows on 2026-10-01."""
    rates = [rate_row(*STATE), rate_row("00", "045", "0.01", "20200101", "20260630"),
             rate_row("00", "045", "0.02", "20260701"), rate_row("01", "36000", "0.01")]  # fmt: skip
    spans = [boundary_row("Z", "66044"),
             boundary_row("4", "66044-1000", "66044-1999", end="20260930"),
             boundary_row("4", "66044-1000", "66044-1999", begin="20261001", city="36000")]  # fmt: skip
    add(tmp_path / "own", *standard(tmp_path, rates, spans))
    days = [date(2019, 12, 31), date(2020, 1, 1), date(2026, 6, 30), date(2026, 7, 1), date(2026, 9, 30),
            date(2026, 10, 1)]  # fmt: skip
    found = [held(tmp_path / "own", ["66044-1000"], day)[0] for day in days]
    expected = [None, *[(4, rate, rate) for rate in (75_000, 75_000, 85_000, 85_000, 95_000)]]
    assert found == expected


def test_compressed_files_are_read(tmp_path: Path) -> None:
    rates, spans = standard(tmp_path / "plain")
    (tmp_path / f"{RATES}.csv.gz").write_bytes(gzip.compress(rates.read_bytes()))
    with zipfile.ZipFile(tmp_path / f"{BOUNDARY}.zip", "w") as archive:
        archive.write(spans, BOUNDARY)
    add(tmp_path / "own", tmp_path / f"{RATES}.csv.gz", tmp_path / f"{BOUNDARY}.zip")
    assert held(tmp_path / "own", CODES) == PLAIN


@pytest.mark.parametrize(("name", "content", "message"), [
    (RATES, b"", "E564"),
    (RATES, b"\xff\xfe20,00", "E585"),
    (RATES, b'20,45,20,"0.065', "E585"),
    (RATES, b"\xff,45,20,0.065,0.065,0,0,20200101,29991231\n", "E585"),
    (f"{RATES}.zip", b"no archive", "E585"),
    (f"{RATES}.gz", b"no archive", "E585"),
    ("rates.csv", b"a,b,c\n1,2,3\n", "E584"),
    ("COR2026Q3MAY28", b"08,45,08,0.029,0.029,0,0,20200101,29991231\n", "E566"),
    (BOUNDARY, b"", "E564"),
])  # fmt: skip
def test_hostile_files_are_refused(tmp_path: Path, name: str, content: bytes, message: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert refusal(tmp_path / "own", path)[0].id == message


def test_a_boundary_file_needs_the_rate_file(tmp_path: Path) -> None:
    """Together, or the rate file first."""
    rates, spans = standard(tmp_path)
    assert refusal(tmp_path / "own", spans)[0].id == "E579"
    (first,) = add(tmp_path / "own", rates)
    assert (first.state.zones, held(tmp_path / "own", CODES)) == (0, [None] * len(CODES))
    add(tmp_path / "own", spans)
    assert held(tmp_path / "own", CODES) == PLAIN


@pytest.mark.source("ssuta-305")
def test_the_states_of_the_standard_are_rows() -> None:
    """24 members; the rule of the lowest rate is read in the enacted sections of Kansas, Rhode Island, West Virginia."""
    tables = load_tables()
    table = tables["us/streamlined_states"]
    assert table.size == 24
    rows = (
        table.lookup(20_000, place="US-KS"),
        table.lookup(20_000, place="US-RI"),
        table.lookup(20_000, place="US-WV"),
    )
    assert all(table["lowest_rate_in_zip"][row] and table["source"][row] == "ssuta-305" for row in rows)
    codes = tables["us/state_codes"]
    assert [str(codes["numeric_code"][codes.lookup(place=f"US-{state}")]) for state in ("WV", "KS", "OH")] == [
        "54", "20", "39",
    ]  # fmt: skip
    assert all(re.fullmatch(r"\d{3}( \d{3})*", text) for text in codes["county_codes"][:-1].tolist())
