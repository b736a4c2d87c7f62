"""Order files that are refused as a whole: one slip each, with the words of the complaint."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from taxcalc.errors import Refusal
from taxcalc.intake import csv_blocks, read_orders
from taxcalc.tables.load import Tables, load_tables

if TYPE_CHECKING:
    from pathlib import Path

HEADER = "order_id,ordered_on,currency,ship_to_country,item_amount\n"
ROW = "A-1,2025-01-01,EUR,DE,1.00\n"


@pytest.fixture(scope="module")
def tables() -> Tables:
    """Load the shipped tables."""
    return load_tables()


def zipped() -> bytes:
    """Make a zip archive, as a workbook is."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("orders.csv", HEADER + ROW)
    return file.getvalue()


def complaint(orders: Any, tables: Tables, **options: Any) -> str:  # noqa: ANN401 - whatever a caller may give
    """Give the words of the refusal, whose exit code is 3."""
    with pytest.raises(Refusal) as caught:
        read_orders(orders, tables=lambda: tables, **options)
    assert caught.value.exit_code == 3
    return str(caught.value)


FILES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "E305 orders.csv: the file is empty."),
    "only blank lines": (b"\n\r\n  \n", "E305 orders.csv: the file is empty."),
    "header only": (HEADER.encode(), "E306 orders.csv: the file has a header but no orders."),
    "zip or workbook": (
        zipped(),
        "E307 orders.csv: this is no CSV file; it looks like a spreadsheet workbook or a zip",
    ),
    "pdf": (b"%PDF-1.7\nabc", "it looks like a PDF document. Export the orders as CSV."),
    "web page": (b"\n<!DOCTYPE html><html>", "it looks like a web page."),
    "gzip": (b"\x1f\x8b\x08\x00abc", "it looks like a gzip archive. Unpack it first."),
    "UTF-16": (
        (HEADER + ROW).encode("utf-16"),
        "E308 orders.csv: the file is written in UTF-16, not in UTF-8.",
    ),
    "UTF-16 without mark": ((HEADER + ROW).encode("utf-16-le"), "E308 orders.csv"),
    "not UTF-8": (
        (HEADER + ROW + "é,2025-01-01,EUR,DE,1.00\n").encode("cp1252"),
        "E309 orders.csv, row 3: the byte E9 is no UTF-8, so the text would be read wrongly.",
    ),
    "column missing": (
        b"order_id,order date,currency,ship_to_country,item_amount,name\nA,2025-01-01,EUR,DE,1,x\n",
        (
            'E310 orders.csv, column "ordered_on": the column ordered_on, which is needed, is missing. The '
            'headers are: "order_id", "order date", "currency", "ship_to_country", "item_amount", "name". '
            'If it is "order date", write in columns.toml under [rename]: "order date" = "ordered_on".'
        ),
    ),
    "no header of ours": (b"a,b\n1,2\n", 'under [rename]: "your header" = "order_id".'),
    "column twice": (
        (HEADER.strip() + ",Currency\n" + ROW.strip() + ",USD\n").encode(),
        'column "currency": the column stands in the file more than once: "currency", "Currency".',
    ),
    "quote never closed": (
        (HEADER + ROW + ROW + '"A-2,2025-01-01,EUR,DE,1.00\n' + ROW).encode(),
        "E312 orders.csv, row 4: a double quote is opened in this row and not closed properly.",
    ),
    "quote never closed in the header": (f'\n"{HEADER}{ROW}'.encode(), "E312 orders.csv, row 2:"),
    "quote closed too late": (
        (
            HEADER + ROW + '"A-2,2025-01-01,EUR,DE,1.00\n"A-3",2025-01-01,EUR,DE,1.00\n"A-4",x,EUR,DE,1.00\n'
        ).encode(),
        "E312 orders.csv, row 3:",
    ),
    "scientific order numbers": (
        (HEADER + ROW + "1.23457E+19,2025-01-01,EUR,DE,1.00\n").encode(),
        'E313 orders.csv, row 3, column "order_id": the order number "1.23457E+19" was damaged by a',
    ),
    "order numbers as decimals": (
        (HEADER + "1001.0,2025-01-01,EUR,DE,1.00\n1002.0,2025-01-01,EUR,DE,1.00\n").encode(),
        'the order number "1001.0" was damaged',
    ),
    "every row bad": (
        (HEADER + "A-1,03/04/2025,EUR,DE,1.00\nA-2,04/04/2025,EUR,DE,1.00\n").encode(),
        (
            'E314 orders.csv, row 2, column "ordered_on": not one row of the file can be used. '
            'The first one: "03/04/2025", because the value is no day of the calendar in ISO form.'
        ),
    ),
    "broken Parquet": (b"PAR1 and nothing after it", "E317 orders.csv: the Parquet file cannot be read:"),
}


@pytest.mark.parametrize(("contents", "words"), FILES.values(), ids=FILES.keys())
def test_a_broken_file_is_refused_in_words(
    contents: bytes, words: str, tmp_path: Path, tables: Tables
) -> None:
    """The complaint names the file, the row where there is one, and the mend."""
    path = tmp_path / "orders.csv"
    path.write_bytes(contents)
    assert words in complaint(path, tables)


@pytest.mark.parametrize("size", [60, 100, 1000])
def test_rows_are_named_rightly_in_later_blocks(
    size: int, tmp_path: Path, tables: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However the file is cut, the row of a bad byte, a damaged number and an open quote is the same."""
    monkeypatch.setattr(csv_blocks, "BLOCK_BYTES", size)
    path = tmp_path / "orders.csv"
    good = HEADER + ROW * 9
    for bad, words in (
        (b"\xe9" + ROW.encode(), "row 11: the byte E9"),
        (b"1.5E+10" + ROW[3:].encode(), "row 11, column"),
        (b'"' + ROW.encode(), "row 11: a double quote"),
    ):
        monkeypatch.setattr("taxcalc.intake.layout.HEAD_BYTES", 100)
        path.write_bytes(good.encode() + bad + ROW.encode() * 3)
        assert words in complaint(path, tables)


def test_paths_that_are_no_files(tmp_path: Path, tables: Tables) -> None:
    """Nothing given, nothing there, a folder."""
    assert complaint([], tables).startswith("E300: no order file was given.")
    assert "E301" in complaint(tmp_path / "none.csv", tables)
    assert "this is a folder" in complaint(tmp_path, tables)


def test_one_refused_file_refuses_the_run(tmp_path: Path, tables: Tables) -> None:
    """A good file beside it does not help."""
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_text(HEADER + ROW)
    bad.write_text(HEADER)
    assert "E306 bad.csv" in complaint([good, bad], tables)


def test_a_file_that_grows_while_it_is_read_is_refused(
    tmp_path: Path, tables: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its size is compared before and after."""
    path = tmp_path / "growing.csv"
    path.write_text(HEADER + ROW)
    parse = csv_blocks.parse

    def grow(*parts: Any) -> Any:  # noqa: ANN401 - passed through
        with path.open("a") as file:
            file.write(ROW)
        return parse(*parts)

    monkeypatch.setattr("taxcalc.intake.csv_file.parse", grow)
    assert "E304 growing.csv: the file changed while it was being read." in complaint(path, tables)


def test_too_many_names_are_no_names(tmp_path: Path, tables: Tables, monkeypatch: pytest.MonkeyPatch) -> None:
    """A column with a different fulfiller on every line is another column."""
    monkeypatch.setattr("taxcalc.intake.gather._MOST_NAMES", 5)
    path = tmp_path / "names.csv"
    rows = "".join(f"{ROW.strip()},f{at}\n" for at in range(9))
    path.write_text(HEADER.strip() + ",fulfiller\n" + rows)
    assert 'E316 names.csv, column "fulfiller": the column holds 9 different names' in complaint(path, tables)


@pytest.mark.parametrize("column", ["item_amount", "order_id", "quantity"])
def test_binary_floats_are_refused(column: str, tmp_path: Path, tables: Tables) -> None:
    """In a frame, in an object column and in a Parquet file, also where the number happens to be whole."""
    frame = pd.read_csv(io.StringIO(HEADER + ROW), dtype=str).assign(quantity="1")
    for values in (pd.Series([1.0]), pd.Series([1.0], dtype=object)):
        words = complaint(frame.assign(**{column: values}), tables)
        assert f'E315 DataFrame, column "{column}": the column holds binary floating-point numbers' in words
    table = pa.Table.from_pandas(frame)
    table = table.set_column(table.column_names.index(column), column, pa.array([1.0]))
    pq.write_table(table, tmp_path / "floats.parquet")
    assert "E315 floats.parquet" in complaint(tmp_path / "floats.parquet", tables)


MAPS: dict[str, tuple[bytes, str]] = {
    "no TOML": (b"[rename\n", "E541 columns.toml: the column map is not written as TOML:"),
    "not UTF-8": (b'[rename]\n"\xe9" = "order_id"\n', "E541 columns.toml"),
    "unknown section": (
        b"[renames]\n",
        'E542 columns.toml: "renames" is not known in the column map. Did you mean "rename"?',
    ),
    "unknown column": (
        b'[rename]\nNo = "order"\n',
        'E542 columns.toml: "order" is not known in [rename]. Did you mean "order_id"?',
    ),
    "far from any": (b'[rename]\nNo = "zzz"\n', '"zzz" is not known in [rename]. Write one of: order_id,'),
    "constant order number": (b'[constant]\norder_id = "1"\n', '"order_id" is not known in [constant].'),
    "words of an amount": (b'[values.item_amount]\nx = "1"\n', '"item_amount" is not known in [values].'),
    "a number": (
        b"[constant]\nquantity = 1\n",
        "E543 columns.toml: constant.quantity has to be a text in double quotes.",
    ),
    "no section": (b'rename = "x"\n', "E543 columns.toml: rename has to be a section such as [rename]."),
    "values without column": (b'[values]\nentry = "x"\n', "values.entry has to be a section [values.entry]."),
    "renamed twice": (
        b'[rename]\nA = "order_id"\nB = "order_id"\n',
        'E544 columns.toml, column "order_id": "A" and "B" are both renamed to order_id.',
    ),
}


@pytest.mark.parametrize(("contents", "words"), MAPS.values(), ids=MAPS.keys())
def test_a_broken_column_map_is_refused_in_words(
    contents: bytes, words: str, tmp_path: Path, tables: Tables
) -> None:
    """Exit code 5, the nearest known name, and no order is read."""
    orders, columns = tmp_path / "orders.csv", tmp_path / "columns.toml"
    orders.write_text(HEADER + ROW)
    columns.write_bytes(contents)
    with pytest.raises(Refusal) as caught:
        read_orders(orders, tables=lambda: tables, columns=columns)
    assert caught.value.exit_code == 5
    assert words in str(caught.value)


def test_a_column_map_that_is_not_there(tmp_path: Path, tables: Tables) -> None:
    """The path is named."""
    with pytest.raises(Refusal, match=r"E540 .*none\.toml: the column map cannot be read: No such file"):
        read_orders(tmp_path / "orders.csv", tables=lambda: tables, columns=tmp_path / "none.toml")


def test_a_personal_column_reaches_no_output(tmp_path: Path, tables: Tables) -> None:
    """A name beside a misfit, a bad value and a good row is nowhere in what intake keeps."""
    path = tmp_path / "orders.csv"
    row = f"{ROW.strip()},Erika Muster\n"
    path.write_text(
        HEADER.strip() + ",buyer name\n" + row + row.replace("1.00", "?") + row.replace(",1.00", "")
    )
    intake = read_orders(path, tables=lambda: tables)
    kept = f"{intake.set_aside.frame().to_dict()} {intake.notes} {intake.tie_out.as_dict()}"
    assert intake.tie_out.rows_set_aside == 2
    assert "Erika" not in kept
    assert intake.spool.read(0).order_id.to_pylist() == ["A-1"]
