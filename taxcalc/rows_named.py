"""The published sources of table rows that the record names by id, beside those behind the terms of cases."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.tables.load import Tables

KEY = "row_ids"
OWN = "own:"


def sources_named(parts: Any, tables: Tables) -> set[str]:  # noqa: ANN401 - any part of the record
    """Give the sources of all rows that stand under `row_ids` anywhere in some parts of the record."""
    ids = {one for text in _texts(parts) for one in text.split()}
    found: set[str] = set()
    for name in {one.removeprefix(OWN).partition(":")[0] for one in ids}:
        table = tables[name]
        every = np.arange(table.size)
        found |= table.sources(every[np.isin(table.row_ids(every), list(ids))])
    return found


def _texts(part: Any) -> Iterator[str]:  # noqa: ANN401 - as above
    """Walk through lists and dicts."""
    if isinstance(part, dict):
        for key, value in part.items():
            if key == KEY and isinstance(value, str):
                yield value
            else:
                yield from _texts(value)
    elif isinstance(part, list):
        for value in part:
            yield from _texts(value)
