"""Files to lines: nothing lost, nothing read twice, whatever the blocks, files and order of rows."""

from __future__ import annotations

import csv
import io
from collections import Counter
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from plain_order import PLAIN

from taxcalc import places
from taxcalc.columns import AMOUNTS, LINE_SCHEMA, Blank
from taxcalc.intake import Intake, csv_blocks, read_orders
from taxcalc.money import CURRENCY_CODE
from taxcalc.tie_out import sums_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from taxcalc.tables.load import Tables

NUMBERS = [name for name, (kind, _) in LINE_SCHEMA.items() if kind != "string"]
SLOW = settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))


def lines_of(intake: Intake, *, spots: bool = False) -> Counter[tuple[Any, ...]]:
    """List all lines with their names in place of numbers; file and row only where asked for."""
    found: Counter[tuple[Any, ...]] = Counter()
    for bucket in range(intake.spool.buckets):
        lines = intake.spool.read(bucket)
        columns = [lines[name].tolist() for name in NUMBERS if spots or name not in {"file", "row"}]
        for name, known in (("fulfiller", intake.fulfillers), ("marketplace", intake.marketplaces)):
            at = [name for name in NUMBERS if spots or name not in {"file", "row"}].index(name)
            columns[at] = [known[number] for number in columns[at]]
        found.update(zip(lines.order_id.to_pylist(), lines.line_id.to_pylist(), *columns, strict=True))
    return found


def check(intake: Intake) -> None:
    """Assert the laws of the tie-out, from the lines themselves, and that every order is in one bucket."""
    used, amounts, seen = 0, Counter(), set()
    for bucket in range(intake.spool.buckets):
        lines = intake.spool.read(bucket)
        used += lines.size
        amounts.update(sums_of(lines))
        orders = set(lines.order_id.to_pylist())
        assert not orders & seen
        seen |= orders
    intake.tie_out.check(used, amounts)
    tie_out = intake.tie_out
    assert tie_out.rows_read == tie_out.rows_used + tie_out.rows_set_aside
    assert len(intake.set_aside.frame()) == tie_out.rows_set_aside == intake.set_aside.rows
    assert sum(file.rows for file in intake.files) == tie_out.rows_read


def test_one_line_is_what_the_row_says(order_file: Callable[..., Path], tables: Tables) -> None:
    """Every column of a plain row, as codes and minor units."""
    intake = read_orders(order_file({}), tables=lambda: tables)
    line = intake.spool.read(0)
    wanted = {
        "file": 0,
        "row": 2,
        "day": 20148,
        "second": 0,
        "tax_day": 20148,
        "original_day": -(2**31),
        "entry": 0,
        "currency": CURRENCY_CODE["USD"],
        "destination": places.index("US-CA"),
        "product_class": 0,
        "quantity": 2,
        "item_amount": 1999,
        "shipping_amount": 450,
        "tax_included": 0,
        "tax_collected": 185,
        "channel": 0,
        "marketplace": 0,
        "buyer": 0,
        "buyer_number": 0,
        "fulfiller": 0,
        "fulfiller_currency": CURRENCY_CODE["USD"],
        "fulfiller_item_cost": 800,
        "fulfiller_shipping_cost": 300,
        "fulfiller_tax_charged": 66,
        "ship_from": places.index("US-IN"),
        "blanks": 0,
    }
    assert {name: line[name].tolist() for name in wanted} == {name: [value] for name, value in wanted.items()}
    assert {name: str(line[name].dtype) for name in NUMBERS} == {
        name: LINE_SCHEMA[name][0] for name in NUMBERS
    }
    assert (line.order_id.to_pylist(), line.line_id.to_pylist()) == (["A-1"], ["1"])
    assert (intake.fulfillers, intake.marketplaces) == (["main"], [""])


def test_only_the_needed_columns_are_needed(order_file: Callable[..., Path], tables: Tables) -> None:
    """Everything else has a default, and what is blank is told apart from zero."""
    needed = ("order_id", "ordered_on", "currency", "ship_to_country", "item_amount")
    line = read_orders(order_file({}, columns=needed), tables=lambda: tables).spool.read(0)
    defaults = (
        "quantity",
        "tax_included",
        "ship_from",
        "shipping_amount",
        "blanks",
        "destination",
        "product_class",
    )
    every_bit = sum(Blank)
    assert [int(line[name][0]) for name in defaults] == [1, -1, -1, 0, every_bit, 0, 10]
    assert line.line_id.to_pylist() == [""]


@pytest.mark.parametrize("sign", ["", "-"])
def test_a_refund_has_either_sign_and_is_stored_negative(
    sign: str, order_file: Callable[..., Path], tables: Tables
) -> None:
    """All amounts of a refund become negative, the quantity loses its sign."""
    amounts = {name: f"{sign}{PLAIN[name]}" for name in AMOUNTS}
    path = order_file({"entry": "refund", "quantity": f"{sign}2", **amounts}, {})
    line = read_orders(path, tables=lambda: tables).spool.read(0)
    refund = int(np.flatnonzero(line["entry"] == 1)[0])
    assert [int(line[name][refund]) for name in AMOUNTS] == [-1999, -450, -185, -800, -300, -66]
    assert line["quantity"].tolist() == [2, 2]


def test_currencies_with_other_decimals_side_by_side(order_file: Callable[..., Path], tables: Tables) -> None:
    """Yen have none, dinars three; the fulfiller's amounts follow its own currency."""
    path = order_file(
        {
            "currency": "JPY",
            "item_amount": "1900",
            "shipping_amount": "",
            "tax_collected": "",
            "fulfiller_currency": "USD",
        },
        {"currency": "kwd", "item_amount": "1.234"},
        {"currency": "JPY", "item_amount": "19.5"},
        {"currency": "USD", "fulfiller_currency": "xxx"},
    )
    intake = read_orders(path, tables=lambda: tables)
    line = intake.spool.read(0)
    assert sorted(line["item_amount"].tolist()) == [1234, 1900]
    assert sorted(line["fulfiller_item_cost"].tolist()) == [800, 8000]
    assert intake.tie_out.by_reason == {"too_many_decimals": 1, "unknown_currency": 1}
    check(intake)


def test_vat_numbers_are_proved_by_form_only(order_file: Callable[..., Path], tables: Tables) -> None:
    """Greek numbers begin with EL; a wrong check digit is no number."""
    numbers = {"EL094259216": "GR", "DE136695976": "DE", "DE 136 695 976": "DE", "XI980780684": "XI"}
    bad = ["DE136695975", "nonsense", "GB980780684"]
    path = order_file(*({"buyer_tax_number": number} for number in [*numbers, *bad, ""]))
    line = read_orders(path, tables=lambda: tables).spool.read(0)
    wanted = [*(places.index(code) for code in numbers.values()), -1, -1, -1, 0]
    assert line["buyer_number"][np.argsort(line["row"])].tolist() == wanted


TEXTS = st.sampled_from(
    ["plain", 'with "quotes"', "two\nlines", "comma, inside", "", '5" x 7"', "é", "\r\nx"]
)
ROWS = st.lists(
    st.fixed_dictionaries(
        {
            "order_id": st.sampled_from(["A-1", "A-2", "B,3", "long-order-number-000000000001", "x", ""]),
            "item_amount": st.sampled_from(["1.00", "2.5", "7", "1e3", "", "-3.00"]),
            "entry": st.sampled_from(["sale", "refund", "sample", "?"]),
            "currency": st.sampled_from(["USD", "EUR", "JPY", ""]),
            "fulfiller": st.sampled_from(["", "main", "second", "third"]),
            "description": TEXTS,
            "buyer name": TEXTS,
        }
    ),
    min_size=1,
    max_size=25,
)
COLUMNS = (*PLAIN, "description", "buyer name")


def written(path: Path, rows: list[dict[str, str]]) -> Path:
    """Write rows as CSV."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n", quoting=csv.QUOTE_MINIMAL)
        writer.writeheader()
        writer.writerows({**PLAIN, "description": "", "buyer name": "", **row} for row in rows)
    return path


@SLOW
@given(rows=ROWS, cut=st.integers(0, 25), block=st.sampled_from([150, 700, 1 << 22]))
def test_parts_give_the_same_lines_as_the_whole(
    rows: list[dict[str, str]], cut: int, block: int, tmp_path: Path, tables: Tables
) -> None:
    """Split over files, cut in small blocks and turned round: the same lines and the same tie-out."""
    good = {"order_id": "good"}
    whole = read_orders(written(tmp_path / "whole.csv", [good, *rows, good]), tables=lambda: tables)
    first, second = [good, *rows[:cut]], [good, *reversed(rows[cut:])]
    paths = [written(tmp_path / "a.csv", first), written(tmp_path / "b.csv", second)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_blocks, "BLOCK_BYTES", block)
        parts = read_orders(paths, tables=lambda: tables)
    check(whole)
    check(parts)
    assert lines_of(whole) == lines_of(parts)
    assert whole.tie_out.as_dict() == parts.tie_out.as_dict()
    assert whole.tie_out.rows_read == len(rows) + 2


@SLOW
@given(rows=ROWS, block=st.sampled_from([150, 400, 1 << 22]))
def test_rows_are_numbered_as_a_spreadsheet_does(
    rows: list[dict[str, str]], block: int, tmp_path: Path, tables: Tables
) -> None:
    """Row numbers lead back to the record, also after blank lines, misfits and text over lines."""
    path = written(
        tmp_path / "rows.csv",
        [{"order_id": f"#{at}", "description": row["description"]} for at, row in enumerate(rows)],
    )
    pieces = path.read_bytes().decode().split("\n#")
    path.write_bytes("\n\nmisfit,x\n\n#".join(pieces).encode())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_blocks, "BLOCK_BYTES", block)
        intake = read_orders(path, tables=lambda: tables)
    records = list(csv.reader(io.StringIO(path.read_bytes().decode(), newline="")))
    found = {row: text for text, row in ((line[0], line[3]) for line in lines_of(intake, spots=True))}
    assert found == {
        at: cells[0] for at, cells in enumerate(records, 1) if cells and cells[0].startswith("#")
    }
    aside = intake.set_aside.frame()
    assert aside["row"].tolist() == [at for at, cells in enumerate(records, 1) if cells == ["misfit", "x"]]
    check(intake)


def test_larger_inputs_go_through_files_with_the_same_result(
    order_file: Callable[..., Path], tables: Tables
) -> None:
    """With a small limit the buckets go to a temporary folder, which is gone afterwards."""
    rows = [
        {"order_id": f"A-{at % 700}", "item_amount": f"{at}.10", "fulfiller": f"f{at % 3}"}
        for at in range(2000)
    ]
    path = order_file(*rows, {"currency": "?"})
    memory, disk = (
        read_orders(path, tables=lambda: tables),
        read_orders(path, tables=lambda: tables, spool_limit=0),
    )
    disk.spool.keep(0, "cases", np.arange(5))
    assert disk.spool.kept(0, "cases").tolist() == [0, 1, 2, 3, 4]
    with pytest.raises(KeyError):
        disk.spool.kept(0, "nothing")
    assert lines_of(memory, spots=True) == lines_of(disk, spots=True)
    check(disk)
    folder = disk.spool.folder
    assert list(folder.glob("*.arrow"))
    with disk.spool:
        pass
    assert not folder.exists()


def test_a_stray_quote_in_plain_text_is_text(
    tmp_path: Path, tables: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A quote that does not open its cell is a character; a block that ends after it is cut rightly."""
    header = "order_id,ordered_on,currency,ship_to_country,item_amount,description\n"
    texts = ['"two\nlines"', *['5" poster'] * 6]
    rows = [f"A-{at},2025-01-01,EUR,DE,1.00,{texts[at % 7]}\n" for at in range(60)]
    path = tmp_path / "stray.csv"
    path.write_text(header + "".join(rows), encoding="utf-8")
    for size in range(60, 400, 3):
        monkeypatch.setattr(csv_blocks, "BLOCK_BYTES", size)
        intake = read_orders(path, tables=lambda: tables)
        found = {line[0]: line[3] for line in lines_of(intake, spots=True)}
        assert found == {f"A-{at}": at + 2 for at in range(60)}


def test_other_layouts(tmp_path: Path, tables: Tables) -> None:
    """Separators, a byte order mark, title lines, `sep=`, line ends and header spellings are understood."""
    needed = ["Order ID", "ordered_on", " currency", "SHIP_TO_COUNTRY", "item-amount", "order note"]
    row = ["A-1", "2025-01-01", "EUR", "DE", "1.00", "x"]
    files = {
        f"{number}.csv": start + end.join((mark.join(needed), mark.join(row))) + last
        for number, (mark, start, end, last) in enumerate(
            [
                (",", "", "\n", ""),
                (";", "sep=;\n", "\n", "\n"),
                ("\t", "\ufeff", "\r\n", "\r\n"),
                ("|", "", "\r", "\r"),
                (",", "Export of my shop\n\n", "\n", "\n\n\n"),
            ]
        )
    }
    for name, text in files.items():
        path = tmp_path / name
        path.write_bytes(text.encode())
        intake = read_orders(path, tables=lambda: tables)
        assert intake.spool.read(0)["item_amount"].tolist() == [100], name
        assert intake.spool.read(0)["row"].tolist() == [
            text.split("A-1")[0].replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
        ]
        assert any("separated by" in note for note in intake.notes)
        assert any("order note" in note for note in intake.notes)


def test_blank_rows_are_no_orders_but_a_row_with_only_a_name_is_set_aside(
    tmp_path: Path, tables: Tables
) -> None:
    """Lines of separators only are passed over; a line that says anything at all is accounted for."""
    path = tmp_path / "blank.csv"
    path.write_text(
        "order_id,ordered_on,currency,ship_to_country,item_amount,name\n"
        "A-1,2025-01-01,EUR,DE,1.00,x\n,,,,,\n , ,,,,\n,,,,,only a name\n\nA-2,2025-01-01,EUR,DE,1.00,x\n",
        encoding="utf-8",
    )
    intake = read_orders(path, tables=lambda: tables)
    assert intake.tie_out.rows_read == 3
    assert intake.set_aside.frame()[["row", "reason"]].to_numpy().tolist() == [[5, "no_order_id"]]


def test_a_frame_and_a_parquet_file_read_like_the_csv(
    order_file: Callable[..., Path], tables: Tables, tmp_path: Path
) -> None:
    """Typed values become the same lines."""
    path = order_file({}, {"order_id": "A-2", "item_amount": "7", "entry": "refund"})
    wanted = lines_of(read_orders(path, tables=lambda: tables))
    texts = pd.read_csv(path, dtype=str, keep_default_na=False)
    assert lines_of(read_orders(texts, tables=lambda: tables)) == wanted
    typed = texts.assign(
        item_amount=[Decimal("19.99"), 7],
        quantity=[2, 2],
        tax_included=[False, False],
        buyer_tax_number=None,
        ordered_on=pd.to_datetime(texts["ordered_on"]),
        shipping_amount=[Decimal("4.5")] * 2,
    )
    assert lines_of(read_orders(typed, tables=lambda: tables)) == wanted
    table = pa.Table.from_pandas(texts)
    amounts = pa.array([Decimal("19.99"), Decimal("7.00")], pa.decimal128(9, 2))
    table = table.set_column(table.column_names.index("item_amount"), "item_amount", amounts)
    days = pa.array([PLAIN["ordered_on"]] * 2).cast(pa.date32())
    table = table.set_column(table.column_names.index("ordered_on"), "ordered_on", days)
    pq.write_table(table, tmp_path / "orders.parquet")
    intake = read_orders(tmp_path / "orders.parquet", tables=lambda: tables)
    assert lines_of(intake) == wanted
    check(intake)


def test_standard_input_is_read(
    order_file: Callable[..., Path], tables: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A dash reads what is piped in, with the hash of those bytes."""
    path = order_file({}, {"order_id": "A-2"})
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(path.read_bytes())))
    piped, plain = read_orders("-", tables=lambda: tables), read_orders(path, tables=lambda: tables)
    assert lines_of(piped) == lines_of(plain)
    assert (piped.files[0].sha256, piped.files[0].name) == (plain.files[0].sha256, "standard input")


def test_the_column_map_renames_fills_in_and_translates(tmp_path: Path, tables: Tables) -> None:
    """Their headers and words become ours."""
    orders, columns = tmp_path / "theirs.csv", tmp_path / "columns.toml"
    orders.write_text(
        "No,Date,Land,Total,Art\n1,2025-01-01,DE,1.00,Tasse\n2,2025-01-02,AT,2.00,books\n", encoding="utf-8"
    )
    columns.write_text(
        '[rename]\nNo = "order_id"\nDate = "ordered_on"\nLand = "ship_to_country"\nTotal = "item_amount"\n'
        'Art = "product_class"\n[constant]\ncurrency = "EUR"\n[values.product_class]\nTasse = "homeware"\n',
        encoding="utf-8",
    )
    line = read_orders(orders, tables=lambda: tables, columns=columns).spool.read(0)
    assert sorted(line["product_class"].tolist()) == [5, 7]
    assert set(line["currency"].tolist()) == {CURRENCY_CODE["EUR"]}


def test_a_file_is_hashed_as_it_is_read(order_file: Callable[..., Path], tables: Tables) -> None:
    """The hash is that of the whole file, header included."""
    import hashlib  # noqa: PLC0415 - only here

    path = order_file(*({"order_id": str(at)} for at in range(3000)))
    assert (
        read_orders(path, tables=lambda: tables).files[0].sha256
        == hashlib.sha256(path.read_bytes()).hexdigest()
    )
