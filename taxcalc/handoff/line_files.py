"""All line figures as CSV and Parquet: written bucket by bucket, so that memory stays bounded.

Lines are in the order of tax point, order and line; where there are more than fit into memory at once, they are in that
order inside each bucket only (`whole` tells). Amounts stand in the currency of the line and, under `reporting_`, in the
reporting currency, converted and rounded line by line as in the review, so that their sums are its sums.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Self

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pacsv
import pyarrow.parquet as pq

from taxcalc import places
from taxcalc.columns import PRODUCT_CLASSES, Channel, Entry
from taxcalc.days import quarter_name, quarter_number
from taxcalc.exchange import Conversion
from taxcalc.figures import line_figures
from taxcalc.money import CURRENCIES, EXPONENTS
from taxcalc.regime import DUTIES
from taxcalc.reports.csv_files import disarmed
from taxcalc.served import SCHEMES
from taxcalc.sums import line_values
from taxcalc.tax_parts import tax_parts
from taxcalc.terms import REGIMES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.figures import LineFigures
    from taxcalc.handoff.gathered import Gathered
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms

AT_ONCE: Final = 1_500_000
"""Lines that are put into one order in memory."""
SLICE: Final = 100_000
"""Lines that are written at a time."""
KEYS: Final = ("tax_point", "order_id", "line_id", "ordered_on", "row")
OWN: Final = (
    "item_amount",
    "shipping_amount",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
)
THEIRS: Final = ("fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high", "fulfiller_tax_charged")
REPORTED: Final = (
    "sales",
    "marketplace_sales",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
    "collected_without_duty",
    "shortfall",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
)
PARTS: Final = ("taxable", "state_tax", "local_tax")
"""Parts of a line's taxable amount and tax, in the reporting currency only; local is the rest of the tax."""


@dataclass(frozen=True)
class LineSums:
    """What the files add up to, by place and quarter: minor units of the reporting currency, and the number of lines."""

    lines: int
    whole: bool
    by_quarter: dict[tuple[str, str], dict[str, int]]


def write_lines(
    assessment: Assessment, csv: Path, parquet: Path, caution: str, gathered: Gathered
) -> LineSums:
    """Write both files and give their sums, taken from the very columns that were written; `gathered` looks at them too."""
    buckets = assessment.run.buckets
    whole = assessment.run.intake.spool.rows <= AT_ONCE
    sums: dict[tuple[str, str], dict[str, int]] = {}
    count = 0
    with _Writers(csv, parquet, caution) as writers:
        for ordered in _in_order((_table(assessment, number) for number in buckets), whole=whole):
            _add(sums, ordered)
            gathered.look(ordered)
            count += ordered.num_rows
            for start in range(0, ordered.num_rows, SLICE):
                writers.write(ordered.slice(start, SLICE), assessment.currency)
    return LineSums(count, whole, sums)


def _in_order(parts: Iterator[pa.Table], *, whole: bool) -> Iterator[pa.Table]:
    """Give the lines in their order: all at once, or bucket by bucket."""
    for table in [pa.concat_tables(list(parts))] if whole else parts:
        yield table.take(pc.sort_indices(table, [(name, "ascending") for name in KEYS]))


def _table(assessment: Assessment, number: int) -> pa.Table:
    """Give the lines of one bucket as columns: words as dictionaries, amounts as minor units (int64)."""
    run = assessment.run
    bucket = run.bucket(number)
    figures = line_figures(bucket, run.terms, by_order=run.seller.rounding == "order")
    lines, case, terms = bucket.lines, bucket.case, run.terms
    values = line_values(bucket, figures, assessment.currency, terms.cases.sample.take(case))
    codes, money = places.codes(), CURRENCIES
    reasons, reason = np.unique(terms.collect.reason.astype(str), return_inverse=True)
    theirs, their = np.unique(terms.fulfiller.reason.astype(str), return_inverse=True)
    quarters, quarter = np.unique(quarter_number(lines["tax_day"]), return_inverse=True)
    columns: dict[str, Any] = {
        "order_id": lines.order_id,
        "line_id": lines.line_id,
        "file": _words([file.name for file in run.intake.files], lines["file"]),
        "row": pa.array(lines["row"]),
        "ordered_on": _days(lines["day"]),
        "tax_point": _days(lines["tax_day"]),
        "quarter": _words([quarter_name(int(one)) for one in quarters], quarter.reshape(-1)),
        "entry": _words([one.name.lower() for one in Entry], lines["entry"]),
        "channel": _words([one.name.lower() for one in Channel], lines["channel"]),
        "product_class": _words(PRODUCT_CLASSES, lines["product_class"]),
        "quantity": pa.array(lines["quantity"]),
        "destination": _words(codes, lines["destination"]),
        "place": _words(codes, terms.placed.place[case]),
        "regime": _words([one.name for one in REGIMES], terms.regime[case]),
        "duty": _words(DUTIES, figures.duty),
        "reason": _words(reasons.tolist(), reason.reshape(-1)[case]),
        "fulfiller_reason": _words(theirs.tolist(), their.reshape(-1)[case]),
        "one_stop_shop": _words(SCHEMES, run.one_stop_shop.scheme[case]),
        "vat_rate_ppm": _vat_rate(terms, figures, case),
        "case_id": pa.array(case),
        "currency": _words(money, lines["currency"]),
        "tax_included": pa.array(bucket.settled.included),
        "item_amount": pa.array(lines["item_amount"]),
        "shipping_amount": pa.array(lines["shipping_amount"]),
    }
    for suffix, end in (("_low", "low"), ("", "expected"), ("_high", "high")):
        columns[f"to_collect{suffix}"] = pa.array(figures.to_collect[end])
    columns["collected"] = pa.array(figures.collected)
    columns["fulfiller_currency"] = _words(money, lines["fulfiller_currency"])
    for suffix, end in (("_low", "low"), ("", "expected"), ("_high", "high")):
        columns[f"fulfiller_tax{suffix}"] = pa.array(figures.fulfiller_tax[end])
    columns["fulfiller_tax_charged"] = pa.array(figures.fulfiller_tax_charged)
    columns |= {f"reporting_{name}": pa.array(values[name]) for name in REPORTED}
    parts, own = (
        tax_parts(bucket, terms, figures),
        Conversion(lines["currency"], assessment.currency, lines["day"]),
    )
    state = own.of(parts.state)
    columns["reporting_taxable"] = pa.array(own.of(parts.taxable))
    columns["reporting_state_tax"] = pa.array(state)
    columns["reporting_local_tax"] = pa.array(values["to_collect"] - state)
    return pa.table(columns)


def _vat_rate(terms: AllTerms, figures: LineFigures, case: npt.NDArray[np.int32]) -> pa.Array:
    """Give the VAT rate of lines with a duty in the Union, parts per million, null of all others."""
    taxed = (terms.regime[case] == places.EU) & figures.due
    return pa.array(terms.collect.rules["expected"].state_ppm[case], mask=~taxed)


def _words(words: Any, at: npt.NDArray[Any]) -> pa.DictionaryArray:  # noqa: ANN401 - a sequence of texts
    """Give one word a line."""
    return pa.DictionaryArray.from_arrays(pa.array(at.astype(np.int32)), pa.array(list(words), pa.string()))


def _days(days: npt.NDArray[np.int32]) -> pa.Array:
    """Give days since 1970-01-01 as dates."""
    return pa.array(days, pa.int32()).cast(pa.date32())


def _add(sums: dict[tuple[str, str], dict[str, int]], table: pa.Table) -> None:
    """Add the reporting amounts up by place and quarter."""
    names = [f"reporting_{name}" for name in REPORTED]
    found = table.group_by(["place", "quarter"]).aggregate(
        [*((name, "sum") for name in names), ("row", "count")]
    )
    for row in found.to_pylist():
        into = sums.setdefault((row["place"], row["quarter"]), dict.fromkeys((*REPORTED, "lines"), 0))
        for name in REPORTED:
            into[name] += int(row[f"reporting_{name}_sum"])
        into["lines"] += int(row["row_count"])


class _Writers:
    """The two files, open while buckets are written."""

    def __init__(self, csv: Path, parquet: Path, caution: str) -> None:
        """Remember where to write."""
        self._paths, self._caution = (csv, parquet), caution
        self._csv: Any = None
        self._parquet: Any = None

    def __enter__(self) -> Self:
        """Open the files; their names go over as bytes, since they may be no text."""
        self._files = [pa.OSFile(os.fsencode(path), "wb") for path in self._paths]
        return self

    def __exit__(self, *_: object) -> None:
        """Close both."""
        for writer in (self._csv, self._parquet, *self._files):
            if writer is not None:
                writer.close()

    def write(self, table: pa.Table, reporting: str) -> None:
        """Write some lines: Parquet with minor units, CSV with decimals; both with the caution on every line."""
        size = table.num_rows
        caution = _words([self._caution], np.zeros(size, np.int32))
        typed = table.append_column("reporting_currency", _words([reporting], np.zeros(size, np.int32)))
        typed = typed.append_column("caution", caution).unify_dictionaries()
        if self._parquet is None:
            self._parquet = pq.ParquetWriter(
                self._files[1],
                typed.schema.with_metadata({"caution": self._caution, "amounts": "minor units"}),
            )
        self._parquet.write_table(typed)
        texts = as_text(typed, reporting)
        if self._csv is None:
            self._csv = pacsv.CSVWriter(
                self._files[0], texts.schema, write_options=pacsv.WriteOptions(quoting_style="needed")
            )
        self._csv.write_table(texts)


def as_text(table: pa.Table, reporting: str) -> pa.Table:
    """Write amounts as decimals of their currencies and make texts harmless for a spreadsheet."""
    columns: dict[str, Any] = {}
    own, theirs = (_exponents(table.column(name)) for name in ("currency", "fulfiller_currency"))
    one = int(EXPONENTS[CURRENCIES.index(reporting)])
    for name in table.column_names:
        column = table.column(name)
        if name.startswith("reporting_") and name != "reporting_currency":
            columns[name] = _decimals(column, np.full(table.num_rows, one))
        elif name in OWN or name in THEIRS:
            columns[name] = _decimals(column, own if name in OWN else theirs)
        elif name in ("order_id", "line_id"):
            columns[name] = _harmless(column)
        elif pa.types.is_dictionary(column.type):
            columns[name] = column.cast(pa.string())
        else:
            columns[name] = column
    columns["file"] = _harmless(columns["file"])
    return pa.table(columns)


def _exponents(currency: pa.ChunkedArray) -> npt.NDArray[np.int8]:
    """Give the decimals of each line's currency."""
    coded = currency.combine_chunks()
    by_word = np.array([EXPONENTS[CURRENCIES.index(word)] for word in coded.dictionary.to_pylist()], np.int8)
    found: npt.NDArray[np.int8] = by_word[coded.indices.to_numpy()]
    return found


def _decimals(amounts: pa.ChunkedArray, exponents: npt.NDArray[Any]) -> pa.Array:
    """Write minor units as plain decimals."""
    values: Ints = amounts.to_numpy()
    result = np.empty(values.size, object)
    for exponent in np.unique(exponents).tolist():
        at = np.flatnonzero(exponents == exponent)
        scaled = pa.array(values[at]).cast(pa.decimal128(19, 0))
        shifted = pa.Array.from_buffers(pa.decimal128(19, exponent), at.size, scaled.buffers())
        if at.size == values.size:
            return shifted.cast(pa.string())
        result[at] = shifted.cast(pa.string()).to_numpy(zero_copy_only=False)
    return pa.array(result, pa.string())


_RISKY: Final = "^[^0-9A-Za-z]|[\\x00-\\x1f\\x7f-\\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]"
"""Texts that have to be looked at one by one; all others are harmless."""


def _harmless(column: Any) -> pa.Array:  # noqa: ANN401 - an array or chunks of one
    """Disarm the few texts that a spreadsheet might run."""
    texts = (column.cast(pa.string()) if pa.types.is_dictionary(column.type) else column).combine_chunks()
    risky = np.flatnonzero(pc.match_substring_regex(texts, _RISKY).to_numpy(zero_copy_only=False))
    if not risky.size:
        return texts
    found = texts.to_numpy(zero_copy_only=False).copy()
    found[risky] = [disarmed(str(text)) for text in found[risky]]
    return pa.array(found, pa.string())
