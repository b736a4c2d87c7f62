"""Every reason a row can be set aside for, with the spot it names; nothing else happens to such a row."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from plain_order import PLAIN

from taxcalc.intake import read_orders
from taxcalc.set_aside import REASONS
from taxcalc.tie_out import sums_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from taxcalc.tables.load import Tables

# reason, column named, what differs from a plain sale
SLIPS: list[tuple[str, str, dict[str, str]]] = [
    ("repeated_header", "", {name: name for name in PLAIN}),
    ("nul_in_cell", "", {"marketplace": "a\0b"}),
    ("no_order_id", "order_id", {"order_id": " "}),
    ("no_date", "ordered_on", {"ordered_on": ""}),
    ("bad_date", "ordered_on", {"ordered_on": "31/02/2026"}),
    ("bad_date", "ordered_on", {"ordered_on": "2025-02-29"}),
    ("bad_date", "ordered_on", {"ordered_on": "46036"}),
    ("bad_date", "supplied_on", {"supplied_on": "soon"}),
    ("bad_date", "original_ordered_on", {"original_ordered_on": "25-01-01"}),
    ("year_out_of_range", "ordered_on", {"ordered_on": "2926-01-01"}),
    ("no_currency", "currency", {"currency": ""}),
    ("unknown_currency", "currency", {"currency": "DOLLARS"}),
    ("unknown_currency", "fulfiller_currency", {"fulfiller_currency": "$"}),
    ("no_amount", "item_amount", {"item_amount": ""}),
    ("bad_amount", "item_amount", {"item_amount": "1e3"}),
    ("bad_amount", "shipping_amount", {"shipping_amount": "$5"}),
    ("bad_amount", "fulfiller_item_cost", {"fulfiller_item_cost": "1,5"}),
    ("too_many_decimals", "tax_collected", {"tax_collected": "1.005"}),
    ("amount_too_large", "item_amount", {"item_amount": "10000000.01"}),
    ("negative_sale", "item_amount", {"item_amount": "-1.00"}),
    ("negative_sale", "shipping_amount", {"shipping_amount": "-1.00", "entry": "sample"}),
    ("bad_quantity", "quantity", {"quantity": "0"}),
    ("bad_quantity", "quantity", {"quantity": "1.5"}),
    ("bad_quantity", "quantity", {"quantity": "-2"}),
    ("bad_quantity", "quantity", {"quantity": "99999999999"}),
    ("unknown_entry", "entry", {"entry": "chargeback"}),
    ("unknown_channel", "channel", {"channel": "bazaar"}),
    ("unknown_yes_no", "tax_included", {"tax_included": "maybe"}),
    ("unknown_buyer_exempt", "buyer_exempt", {"buyer_exempt": "church"}),
    ("unknown_product_class", "product_class", {"product_class": "gadgets"}),
    (
        "no_country",
        "ship_to_country",
        {"ship_to_country": "", "ship_to_region": "", "ship_to_postal_code": ""},
    ),
    ("no_country", "ship_to_country", {"ship_to_country": "Atlantis"}),
    ("zip_state_conflict", "ship_to_postal_code", {"ship_to_region": "NY"}),
    ("bad_ship_from", "ship_from_country", {"ship_from_country": "Atlantis", "ship_from_region": ""}),
]
LATER = ("exact_duplicate", "conflicting_duplicate", "after_as_of", "no_rate", "refund_currency")


@pytest.mark.parametrize(
    ("reason", "column", "change"), SLIPS, ids=[f"{r}-{c}-{n}" for n, (r, c, _) in enumerate(SLIPS)]
)
def test_a_slip_is_set_aside_for_its_reason(
    reason: str, column: str, change: dict[str, str], order_file: Callable[..., Path], tables: Tables
) -> None:
    """Between two good rows, the row with the slip is named with column, value, reason and mend."""
    intake = read_orders(order_file({}, change, {}), tables=lambda: tables)
    frame = intake.set_aside.frame()
    value = {**PLAIN, **change}.get(column, "")
    wanted = {
        "file": "orders.csv",
        "row": 3,
        "column": column,
        "value": value,
        "reason": reason,
        "mend": REASONS[reason].mend,
    }
    assert frame.to_dict("records") == [wanted]
    assert intake.spool.read(0)["row"].tolist() == [2, 4]
    assert intake.tie_out.by_reason == {reason: 1}
    assert intake.set_aside.faults == int(REASONS[reason].fault)
    intake.tie_out.check(2, sums_of(intake.spool.read(0)))


@pytest.mark.parametrize("line", ["A-9,1,2", ",".join(["x"] * 40)])
def test_a_row_of_another_width_is_set_aside(
    line: str, order_file: Callable[..., Path], tables: Tables
) -> None:
    """The number of fields found and wanted is said; no text of the row is shown."""
    path = order_file({}, {})
    path.write_text(path.read_text() + f"{line}\n")
    frame = read_orders(path, tables=lambda: tables).set_aside.frame()
    shown = f"fields in the row: {line.count(',') + 1}, in the header: {len(PLAIN)}"
    assert frame[["row", "value", "reason"]].to_numpy().tolist() == [[4, shown, "wrong_number_of_fields"]]


@pytest.mark.parametrize("reason", LATER)
def test_later_steps_set_lines_aside_with_the_tie_out(
    reason: str, order_file: Callable[..., Path], tables: Tables
) -> None:
    """Amounts and rows move from used to set aside together."""
    intake = read_orders(order_file({}, {"item_amount": "5.00", "order_id": "A-2"}), tables=lambda: tables)
    lines = intake.spool.read(0)
    aside = lines["item_amount"] == 500
    intake.set_aside.put_aside(lines, aside, reason, "order_id")
    intake.set_aside.put_aside(lines, np.zeros(2, np.bool_), reason)
    used = lines.take(~aside)
    intake.tie_out.check(1, sums_of(used))
    amounts = intake.tie_out.as_dict()["amounts"]["USD"]["item_amount"]
    assert amounts == {"read": "24.99", "used": "19.99", "set_aside": "5.00"}
    assert intake.set_aside.frame()[["value", "reason"]].to_numpy().tolist() == [["A-2", reason]]
    assert intake.set_aside.faults == int(REASONS[reason].fault)


def test_every_reason_is_tested_here() -> None:
    """A new reason needs a row in this file."""
    assert {reason for reason, _, _ in SLIPS} | set(LATER) | {"wrong_number_of_fields"} == set(REASONS)


def test_only_exact_duplicates_repeated_headers_and_later_orders_are_no_fault() -> None:
    """The exit code turns on this."""
    assert {name for name, reason in REASONS.items() if not reason.fault} == {
        "exact_duplicate",
        "repeated_header",
        "after_as_of",
    }


def test_many_rows_set_aside_leave_memory_but_not_the_list(
    order_file: Callable[..., Path], tables: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond the limit they go to the folder of the spool; the list and the counts stay whole."""
    monkeypatch.setattr("taxcalc.set_aside.HOLD", 10)
    rows = [{"item_amount": "x" * at} for at in range(1, 400)]
    intake = read_orders(order_file({}, *rows), tables=lambda: tables)
    assert list(intake.spool.folder.glob("set_aside-*.arrow"))
    frame = intake.set_aside.frame()
    assert frame["row"].tolist() == list(range(3, 402))
    assert frame["value"].str.len().max() == 200
    folder = intake.spool.folder
    intake.spool.close()
    assert not folder.exists()


def test_the_first_slip_of_a_row_counts_once(order_file: Callable[..., Path], tables: Tables) -> None:
    """A row with several slips is one row, with one reason."""
    intake = read_orders(
        order_file({}, {"ordered_on": "x", "currency": "?", "item_amount": "y"}), tables=lambda: tables
    )
    assert intake.tie_out.by_reason == {"bad_date": 1}
