"""A small order file, written to a folder of its own, and the shipped tables."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest
from plain_order import PLAIN

from taxcalc.tables.load import Tables, load_tables

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path


@pytest.fixture(scope="session")
def tables() -> Tables:
    """Load the shipped tables."""
    return load_tables()


@pytest.fixture
def order_file(tmp_path: Path) -> Callable[..., Path]:
    """Write rows, each a change of a plain sale, as CSV."""

    def write(
        *changes: dict[str, str], name: str = "orders.csv", columns: Sequence[str] = tuple(PLAIN)
    ) -> Path:
        path = tmp_path / name
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, columns, extrasaction="ignore", lineterminator="\n")
            writer.writeheader()
            writer.writerows({**PLAIN, **change} for change in changes)
        return path

    return write
