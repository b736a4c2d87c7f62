"""Random damage to an order file: refused in words, or read with totals that tie; never a crash."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from taxcalc.errors import Refusal
from taxcalc.intake import csv_blocks, read_orders
from taxcalc.tables.load import Tables, load_tables
from taxcalc.tie_out import sums_of

if TYPE_CHECKING:
    from pathlib import Path

GOOD = (
    "order_id,line_id,ordered_on,entry,currency,ship_to_country,ship_to_postal_code,quantity,"
    "item_amount,tax_collected,note\n"
    + "".join(
        f"A-{at % 5},{at},2025-01-0{1 + at % 9},"
        f"{'refund' if at % 4 == 0 else 'sale'},{'EUR' if at % 3 else 'JPY'},DE,10115,"
        f'{1 + at % 3},{at}{".50" if at % 3 else ""},,"text, {at}\nover ""two"" lines"\n'
        for at in range(12)
    )
).encode()

CHANGES = st.lists(
    st.tuples(
        st.integers(0, len(GOOD)),
        st.integers(0, 12),
        st.one_of(
            st.sampled_from(
                [
                    b'"',
                    b",",
                    b"\n",
                    b"\r",
                    b"\r\n",
                    b"\0",
                    b"\xff",
                    b"-",
                    b"1e9",
                    b'""',
                    b"\xef\xbb\xbf",
                    b"E+10",
                ]
            ),
            st.binary(max_size=4),
        ),
    ),
    max_size=6,
)
SLOW = settings(deadline=None, max_examples=150, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def tables() -> Tables:
    """Load the shipped tables."""
    return load_tables()


def read_or_refuse(path: Path, tables: Tables) -> None:
    """Read a file; whatever it holds, the totals tie or the refusal is an order file's."""
    try:
        intake = read_orders(path, tables=lambda: tables)
    except Refusal as refusal:
        assert refusal.exit_code == 3  # noqa: PT017 - either outcome is right, this is what one of them must be
        return
    parts = [intake.spool.read(bucket) for bucket in range(intake.spool.buckets)]
    assert len(parts) == 1
    intake.tie_out.check(parts[0].size, sums_of(parts[0]))
    assert len(intake.set_aside.frame()) == intake.tie_out.rows_set_aside
    rows = [*parts[0]["row"].tolist(), *intake.set_aside.frame()["row"].tolist()]
    assert len(set(rows)) == len(rows) == intake.tie_out.rows_read


@SLOW
@given(changes=CHANGES, block=st.sampled_from([97, 300, 1 << 22]))
def test_a_good_file_with_random_damage(
    changes: list[tuple[int, int, bytes]], block: int, tmp_path: Path, tables: Tables
) -> None:
    """Bytes put in, taken out or replaced anywhere, in blocks of any size."""
    data = GOOD
    for at, gone, new in changes:
        data = data[:at] + new + data[at + gone :]
    path = tmp_path / "damaged.csv"
    path.write_bytes(data)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_blocks, "BLOCK_BYTES", block)
        read_or_refuse(path, tables)


@SLOW
@given(data=st.binary(max_size=400), header=st.booleans())
def test_random_bytes(data: bytes, header: bool, tmp_path: Path, tables: Tables) -> None:  # noqa: FBT001 - drawn
    """With and without a good header before them."""
    path = tmp_path / "random.csv"
    path.write_bytes((GOOD[: GOOD.index(b"\n") + 1] if header else b"") + data)
    read_or_refuse(path, tables)


def test_the_good_file_is_good(tmp_path: Path, tables: Tables) -> None:
    """Otherwise the damage would prove nothing."""
    path = tmp_path / "good.csv"
    path.write_bytes(GOOD)
    intake = read_orders(path, tables=lambda: tables)
    assert (intake.tie_out.rows_read, intake.tie_out.rows_set_aside) == (12, 0)


CELLS = st.one_of(
    st.sampled_from(
        ["x", '"x"', '"two\nlines"', '"x" y', '5" disc', '"a ""b"" c"', '""', '"x"y"', "", '"\r\n"']
    ),
    st.text('ab" \n,', max_size=6).map(lambda text: f'"{text.replace(chr(34), chr(34) * 2)}"'),
)
"""Cells as files have them, with quotes where they belong and where they do not."""


@SLOW
@given(
    cells=st.lists(CELLS, min_size=1, max_size=14),
    end=st.sampled_from(["\n", "\r\n"]),
    block=st.sampled_from([40, 60, 90, 300]),
)
def test_no_cut_of_the_file_changes_what_is_read(
    cells: list[str], end: str, block: int, tmp_path: Path, tables: Tables
) -> None:
    """Stray quotes, text after a quote and lines inside cells: the answer is that of the file in one block."""
    header = GOOD[: GOOD.index(b"\n")].decode()
    rows = [
        f"A-{at},{cell},2025-01-01,sale,EUR,DE,10115,1,5.00,,{other}"
        for at, (cell, other) in enumerate(zip(cells, reversed(cells), strict=True))
    ]
    path = tmp_path / "cut.csv"
    path.write_bytes(end.join([header, *rows, ""]).encode())
    whole, cut = (answer(path, tables, size) for size in (1 << 22, block))
    assert whole == cut


def answer(path: Path, tables: Tables, block: int) -> object:
    """Read a file in blocks of a size: its lines and the rows set aside, or the refusal."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_blocks, "BLOCK_BYTES", block)
        try:
            intake = read_orders(path, tables=lambda: tables)
        except Refusal as refusal:
            return str(refusal)
    lines = intake.spool.read(0)
    used = zip(lines["row"].tolist(), lines.order_id.to_pylist(), lines.line_id.to_pylist(), strict=True)
    return sorted(used), intake.set_aside.frame().to_dict("list")
