"""A column map that meets a header it does not fit: what is refused with which mend, and what is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import pytest
from plain_order import PLAIN

from taxcalc.errors import Refusal
from taxcalc.intake import read_orders

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from taxcalc.tables.load import Tables

COLUMNS = (*PLAIN, "sku")


@pytest.fixture
def column_map(tmp_path: Path) -> Callable[[str], Path]:
    """Write a column map."""

    def write(text: str) -> Path:
        path = tmp_path / "columns.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.mark.parametrize(
    ("line", "message_id", "mend"),
    [
        pytest.param(
            '"order_id" = "sku"',
            "E310",
            'Take the line "order_id" = "sku" out',
            id="the column that is needed",
        ),
        pytest.param('"sku" = "order_id"', "E311", 'Take the line "sku" = "order_id" out', id="a second one"),
    ],
)
def test_a_line_of_the_column_map_that_undoes_a_header_is_named(
    line: str,
    message_id: str,
    mend: str,
    order_file: Callable[..., Path],
    column_map: Callable[[str], Path],
    tables: Tables,
) -> None:
    """The mend is the line to take out, not one to add."""
    with pytest.raises(Refusal) as refused:
        read_orders(
            order_file({}, columns=COLUMNS), tables=lambda: tables, columns=column_map(f"[rename]\n{line}\n")
        )
    assert refused.value.complaint.id == message_id
    assert refused.value.complaint.mend.startswith(mend)


def test_two_headers_of_the_file_alone_keep_their_mend(tmp_path: Path, tables: Tables) -> None:
    """No column map, no line to take out."""
    path = tmp_path / "orders.csv"
    path.write_text(
        "order_id,Order ID,ordered_on,currency,ship_to_country,item_amount\n1,1,2026-01-01,USD,US,5\n"
    )
    with pytest.raises(Refusal, match="Delete or rename all but one"):
        read_orders(path, tables=lambda: tables)


@pytest.mark.parametrize("kind", ["csv", "frame"])
def test_a_constant_for_a_column_that_is_there_is_said_to_do_nothing(
    kind: str, order_file: Callable[..., Path], column_map: Callable[[str], Path], tables: Tables
) -> None:
    """The file's own cells count; a constant for a column it lacks is used without a word."""
    columns = column_map('[constant]\ncurrency = "EUR"\nmarketplace = "bazaar"\n')
    names = [name for name in PLAIN if name != "marketplace"]
    path = order_file({}, {"currency": "GBP"}, columns=names)
    orders = path if kind == "csv" else pd.read_csv(path, dtype=str, keep_default_na=False)
    intake = read_orders(orders, tables=lambda: tables, columns=columns)
    assert set(intake.tie_out.as_dict()["amounts"]) == {"USD", "GBP"}
    said = [note for note in intake.notes if "[constant]" in note]
    assert len(said) == 1
    assert '"currency" under [constant]' in said[0]
    assert intake.marketplaces == ["", "bazaar"]
