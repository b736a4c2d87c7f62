"""The files of Washington State and the simple CSV: what they give, and what refuses them."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from rate_files import ADDRESS_HEADER, CODES_HEADER, ZIP4_HEADER, add, held, simple, write

from taxcalc.errors import Refusal

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc.errors import Complaint

QUARTER = "20260701,20260930"
ROW = f"98101,0001,0999,1726,.065,.0385,.1035,{QUARTER}"
CODES = ["Seattle,1726,.065,.0385,0,.1035,20260701,20260930", "Kent,1715,.065,.037,0,.102,20260701,20260930"]
ADDRESSES = [
    "1,99,O,1ST AVE,WA,98101,1000,2026Q3,1726,N,,",
    "101,199,O,1ST AVE,WA,98101,1000,2026Q3,1726,N,,",
    "1,99,O,2ND AVE,WA,98101,2000,2026Q3,1726,N,,",
    "1,99,E,2ND AVE,WA,98101,2000,2026Q3,1715,N,,",
    "1,99,B,3RD AVE,WA,98102,,2026Q3,1715,N,,",
]


def refusal(own: Path, *files: Path) -> list[Complaint]:
    """The complaints with which the files are refused."""
    with pytest.raises(Refusal) as caught:
        add(own, *files)
    return [caught.value.complaint, *caught.value.more]


@pytest.mark.source("wa-dor-rate-files")
@pytest.mark.parametrize("row", [
    ROW,
    "98101,0001,0999,1726,6.5,3.85,10.35,2026-07-01,2026-09-30",
    "98101,0001,0999,1726,0.065,0.0385,0.1035,7/1/2026,9/30/2026",
], ids=["fractions", "percent, ISO days", "days month first"])  # fmt: skip
def test_a_range_of_zip4_in_washington_has_its_whole_rate_in_its_quarter(tmp_path: Path, row: str) -> None:
    """Columns ZIP, PLUS4_LOW, PLUS4_HIGH, CODE, STATE, LOCAL, TOT_RATE, EFF_START, EFF_END."""
    add(tmp_path / "own", write(tmp_path, "zip4.csv", [ZIP4_HEADER, row]))
    codes = ["98101-0000", "98101-0001", "98101-0999", "98101-1000", "98101", "98102"]
    zip_code = (5, 103_500, 103_500)
    rates = [zip_code, (4, 103_500, 103_500), (4, 103_500, 103_500), zip_code, zip_code, None]
    assert held(tmp_path / "own", codes, state="US-WA") == rates
    for day, known in (
        (date(2026, 6, 30), 0),
        (date(2026, 7, 1), 1),
        (date(2026, 9, 30), 1),
        (date(2026, 10, 1), 0),
    ):
        assert [each is not None for each in held(tmp_path / "own", ["98101"], day, "US-WA")] == [bool(known)]


@pytest.mark.source("wa-dor-rate-files")
def test_an_address_file_gives_zip4_codes_in_which_all_addresses_have_one_code(tmp_path: Path) -> None:
    """98101-2000 has two codes, so it is known as its ZIP code is; 98102 has addresses without a ZIP+4 only."""
    files = (
        write(tmp_path, "codes.csv", [CODES_HEADER, *CODES]),
        write(tmp_path, "addresses.csv", [ADDRESS_HEADER, *ADDRESSES]),
    )
    (added,) = add(tmp_path / "own", *files)
    codes = ["98101-1000", "98101-2000", "98101", "98102-1000"]
    both = (5, 102_000, 103_500)
    expected = [(4, 103_500, 103_500), both, both, (5, 102_000, 102_000)]
    assert held(tmp_path / "own", codes, state="US-WA") == expected
    assert held(tmp_path / "own", codes, date(2026, 10, 1), "US-WA") == [None] * 4
    assert [file.rows for file in added.new] == [2, 5]


def test_addresses_need_the_rates_of_their_codes(tmp_path: Path) -> None:
    assert refusal(tmp_path / "own", write(tmp_path, "a.csv", [ADDRESS_HEADER, *ADDRESSES]))[0].id == "E579"


@pytest.mark.parametrize(("header", "row", "message", "column"), [
    (ZIP4_HEADER, ROW.replace(".1035", ".1036"), "E578", "TOT_RATE"),
    (ZIP4_HEADER, ROW.replace(".065,.0385", ".066,.0375"), "E565", None),
    (ZIP4_HEADER, ROW.replace("98101", "9810"), "E563", "ZIP"),
    (ZIP4_HEADER, ROW.replace("0001,", "1,"), "E563", "PLUS4_LOW"),
    (ZIP4_HEADER, ROW.replace("0001,0999", "0999,0001"), "E568", None),
    (ZIP4_HEADER, ROW.replace("20260701", "1/7/2026"), "E563", "EFF_START"),
    (ZIP4_HEADER, ROW.replace("20260930", "30/9/2026"), "E563", "EFF_END"),
    (ZIP4_HEADER, ROW + ",", "E562", None),
    (CODES_HEADER, CODES[0].replace(".1035", ".1036"), "E578", "RATE"),
    (CODES_HEADER, CODES[0].replace("1726", "17X6"), "E563", "CODE"),
    (ADDRESS_HEADER, ADDRESSES[0].replace("2026Q3", "3/2026"), "E563", "PERIOD"),
    (ADDRESS_HEADER, ADDRESSES[0].replace("WA,98101", "OR,98101"), "E563", "STATE"),
    (ADDRESS_HEADER, ADDRESSES[0].replace("1000", "100"), "E563", "PLUS4"),
])  # fmt: skip
def test_a_bad_row_of_washington_is_named(
    tmp_path: Path, header: str, row: str, message: str, column: str | None
) -> None:
    """A day first in the month is told from one in which the month comes first: quarters begin with it."""
    found = refusal(tmp_path / "own", write(tmp_path, "file.csv", [header, row]))[0]
    assert (found.id, found.column) == (message, column)
    assert found.row in {2, None}


def test_ranges_of_zip4_in_washington_may_not_overlap(tmp_path: Path) -> None:
    rows = [ROW, ROW.replace("0001,0999", "0999,1999")]
    (found,) = refusal(tmp_path / "own", write(tmp_path, "zip4.csv", [ZIP4_HEADER, *rows]))
    assert (found.id, found.row, found.value) == ("E567", 3, "98101-0999 to 98101-1999")


def test_the_simple_csv_gives_whole_rates_for_any_state(tmp_path: Path) -> None:
    """By ZIP code and ZIP+4, several states in one file, open and closed periods."""
    rows = [
        "CO,80202,8.81,2026-01-01,2026-12-31,Denver: rates 2026",
        "CO,80202-1234,9.15,2026-01-01,,Denver: rates 2026",
        "CO,802025678,9.15,2026-01-01,,Denver: rates 2026",
        "US-TX,75001,8.25,2026-01-01,,Comptroller",
    ]
    colorado, texas = add(tmp_path / "own", simple(tmp_path, *rows))
    codes = ["80202", "80202-1234", "80202-5678", "80202-0001", "80203"]
    expected = [(5, 88_100, 91_500), (4, 91_500, 91_500), (4, 91_500, 91_500), (5, 88_100, 91_500), None]
    assert held(tmp_path / "own", codes, state="US-CO") == expected
    assert held(tmp_path / "own", codes[:2], date(2027, 1, 1), "US-CO")[1] == (4, 91_500, 91_500)
    assert held(tmp_path / "own", ["75001"], state="US-TX") == [(5, 82_500, 82_500)]
    assert colorado.new[0].sources == ["Denver: rates 2026"]
    assert (colorado.new[0].rows, texas.new[0].rows) == (3, 1)


@pytest.mark.parametrize(("row", "message", "column", "value"), [
    ("CO,8020,8.81,2026-01-01,,x", "E563", "postal_code", "8020"),
    ("CO,80202-123,8.81,2026-01-01,,x", "E563", "postal_code", "80202-123"),
    ("XX,80202,8.81,2026-01-01,,x", "E563", "state", "XX"),
    ("CO,80202,8.81 %,2026-01-01,,x", "E563", "rate_percent", "8.81 %"),
    ("CO,80202,8.81111,2026-01-01,,x", "E563", "rate_percent", "8.81111"),
    ("CO,80202,881,2026-01-01,,x", "E577", "rate_percent", "881"),
    ("CO,80202,0.0881,2026-01-01,,x", "E577", "rate_percent", "0.0881"),
    ("CO,80202,2.5,2026-01-01,,x", "E577", "rate_percent", "2.5"),
    ("CO,80202,8.81,1.1.2026,,x", "E563", "valid_from", "1.1.2026"),
    ("CO,80202,8.81,,,x", "E563", "valid_from", ""),
    ("CO,80202,8.81,2026-01-01,2025-12-31,x", "E568", None, None),
    ("CO,80202,8.81,2026-01-01,,", "E563", "source", ""),
    ("CO,80202,8.81,2026-01-01,", "E562", None, "CO,80202,8.81,2026-01-01,"),
    ("CO,80202,8.81,2026-01-01,,a,b", "E562", None, "CO,80202,8.81,2026-01-01,,a,b"),
])  # fmt: skip
def test_a_bad_row_of_the_simple_csv_is_named(
    tmp_path: Path, row: str, message: str, column: str | None, value: str | None
) -> None:
    found = refusal(tmp_path / "own", simple(tmp_path, "CO,80201,8.81,2026-01-01,,x", row))[0]
    assert (found.id, found.row, found.column, found.value) == (message, 3, column, value)


def test_two_rates_for_one_code_on_one_day_are_refused(tmp_path: Path) -> None:
    rows = ["CO,80202,8.81,2026-01-01,,x", "CO,80202,8.91,2026-07-01,,x"]
    (found,) = refusal(tmp_path / "own", simple(tmp_path, *rows))
    assert (found.id, found.row, found.value) == ("E567", 3, "80202 to 80202")


def test_a_blank_line_and_other_line_ends_are_no_rows(tmp_path: Path) -> None:
    path = simple(tmp_path, 'CO,80202,8.81,2026-01-01,,"Denver, Colorado"', "", "CO,80203,8.81,2026-01-01,,x")
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    (added,) = add(tmp_path / "own", path)
    assert added.new[0].rows == 2
    assert added.new[0].sources == ["Denver, Colorado", "x"]
