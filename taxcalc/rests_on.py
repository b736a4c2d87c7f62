"""Which table rows the figures of each place rest on, and which papers stand behind each row: where a figure comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.tables.rows import Rows


def rests_on(assessment: Assessment) -> dict[str, Any]:
    """Give `places`, the ids of the rows behind the taxes and limits of each, and `rows`, the ids of the sources of each row.

    Of the whole history, both sides of the chain, as `taxcalc tables show` and `sources` name them.
    """
    behind: dict[int, set[str]] = {}
    papers: dict[str, list[str]] = {}
    for table, place, row in _used(assessment):
        names = table.row_ids(row)
        for code, name in zip(place.tolist(), names.tolist(), strict=True):
            behind.setdefault(code, set()).add(name)
        for name in {*names.tolist()} - papers.keys():
            papers[name] = sorted(table.sources(row[names == name][:1]))
    tables = assessment.run.facts.tables
    for limit in assessment.sorted_thresholds:
        for name in limit.row_ids.split():
            behind.setdefault(limit.place, set()).add(name)
            if name not in papers:
                table = tables[name.removeprefix("own:").partition(":")[0]]
                every = np.arange(table.size)
                papers[name] = sorted(table.sources(every[table.row_ids(every) == name]))
    by_code = {places.code(code): sorted(names) for code, names in behind.items()}
    return {"places": {code: by_code[code] for code in sorted(by_code)}, "rows": dict(sorted(papers.items()))}


def _used(assessment: Assessment) -> Iterator[tuple[Rows, npt.NDArray[np.int64], npt.NDArray[np.int64]]]:
    """Give, table by table, each place with each row that its cases rest on, once."""
    terms = assessment.run.terms
    for side in (terms.collect, terms.fulfiller):
        for index, evidence in side.proofs:
            for table, rows, _ in evidence.used:
                at = np.flatnonzero(rows >= 0)
                row = rows[at].astype(np.int64)
                width = int(row.max(initial=0)) + 1
                pairs = np.unique(terms.placed.place[index[at]].astype(np.int64) * width + row)
                yield table, pairs // width, pairs % width
