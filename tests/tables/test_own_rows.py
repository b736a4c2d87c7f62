"""Rows of the user's own that hold in a whole country or in the whole Union: used, and marked where they are."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from shop import orders

from taxcalc.run import assess
from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import BY_NAME

sys.path.insert(0, str(Path(__file__).parent))
from small_tables import write_table

SELLER = {
    "seller": {
        "name": "Shop",
        "country": "US",
        "region": "US-OR",
        "established_on": "2023-01-01",
        "reporting_currency": "USD",
    },
    "registration": [{"place": "US-TX", "scheme": "standard", "from": "2024-01-01"}],
}
MEMORY = {"source": "memory", "basis": "unconfirmed", "checked_on": "2026-11-25"}


def own_row(where: Path, name: str, **cells: str) -> Path:
    """Write one own row from memory."""
    row = {**{field.name: "" for field in fields_of(BY_NAME[name], own=True)}, **cells, **MEMORY}
    write_table(where, name, f"{','.join(row)}\n{','.join(row.values())}\n")
    return where


def test_a_row_for_a_class_in_every_state_comes_before_the_one_for_every_class(tmp_path: Path) -> None:
    """As rate_tables/README.md says: place and class, place and *, US and class, US and *."""
    lines = orders(
        [
            {"to": "US-TX", "item_amount": "100.00", "product_class": kind}
            for kind in ("stationery", "homeware")
        ]
    )
    own = own_row(
        tmp_path, "us/product_rules", place="US", product_class="stationery", part="both", treatment="exempt",
        valid_from="2026-01-01",
    )  # fmt: skip
    before, after = (assess(lines, SELLER, tables=where, period="2026-Q2") for where in (None, own))
    assert before.lines["to_collect"].tolist() == [820, 820]
    assert after.lines["to_collect"].tolist() == [0, 820]
    assert after.record()["totals"]["own_rows"] == ["own:us/product_rules:US/stationery/both:2026-01-01"]


def test_a_territory_of_ones_own_marks_both_sides_of_its_border(tmp_path: Path) -> None:
    """It takes sales out of the country that the address names."""
    lines = orders(
        [{"to": to, "item_amount": "100.00", "sent_from": "ES"} for to in ("ES 29001", "ES 28001", "FR")]
    )
    own = own_row(
        tmp_path, "eu/territories", territory="Mine", place="ES-CN", postal_country="ES", postal_pattern=r"^29\d{3}$",
        treatment="outside", customs_territory="yes", valid_from="2019-01-01",
    )  # fmt: skip
    places = {
        each["place"]: each for each in assess(lines, SELLER, tables=own, period="2026-Q2").record()["places"]
    }
    name = "own:eu/territories:Mine/ES-CN:2019-01-01"
    assert {code: each["own_rows"] for code, each in places.items()} == {
        "ES": [name],
        "ES-CN": [name],
        "FR": [],
    }


def test_a_territory_that_ends_marks_the_country_it_falls_back_to(tmp_path: Path) -> None:
    own = own_row(
        tmp_path,
        "eu/territories",
        territory="Northern Ireland",
        place="XI",
        valid_from="2021-01-02",
        ended="yes",
    )
    lines = orders([{"to": to, "item_amount": "100.00"} for to in ("GB BT1 1AA", "FR")])
    record = assess(lines, SELLER, tables=own, period="2026-Q2").record()
    name = "own:eu/territories:Northern_Ireland/XI:2021-01-02"
    assert {each["place"]: each["own_rows"] for each in record["places"]} == {"GB": [name], "FR": []}


def test_a_marketplace_that_no_longer_collects_is_marked(tmp_path: Path) -> None:
    """What an own row takes away rests on it as much as what it adds."""
    own = own_row(
        tmp_path, "us/facilitator_laws", place="US-TX", facilitator_collects="no", seller_registers="yes",
        counts_for_seller="yes", valid_from="2026-01-01",
    )  # fmt: skip
    line = {"to": "US-TX", "item_amount": "100.00", "channel": "marketplace", "marketplace": "m"}
    before, after = (assess(orders([line]), SELLER, tables=where, period="2026-Q2") for where in (None, own))
    assert [each.lines["to_collect"].tolist() for each in (before, after)] == [[0], [820]]
    assert after.record()["totals"]["own_rows"] == ["own:us/facilitator_laws:US-TX:2026-01-01"]


@pytest.mark.parametrize(("name", "cells", "to", "place"), [
    ("us/product_rules", {"place": "US", "product_class": "*", "part": "both"}, "US-TX", "US-TX"),
    ("eu/thresholds", {"measure": "distance_sales", "place": "EU"}, "FR", "FR"),
])  # fmt: skip
def test_what_ends_a_rule_everywhere_is_marked_in_every_place(
    tmp_path: Path, name: str, cells: dict[str, str], to: str, place: str
) -> None:
    """No answer names a row that ends something, so the place it takes effect in does."""
    own = own_row(tmp_path, name, **cells, valid_from="2026-01-01", ended="yes")
    record = assess(
        orders([{"to": to, "item_amount": "100.00"}]), SELLER, tables=own, period="2026-Q2"
    ).record()
    (shown,) = (each for each in record["places"] if each["place"] == place)
    assert [each.partition(":2026")[0] for each in shown["own_rows"]] == [
        "own:" + ":".join((name, "/".join(cells.values())))
    ]
