"""What holds for all tests: a test that cites a paper cites one that rate_tables/sources.csv knows."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest

from taxcalc.tables.where import folder

if TYPE_CHECKING:
    from collections.abc import Iterator


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Stop the whole run when a `source` mark names no paper, or one that is not in sources.csv."""
    with (folder() / "sources.csv").open(encoding="utf-8", newline="") as file:
        known = {row["id"] for row in csv.DictReader(file)}
    complaints = [complaint for item in items for complaint in _complaints(item, known)]
    if complaints:
        raise pytest.UsageError(*dict.fromkeys(complaints))


def _complaints(item: pytest.Item, known: set[str]) -> Iterator[str]:
    """Say what is wrong with the sources that one test cites."""
    for mark in item.iter_markers("source"):
        if not mark.args:
            yield f"{item.nodeid}: the mark `source` names no paper"
        for name in mark.args:
            if name not in known:
                yield f"{item.nodeid}: {name!r} is no id in rate_tables/sources.csv"
