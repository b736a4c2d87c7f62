"""What a spreadsheet did to a table is undone where only one reading is possible, else refused."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from taxcalc.tables.damage import split
from taxcalc.tables.load import check_tables, load_tables
from taxcalc.tables.schema import NO_VALUE

sys.path.insert(0, str(Path(__file__).parent))
from small_tables import write_all, write_table

NAME = "us/state_rates"
HEADER = [
    "place",
    "state_percent",
    "sourcing_in_state",
    "valid_from",
    "ended",
    "source",
    "basis",
    "checked_on",
]
ROW = ["US-CA", "7.25", "mixed", "2019-01-01", "", "law-a", "official", "2026-11-25"]
THRESHOLD = {
    "place": "US-CA",
    "amount": "500000",
    "currency": "USD",
    "amount_met_when": "over",
    "transactions": "",
    "connector": "amount_only",
    "window": "rolling_12_months",
    "exempt_sales_count": "yes",
    "resale_sales_count": "no",
    "marketplace_sales_count": "yes",
    "duty_kind": "collect",
    "valid_from": "2019-04-01",
    "source": "law-a",
    "basis": "official",
    "checked_on": "2026-11-25",
}
LOCAL = {
    "place": "US-GA",
    "average_percent": "3.49",
    "highest_percent": "5",
    "lowest_percent": "0",
    "valid_from": "2026-01-01",
    "source": "law-a",
    "basis": "official",
    "checked_on": "2026-11-25",
}


@pytest.fixture
def shipped(tmp_path):
    """A folder of small tables."""
    return write_all(tmp_path / "shipped")


def cells(**changed: str) -> list[str]:
    """Give a good row with some cells changed."""
    return [changed.get(name, cell) for name, cell in zip(HEADER, ROW, strict=True)]


def found(shipped, name, rows, mark=","):
    """Write one table and give ids and columns of what is found."""
    write_table(shipped, name, "\n".join(mark.join(row) for row in rows) + "\n")
    return [(each.id, each.column) for each in check_tables(shipped=shipped)]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("begin", ["", "\ufeff"])
def test_separators_line_ends_and_a_byte_order_mark_change_nothing(shipped, mark, end, begin):
    decimal = "7,25" if mark != "," else '"7,25"'
    lines = [mark.join(row) for row in (HEADER, cells(state_percent=decimal))]
    write_table(shipped, NAME, begin + end.join(lines) + end)
    assert load_tables(shipped=shipped)[NAME]["state_percent"].tolist() == [72_500, NO_VALUE]


def test_empty_columns_and_rows_at_the_end_are_left_out(shipped):
    rows = [[*HEADER, "", ""], [*ROW, "", ""], [""] * 10, ["", " ", "\xa0", *[""] * 7]]
    assert found(shipped, NAME, rows, ";") == []
    assert load_tables(shipped=shipped)[NAME].size == 1


def test_a_cell_beyond_the_last_named_column_is_no_empty_one(shipped):
    assert found(shipped, NAME, [[*HEADER, ""], [*ROW, "7"]]) == [("E531", None)]


@pytest.mark.parametrize(("cell", "ppm"), [
    pytest.param("6,625", 66_250, id="in a percentage three digits are decimals: thousands are out of bounds"),
    pytest.param('"7.250"', 72_500, id="quoted, with a zero more"),
    pytest.param("\xa07.25\u202f", 72_500, id="blanks that do not break"),
])  # fmt: skip
def test_a_percentage_with_one_reading_is_read(shipped, cell, ppm):
    assert found(shipped, NAME, [HEADER, cells(state_percent=cell)], ";") == []
    assert load_tables(shipped=shipped)[NAME]["state_percent"].tolist() == [ppm, NO_VALUE]


@pytest.mark.parametrize("cell", [
    pytest.param("7.25%", id="a sign, behind which decimals may be hidden"),
    pytest.param("0725", id="a point lost behind a zero"),
    pytest.param("6625", id="a point taken for thousands"),
    pytest.param("6.05.2026", id="a rate turned into a day"),
    pytest.param("1.234,5", id="two marks"),
    pytest.param("7 25", id="a blank inside"),
    pytest.param("7.25 E+00", id="an exponent"),
    pytest.param("'7.25", id="an apostrophe"),
])  # fmt: skip
def test_a_percentage_with_two_readings_or_none_is_refused(shipped, cell):
    ids = {each for each, _ in found(shipped, NAME, [HEADER, cells(state_percent=cell)], ";")}
    assert ids in ({"E522"}, {"E534"})


@pytest.mark.parametrize(
    ("cell", "minor"), [("500000", 50_000_000), ("500000,00", 50_000_000), ("500000.5", 50_000_050)]
)
def test_an_amount_with_one_reading_is_read(shipped, cell, minor):
    rows = [list(THRESHOLD), [cell if name == "amount" else text for name, text in THRESHOLD.items()]]
    assert found(shipped, "us/thresholds", rows, ";") == []
    assert load_tables(shipped=shipped)["us/thresholds"]["amount"].tolist() == [minor, NO_VALUE]


@pytest.mark.parametrize(
    "cell", ["500,000", "500.000", "500 000", "500.000,00", "$500000", "5E+05", "500'000", "#####"]
)
def test_an_amount_that_could_be_thousands_is_refused(shipped, cell):
    rows = [list(THRESHOLD), [cell if name == "amount" else text for name, text in THRESHOLD.items()]]
    assert found(shipped, "us/thresholds", rows, ";") == [("E523", "amount")]


@pytest.mark.parametrize(
    "cell", ["25.11.2026", "11/25/2026", "11/25/26", "46351", "2026-11-25 00:00:00", "25 Nov 2026"]
)
def test_a_day_in_any_other_form_is_refused(shipped, cell):
    assert found(shipped, NAME, [HEADER, cells(checked_on=cell)]) == [("E521", "checked_on")]


def test_words_of_a_list_are_known_in_any_capitals(shipped):
    rows = [list(THRESHOLD), [*THRESHOLD.values()]]
    for name, text in (("exempt_sales_count", "TRUE"), ("resale_sales_count", "False"), ("basis", "Official"),
                       ("marketplace_sales_count", "YES"), ("amount_met_when", "Over")):  # fmt: skip
        rows[1][rows[0].index(name)] = text
    assert found(shipped, "us/thresholds", rows) == []
    table = load_tables(shipped=shipped)["us/thresholds"]
    assert [bool(table[f"{kind}_sales_count"][0]) for kind in ("exempt", "resale", "marketplace")] == [
        True,
        False,
        True,
    ]
    assert table.basis(table.rows()).tolist() == [0]


@pytest.mark.parametrize("cell", ["WAHR", "1", "ja", "x"])
def test_other_words_for_yes_are_refused(shipped, cell):
    rows = [
        list(THRESHOLD),
        [cell if name == "exempt_sales_count" else text for name, text in THRESHOLD.items()],
    ]
    assert found(shipped, "us/thresholds", rows) == [("E524", "exempt_sales_count")]


def test_zip_codes_without_their_zeros_are_refused(shipped):
    rows = [["zip_from", "zip_to", "place"], ["501", "599", "US-NY"]]
    assert found(shipped, "us/zip_states", rows) == [("E537", "zip_from")]


@pytest.mark.parametrize("title", [
    pytest.param("#NAME?", id="what a spreadsheet shows instead"),
    pytest.param("01.02.2024", id="a day in a local form"),
    pytest.param("1/2/2024", id="the same with strokes"),
    pytest.param("GesetzÃ¼ber", id="read in the wrong encoding"),
    pytest.param("\ufffdber", id="a letter that was no letter"),
    pytest.param("Steuer?nderung", id="a letter lost in saving"),
])  # fmt: skip
def test_a_spoilt_text_is_refused(shipped, title):
    rows = [["id", "publisher", "title"], ["law-a", "Office A", title], ["law-b", "Office B", "Law B"]]
    assert found(shipped, "sources", rows) == [("E550", "title")]


@pytest.mark.parametrize(
    "title", ["Gesetz über “x” – 2024", "26.2.16", "3.0.0", "2025-08", "2024-07-01", "Who? Me"]
)
def test_a_sound_text_is_left_alone(shipped, title):
    rows = [["id", "publisher", "title"], ["law-a", "Office A", title], ["law-b", "Office B", "Law B"]]
    assert found(shipped, "sources", rows) == []
    assert load_tables(shipped=shipped)["sources"]["title"].tolist() == [title, "Law B", ""]


def test_typographic_quotes_are_no_quotes_of_a_csv_file(shipped):
    rows = [HEADER, cells(place="“US-CA”")]
    assert found(shipped, NAME, rows) == [("E525", "place")]


@pytest.mark.parametrize(("changed", "message_id"), [
    pytest.param({"average_percent": "6"}, "E554", id="an average above the highest rate"),
    pytest.param({"lowest_percent": "4"}, "E554", id="a lowest rate above the average"),
    pytest.param({"highest_percent": "27"}, "E553", id="2.7 that lost its point"),
    pytest.param({"average_percent": "-25"}, "E534", id="far below zero"),
    pytest.param({"highest_percent": "0.05", "average_percent": "0"}, "E539", id="a fraction as the highest rate"),
])  # fmt: skip
def test_rates_of_one_row_have_to_fit(shipped, changed, message_id):
    rows = [list(LOCAL), [changed.get(name, text) for name, text in LOCAL.items()]]
    assert [each for each, _ in found(shipped, "us/local_rates", rows)] == [message_id]


def test_a_tiny_average_is_taken_from_the_user_only_where_the_shipped_one_is_tiny(shipped, tmp_path):
    """1.82 % typed with its sign and saved as a plain number is 0.0182; Idaho's average really is 0.03."""
    tiny = {**LOCAL, "place": "US-ID", "average_percent": "0.03"}
    write_table(
        shipped,
        "us/local_rates",
        f"{','.join(LOCAL)}\n{','.join(tiny.values())}\n{','.join(LOCAL.values())}\n",
    )
    own = tmp_path / "own"
    mine = [
        {**tiny, "valid_from": "2026-07-01"},
        {**LOCAL, "average_percent": "0.0349", "valid_from": "2026-07-01"},
    ]
    write_table(
        own, "us/local_rates", "\n".join([",".join(LOCAL), *(",".join(row.values()) for row in mine)])
    )
    assert [(each.id, each.row) for each in check_tables(own, shipped=shipped)] == [("E539", 3)]


def test_an_amount_that_lost_its_point_behind_a_zero_is_refused(shipped):
    rows = [list(THRESHOLD), ["027" if name == "amount" else text for name, text in THRESHOLD.items()]]
    assert found(shipped, "us/thresholds", rows) == [("E523", "amount")]


@pytest.mark.parametrize("region", ["Ontario", "ON", "US-NY", "'CA-ON", "-"])
def test_a_region_is_blank_or_a_code_of_its_country(shipped, region):
    """Anything else would be a key that no address has."""
    row = {"place": "CA", "region": "CA-ON", "tax": "hst", "product_class": "*", "percent": "13", "valid_from": "2010-07-01",
           "source": "law-a", "basis": "official", "checked_on": "2026-11-25"}  # fmt: skip
    assert found(shipped, "elsewhere/rates", [list(row), [*row.values()]]) == []
    row["region"] = region
    assert found(shipped, "elsewhere/rates", [list(row), [*row.values()]]) == [("E524", "region")]


def test_a_holiday_does_not_end_before_it_begins(shipped):
    """As after days and months were swapped."""
    row = {"place": "US-CA", "goods": "clothing", "product_classes": "clothing", "last_day": "2026-02-08", "frees": "whole_item",
           "local_part": "freed", "counts_when": "sold", "seller_may_decline": "no", "valid_from": "2026-07-31",
           "source": "law-a", "basis": "official", "checked_on": "2026-11-25"}  # fmt: skip
    assert found(shipped, "us/holidays", [list(row), [*row.values()]]) == [("E553", "last_day")]


def test_counts_and_days_have_bounds(shipped):
    rows = [list(THRESHOLD), [*THRESHOLD.values()]]
    rows[1][rows[0].index("amount")] = "50000000000000"
    rows[1][rows[0].index("valid_from")] = "1019-04-01"
    assert sorted(found(shipped, "us/thresholds", rows)) == [("E553", "amount"), ("E553", "valid_from")]


def test_zip_codes_and_places_take_no_own_rows_but_may_stand_as_they_are(shipped, tmp_path):
    content = "zip_from,zip_to,place\n90000,90999,US-CA\n"
    write_table(shipped, "us/zip_states", content)
    own = tmp_path / "own"
    write_table(own, "us/zip_states", content.replace(",", ";"))
    assert check_tables(own, shipped=shipped) == []
    assert load_tables(own, shipped=shipped)["us/zip_states"].size == 1
    write_table(own, "us/zip_states", content.replace("90999", "90998"))
    assert [each.id for each in check_tables(own, shipped=shipped)] == ["E533"]


def test_the_separator_is_the_one_that_gives_the_columns():
    """A title may hold semicolons, a note commas."""
    assert split("a;b,c\n1;2,3\n", {"a", "b,c"}) == [["a", "b,c"], ["1", "2,3"]]
    assert split("a,b;c\n1,2;3\n", {"a", "b;c"}) == [["a", "b;c"], ["1", "2;3"]]
