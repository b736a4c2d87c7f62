"""Laws that hold whatever the orders are: order of rows, files and buckets change nothing; a refund cancels its sale."""

from __future__ import annotations

import csv
import random
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import taxcalc
from taxcalc.frames import LINES

if TYPE_CHECKING:
    from pathlib import Path

FEW = settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
AS_OF = date(2026, 10, 20)
PERIOD = (date(2026, 1, 1), date(2026, 9, 30))
COLUMNS = (
    "order_id",
    "line_id",
    "ordered_on",
    "entry",
    "currency",
    "ship_to_country",
    "ship_to_region",
    "ship_to_postal_code",
    "product_class",
    "quantity",
    "item_amount",
    "shipping_amount",
    "tax_collected",
    "channel",
    "buyer_tax_number",
    "buyer_exempt",
    "fulfiller_item_cost",
    "fulfiller_shipping_cost",
    "fulfiller_tax_charged",
    "ship_from_country",
    "ship_from_region",
)
PLACES = (
    ("US", "US-NY", "10001"),
    ("US", "US-NY", "13815"),
    ("US", "US-NJ", "07001"),
    ("US", "US-MA", "02134"),
    ("US", "US-CA", "90001"),
    ("US", "US-GA", "30301"),
    ("US", "US-FL", "33101"),
    ("US", "", ""),
    ("DE", "", "10115"),
    ("FR", "", "75001"),
    ("SK", "", "81101"),
    ("ES", "", "35001"),
    ("GB", "", "BT1 1AA"),
    ("GB", "", "SW1A 1AA"),
    ("CA", "", "H2X 1Y4"),
)
SELLER: dict[str, Any] = {
    "seller": {
        "name": "Law",
        "country": "US",
        "region": "US-OR",
        "established_on": date(2024, 1, 1),
        "established_in": ["US"],
        "reporting_currency": "USD",
        "time_zone": "America/Los_Angeles",
    },
    "registration": [
        {"place": "US-NY", "scheme": "standard", "from": date(2026, 2, 1)},
        {"place": "US-NJ", "scheme": "standard", "from": date(2025, 5, 1)},
    ],
    "certificate": [
        {
            "place": "US",
            "form": "multijurisdiction",
            "number_of": "US-NJ",
            "number": "1",
            "from": date(2025, 6, 1),
        }
    ],
    "fulfiller": [{"id": "main", "ship_from": ["US-IN", "SK"], "collects_in": "all"}],
    "prior_sales": [
        {
            "place": "US-GA",
            "from": date(2025, 1, 1),
            "until": date(2025, 12, 31),
            "amount": "99000.00",
            "transactions": 150,
        }
    ],
}


def cents(minor: int) -> str:
    """Write cents as a plain decimal."""
    return f"{minor // 100}.{minor % 100:02d}"


@st.composite
def histories(draw: st.DrawFn) -> list[dict[str, str]]:
    """Orders of one to three lines each, some refunded wholly or in part, with and without a named line."""
    rows: list[dict[str, str]] = []
    for number in range(draw(st.integers(3, 14))):
        country, region, postal = draw(st.sampled_from(PLACES))
        day = date(2026, 1, 1) + timedelta(days=draw(st.integers(0, 280)))
        currency = "EUR" if country in {"DE", "FR", "SK", "ES"} else "USD"
        common = {
            "order_id": f"A{number}",
            "currency": currency,
            "ship_to_country": country,
            "ship_to_region": region,
            "ship_to_postal_code": postal,
            "channel": draw(st.sampled_from(["own", "own", "marketplace"])),
            "buyer_exempt": draw(st.sampled_from(["no", "no", "no", "resale", "exempt"])),
            "ship_from_country": draw(st.sampled_from(["", "SK", "US"])),
            "ship_from_region": "",
            "buyer_tax_number": "",
        }
        if common["ship_from_country"] == "US":
            common["ship_from_region"] = "US-IN"
        for line in range(1, draw(st.integers(1, 3)) + 1):
            goods, shipping = draw(st.integers(100, 40_000)), draw(st.integers(0, 1_500))
            quantity = draw(st.integers(1, 3))
            sale = {
                **common,
                "line_id": str(line),
                "ordered_on": day.isoformat(),
                "entry": draw(st.sampled_from(["sale"] * 9 + ["sample"])),
                "product_class": draw(
                    st.sampled_from(["clothing", "headwear", "books", "homeware", "wall_art"])
                ),
                "quantity": str(quantity),
                "item_amount": cents(goods),
                "shipping_amount": cents(shipping),
                "tax_collected": cents(draw(st.sampled_from([0, 0, goods // 12]))),
                "fulfiller_item_cost": cents(goods // 2),
                "fulfiller_shipping_cost": cents(shipping // 2),
                "fulfiller_tax_charged": "0.00",
            }
            rows.append(sale)
            if sale["entry"] == "sale" and draw(st.integers(0, 4)) == 0:
                part = draw(st.integers(1, goods))
                rows.append(
                    {
                        **sale,
                        "entry": "refund",
                        "ordered_on": (day + timedelta(days=draw(st.integers(0, 9)))).isoformat(),
                        "item_amount": cents(part),
                        "shipping_amount": "0.00",
                        "tax_collected": "0.00",
                        "fulfiller_item_cost": "0.00",
                        "fulfiller_shipping_cost": "0.00",
                        "line_id": draw(st.sampled_from([str(line), "9"])),
                        "quantity": "1",
                    }
                )
    return rows


def write(rows: list[dict[str, str]], path: Path) -> Path:
    """Write rows as a CSV file."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        writer.writerows(rows)
    return path


def run(files: list[Path], seller: dict[str, Any] | None = None) -> taxcalc.Assessment:
    """Assess files of the laws' shop."""
    return taxcalc.assess(files, seller or SELLER, as_of=AS_OF, period=PERIOD)


def comparable(assessment: taxcalc.Assessment) -> dict[str, Any]:
    """Give the record without what names the files."""
    record = assessment.record()
    record.pop("files")
    record["assumptions"] = [text for text in record["assumptions"] if ".csv" not in text]
    return record


def same(one: taxcalc.Assessment, other: taxcalc.Assessment) -> None:
    """Hold every result of two runs against each other."""
    assert comparable(one) == comparable(other)
    for frame in ("lines", "places", "thresholds", "duties", "cases"):
        pd.testing.assert_frame_equal(getattr(one, frame), getattr(other, frame))


@FEW
@given(rows=histories(), data=st.data())
def test_shuffling_and_splitting_over_files_changes_nothing(
    tmp_path: Path, rows: list[dict[str, str]], data: st.DataObject
) -> None:
    """Any order of rows, cut at any rows into any number of files (orders cut in two included), gives the same result."""
    whole = run([write(rows, tmp_path / "whole.csv")])
    mixed = data.draw(st.permutations(rows))
    cuts = sorted(data.draw(st.lists(st.integers(1, len(rows) - 1), max_size=3, unique=True)))
    parts = [mixed[a:b] for a, b in zip([0, *cuts], [*cuts, len(rows)], strict=True)]
    files = [write(part, tmp_path / f"part{number}.csv") for number, part in enumerate(parts)]
    same(whole, run(files))


@FEW
@given(rows=histories())
def test_buckets_on_disk_give_what_memory_gives(tmp_path: Path, rows: list[dict[str, str]]) -> None:
    """Many buckets in temporary files, two worked on at a time, change nothing."""
    from taxcalc import intake  # noqa: PLC0415 - its constants are changed below

    path = write(rows, tmp_path / "whole.csv")
    whole = run([path])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(intake, "_BYTES_A_LINE", 1)
        patch.setattr(intake, "_LINES_A_BUCKET", 500)
        patch.setattr(intake, "_HELD", 5)
        patch.setattr(
            intake.read_orders,
            "__kwdefaults__",
            {**(intake.read_orders.__kwdefaults__ or {}), "spool_limit": 1},
        )
        spread = run([path])
        assert spread.run.intake.spool.buckets > 1
        assert spread.run.intake.spool.hold is not None
        same(whole, spread)


@FEW
@given(rows=histories())
def test_a_full_refund_cancels_its_sale(tmp_path: Path, rows: list[dict[str, str]]) -> None:
    """Refunding every sale wholly, on its own day, leaves no tax on either side, in whatever parts it is given back."""
    sales = [row for row in rows if row["entry"] == "sale"]
    pick = random.Random(len(rows))  # noqa: S311 - any split will do
    refunds = []
    for row in sales:
        goods = int(row["item_amount"].replace(".", ""))
        first = pick.randint(0, goods)
        costs = {
            "fulfiller_item_cost": row["fulfiller_item_cost"],
            "fulfiller_shipping_cost": row["fulfiller_shipping_cost"],
        }
        nothing = {"fulfiller_item_cost": "0.00", "fulfiller_shipping_cost": "0.00", "tax_collected": "0.00"}
        refunds.append(
            {**row, **nothing, "entry": "refund", "item_amount": cents(first), "shipping_amount": "0.00"}
        )
        later = (date.fromisoformat(row["ordered_on"]) + timedelta(days=1)).isoformat()
        refunds.append(
            {
                **row,
                **costs,
                "entry": "refund",
                "ordered_on": later,
                "item_amount": cents(goods - first),
                "tax_collected": "0.00",
            }
        )
    if not sales:
        return
    lines = run([write([*sales, *refunds], tmp_path / "whole.csv")]).lines
    for name in (
        "to_collect_low",
        "to_collect",
        "to_collect_high",
        "fulfiller_tax_low",
        "fulfiller_tax",
        "fulfiller_tax_high",
    ):
        assert (lines.groupby(["order_id", "line_id"])[name].sum() == 0).all(), name


@FEW
@given(rows=histories())
def test_lines_add_up_to_places_and_rows_tie_out(tmp_path: Path, rows: list[dict[str, str]]) -> None:
    """In a shop with one currency the lines of a place add up to its quarters, and no row is lost."""
    american = [row for row in rows if row["currency"] == "USD"]
    if not american:
        return
    result = run([write(american, tmp_path / "whole.csv")])
    tie_out = result.run.intake.tie_out
    assert tie_out.rows_read == len(american) == tie_out.rows_used + tie_out.rows_set_aside
    lines, places = result.lines, result.places
    assert len(lines) == tie_out.rows_used
    for name in (
        "to_collect_low",
        "to_collect",
        "to_collect_high",
        "collected",
        "collected_without_duty",
        "fulfiller_tax",
        "fulfiller_tax_charged",
    ):
        assert lines[name].sum() == places[name].sum(), name
    assert (lines["to_collect_low"].abs() <= lines["to_collect"].abs()).all()
    assert (lines["to_collect"].abs() <= lines["to_collect_high"].abs()).all()
    assert list(lines.columns) == list(LINES)


@FEW
@given(rows=histories())
def test_rounding_per_order_adds_up_to_the_invoice(tmp_path: Path, rows: list[dict[str, str]]) -> None:
    """Rounding once an order moves the tax of an order by less than a cent a line."""
    path = write(rows, tmp_path / "whole.csv")
    per_line = run([path]).lines
    per_order = run([path], {**SELLER, "seller": {**SELLER["seller"], "rounding": "order"}}).lines
    keys = ["order_id", "entry", "ordered_on", "currency"]
    one, other = (frame.groupby(keys)["to_collect"].agg(["sum", "size"]) for frame in (per_line, per_order))
    assert ((one["sum"] - other["sum"]).abs() <= one["size"]).all()
