"""What figures rest on: rows that have a name, a basis and a day on which they were checked, wherever they are kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Rows(Protocol):
    """A rate table, or the store of local rates. Row numbers count from 0; -1 means no row."""

    def row_ids(self, rows: NDArray[np.integer]) -> NDArray[np.object_]:
        """Name rows; "" for -1."""

    def basis(self, rows: NDArray[np.integer], *fields: str) -> NDArray[np.int8]:
        """Give the weakest basis of the named fields of each row; 0 for -1."""

    def checked_on(self, rows: NDArray[np.integer]) -> NDArray[np.int32]:
        """Give the day on which each row was last held against its source."""

    def is_own(self, rows: NDArray[np.integer]) -> NDArray[np.bool_]:
        """Tell which rows are the user's own; no for -1."""

    def sources(self, rows: NDArray[np.integer]) -> set[str]:
        """Name the published sources of some rows, as ids of sources.csv."""
