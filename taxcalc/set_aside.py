"""Rows set aside: which, why, and how to mend them. Nothing is dropped without standing here.

`REASONS` is the one catalogue of reasons; `reason` in frames, files and the tie-out is its key.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from taxcalc import arrow
from taxcalc.columns import COLUMNS, PRODUCT_CLASSES
from taxcalc.money import CURRENCIES
from taxcalc.tie_out import TieOut, sums_of

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd
    import pyarrow as pa
    from numpy.typing import NDArray

    from taxcalc.spool import Lines, Spool

HOLD = 200_000
"""Rows set aside that are kept in memory; beyond it they go to the folder of the spool."""

LONGEST_VALUE = 200
"""Characters of a value that are kept."""

FRAME_COLUMNS = ("file", "row", "column", "value", "reason", "mend")
COLUMN_NAMES: tuple[str, ...] = ("", *(column.name for column in COLUMNS))


class Reason(NamedTuple):
    """Why a row is set aside, in plain words, the mend, and whether it counts against exit code 0."""

    words: str
    mend: str
    fault: bool = True


_ISO = "Write the day as year-month-day, such as 2025-01-31; a time may follow, such as 2025-01-31T18:05:00Z."
_DECIMAL = "Write a plain number with a point and without signs or grouping, such as 1234.50."

REASONS: dict[str, Reason] = {
    "wrong_number_of_fields": Reason(
        "the row has more or fewer fields than the header",
        "Put text that contains the separator in double quotes, or export the file again.",
    ),
    "nul_in_cell": Reason("a cell holds a zero byte, so the row is damaged", "Export the file again."),
    "repeated_header": Reason(
        "the row repeats the header, as in joined exports",
        "Nothing to mend; the row is no order.",
        fault=False,
    ),
    "no_order_id": Reason(
        "the row has no order number", "Fill in the order number; a totals line can be deleted."
    ),
    "no_date": Reason("the day of the order is missing", _ISO),
    "bad_date": Reason("the value is no day of the calendar in ISO form", _ISO),
    "year_out_of_range": Reason("the year cannot be right", "Correct the year; 1990 to 2099 is accepted."),
    "no_currency": Reason("the currency is missing", "Write the three-letter ISO 4217 code, such as EUR."),
    "unknown_currency": Reason(
        "the value is no currency code in use", "Write the three-letter ISO 4217 code, such as EUR."
    ),
    "no_amount": Reason(
        "an amount that is needed is missing", f"{_DECIMAL} Write 0 where nothing was charged."
    ),
    "bad_amount": Reason("the value is no plain decimal number", _DECIMAL),
    "too_many_decimals": Reason(
        "the amount has more decimals than its currency has", "Round the amount to what was really charged."
    ),
    "amount_too_large": Reason(
        "the amount is too large for one line in its currency",
        "Check whether the columns are shifted, or split the line. The limit is 10 million, in a currency of small units as "
        "many times ten as its rate per euro has further digits: 1 billion yen or forint.",
    ),
    "negative_sale": Reason(
        "a line that is no refund has a negative amount",
        "Write refund in the column entry to mark it as a refund.",
    ),
    "bad_quantity": Reason(
        "the quantity is no whole number above 0",
        "Write a whole number of items; mark what came back as a refund in the column entry.",
    ),
    "unknown_entry": Reason(
        "the kind of entry is not known", "Write sale, refund or sample; blank means sale."
    ),
    "unknown_channel": Reason("the channel is not known", "Write own or marketplace; blank means own."),
    "unknown_yes_no": Reason("the answer is neither yes nor no", "Write yes or no, or leave the cell blank."),
    "unknown_buyer_exempt": Reason(
        "the kind of exempt buyer is not known", "Write no, resale or exempt; blank means no."
    ),
    "unknown_product_class": Reason(
        "the kind of goods is not known", f"Write one of {', '.join(PRODUCT_CLASSES)}; blank means other."
    ),
    "no_country": Reason(
        "the country of arrival is missing or cannot be read",
        "Write the two-letter ISO code, such as US or DE.",
    ),
    "zip_state_conflict": Reason(
        "the ZIP code lies in another state than the one given", "Correct the state or the ZIP code."
    ),
    "bad_ship_from": Reason(
        "the place of dispatch cannot be read",
        "Write the two-letter ISO code of the country and the code of the state, or leave both blank.",
    ),
    "exact_duplicate": Reason(
        "the same line stands in the files more than once", "Nothing to mend; it is used once.", fault=False
    ),
    "conflicting_duplicate": Reason(
        "the same line stands in the files with different contents",
        "Keep the right one and delete the others.",
    ),
    "after_as_of": Reason(
        "the order is later than the day of the review",
        "Nothing to mend; choose a later day to use it.",
        fault=False,
    ),
    "no_rate": Reason(
        "no exchange rate is on file for that currency and day", "Add the rate to your own exchange rates."
    ),
    "refund_currency": Reason(
        "the refund is in another currency than its sale", "Give the refund in the currency of the sale."
    ),
}
REASON_NAMES = tuple(REASONS)
REASON_CODE = {name: code for code, name in enumerate(REASON_NAMES)}
COLUMN_CODE = {name: code for code, name in enumerate(COLUMN_NAMES)}


class Slips(NamedTuple):
    """Rows to set aside, as equal-long arrays; reasons and columns are positions in the lists above."""

    file: NDArray[np.int16]
    row: NDArray[np.int32]
    column: NDArray[np.int8]
    reason: NDArray[np.int8]
    value: pa.Array


@dataclass
class SetAside:
    """All rows set aside. `files` are the names of the input files, `tie_out` is kept in step."""

    files: list[str]
    tie_out: TieOut
    spool: Spool | None = None
    rows: int = 0
    _batches: list[pa.RecordBatch] = field(default_factory=list)
    _held: int = 0
    _written: list[Path] = field(default_factory=list)

    @property
    def faults(self) -> int:
        """Rows that count against exit code 0: all whose reason is a fault."""
        return sum(count for name, count in self.tie_out.by_reason.items() if REASONS[name].fault)

    def add(self, slips: Slips) -> None:
        """Add rows whose part in the tie-out has been counted by the caller."""
        import pyarrow as pa  # noqa: PLC0415 - heavy

        if not len(slips.row):
            return
        self._batches.append(
            pa.record_batch(
                [part if isinstance(part, pa.Array) else arrow.column(part) for part in slips],
                names=Slips._fields,
            )
        )
        self._held += len(slips.row)
        self.rows += len(slips.row)
        if self._held > HOLD and self.spool is not None:
            self._write(self.spool.folder)

    def put_aside(
        self,
        lines: Lines,
        mask: NDArray[np.bool_],
        reason: str,
        column: str = "",
    ) -> None:
        """Set aside canonical lines that a later step cannot use, and keep the tie-out in step.

        `mask` marks them among `lines`; the value shown is that of the column, or the order number where none is
        named. Raises `KeyError` for a reason or column that is not in the catalogue.
        """
        code, where = REASON_CODE[reason], COLUMN_CODE[column]
        marked = lines.take(mask)
        if not marked.size:
            return
        self.tie_out.put_aside({reason: marked.size}, sums_of(marked))
        value = _cells(marked, column or "order_id")
        same = np.ones(marked.size, np.int8)
        self.add(
            Slips(
                marked["file"], marked["row"], same * np.int8(where), same * np.int8(code), shortened(value)
            )
        )

    def frame(self) -> pd.DataFrame:
        """Give all rows set aside: file, row, column, value, reason, mend, in the order of file and row."""
        import pandas as pd  # noqa: PLC0415 - heavy
        import pyarrow as pa  # noqa: PLC0415 - heavy

        batches = [batch for path in self._written for batch in _read(path)] + self._batches
        if not batches:
            return pd.DataFrame(
                {name: pd.Series(dtype="int64" if name == "row" else "str") for name in FRAME_COLUMNS}
            )
        table = pa.Table.from_batches(batches).sort_by(
            [(name, "ascending") for name in ("file", "row", "reason")]
        )
        codes = {name: table[name].to_numpy() for name in ("file", "column", "reason")}
        mends = [REASONS[name].mend for name in REASON_NAMES]
        return pd.DataFrame(
            {
                "file": np.array(self.files, dtype=object)[codes["file"]],
                "row": table["row"].to_numpy().astype(np.int64),
                "column": np.array(COLUMN_NAMES, dtype=object)[codes["column"]],
                "value": table["value"].to_pandas().astype("str"),
                "reason": np.array(REASON_NAMES, dtype=object)[codes["reason"]],
                "mend": np.array(mends, dtype=object)[codes["reason"]],
            }
        ).astype({name: "str" for name in FRAME_COLUMNS if name != "row"})

    def first(self, file: int) -> dict[str, Any]:
        """Describe the first row of a file that was set aside, for a message."""
        import pyarrow.compute as pc  # noqa: PLC0415 - heavy

        batches = [batch for path in self._written for batch in _read(path)] + self._batches
        for batch in batches:
            found = batch.filter(pc.equal(batch["file"], file))
            if found.num_rows:
                one = found.sort_by("row").slice(0, 1).to_pylist()[0]
                why = REASONS[REASON_NAMES[one["reason"]]]
                spot = {
                    "row": one["row"],
                    "column": COLUMN_NAMES[one["column"]] or None,
                    "value": one["value"],
                }
                return {**spot, "reason": why.words, "how": why.mend}
        raise KeyError(file)

    def _write(self, folder: Path) -> None:
        """Move the rows held in memory to a file in the folder of the spool."""
        import pyarrow as pa  # noqa: PLC0415 - heavy

        path = folder / f"set_aside-{len(self._written)}.arrow"
        with pa.OSFile(str(path), "wb") as file, pa.ipc.new_file(file, self._batches[0].schema) as writer:
            for batch in self._batches:
                writer.write_batch(batch)
        self._written.append(path)
        self._batches, self._held = [], 0


def _cells(lines: Lines, column: str) -> pa.Array:
    """Write the cells of a column of canonical lines as text."""
    if column in ("currency", "fulfiller_currency"):
        return arrow.texts([CURRENCIES[number] for number in lines[column].tolist()])
    if column == "ordered_on":
        return arrow.texts(np.datetime_as_string(lines["day"].astype("datetime64[D]")).tolist())
    texts: pa.Array = getattr(lines, column)
    return texts


def shortened(values: pa.Array) -> pa.Array:
    """Cut long texts, so that one cell of a damaged file does not fill the list."""
    if not len(values):
        return values
    import pyarrow.compute as pc  # noqa: PLC0415 - heavy

    return pc.utf8_slice_codeunits(values, 0, LONGEST_VALUE)


def _read(path: Path) -> list[pa.RecordBatch]:
    """Read rows back that were moved out of memory."""
    import pyarrow as pa  # noqa: PLC0415 - heavy

    with pa.memory_map(str(path)) as file:
        batches: list[Any] = pa.ipc.open_file(file).read_all().to_batches()
    return batches
