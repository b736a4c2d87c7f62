"""What `taxcalc intake` shows and writes: the tie-out, what was understood, and the rows set aside."""

from __future__ import annotations

import csv
import io
import os
import tempfile
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from taxcalc.caution import CAUTION, TITLE
from taxcalc.cli.run import printable
from taxcalc.messages import refuse
from taxcalc.set_aside import REASONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pandas as pd

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
WIDTH = 96


def as_text(tie_out: dict[str, Any], notes: Iterable[str]) -> str:
    """Write the tie-out and the notes as plain text, with the caution below."""
    sections = (_rows(tie_out), _amounts(tie_out["amounts"]), _notes(notes), textwrap.wrap(CAUTION, WIDTH))
    body = "\n\n".join("\n".join(section) for section in sections if section)
    return f"{TITLE}: your order files\n\n{body}\n"


def _rows(tie_out: dict[str, Any]) -> list[str]:
    counted = [("rows read", tie_out["rows_read"]), ("rows used", tie_out["rows_used"])]
    counted.append(("rows set aside", tie_out["rows_set_aside"]))
    counted += [(f"  {REASONS[reason].words}", count) for reason, count in tie_out["by_reason"].items()]
    return [f"{words:<74}{count:>14}" for words, count in counted]


def _amounts(amounts: dict[str, dict[str, dict[str, str]]]) -> list[str]:
    lines = [
        f"{currency:<5}{column:<29}{sums['read']:>18}{sums['used']:>18}{sums['set_aside']:>18}"
        for currency, columns in amounts.items()
        for column, sums in columns.items()
    ]
    return [f"{'amounts':<34}{'read':>18}{'used':>18}{'set aside':>18}", *lines] if lines else []


def _notes(notes: Iterable[str]) -> list[str]:
    lines: list[str] = []
    for note in notes:
        lines += textwrap.wrap(printable(note), WIDTH, initial_indent="- ", subsequent_indent="  ")
    return ["What was understood", *lines] if lines else []


def write_intake(out: Path, text: str, set_aside: pd.DataFrame) -> list[Path]:
    """Write intake.txt and set_aside.csv, each whole or not at all; give their paths.

    Raises `Refusal` E608 where a file of that name is there that another program wrote, E609 where the folder
    cannot be written.
    """
    contents = {out / "intake.txt": text, out / "set_aside.csv": _as_csv(set_aside)}
    for path in contents:
        if path.exists() and not _is_ours(path):
            raise refuse("E608", file=str(path))
    try:
        out.mkdir(parents=True, exist_ok=True)
        for path, content in contents.items():
            _replace(path, content)
    except OSError as error:
        raise refuse("E609", file=str(out), detail=(error.strerror or str(error)).lower()) from error
    return list(contents)


def _is_ours(path: Path) -> bool:
    """Tell whether an earlier run wrote the file: it holds the caution, or a header with a column for it."""
    try:
        words = " ".join(path.read_text(encoding="utf-8-sig").split())
    except (OSError, UnicodeDecodeError):
        return False
    return CAUTION in words or words.endswith(",caution")


def _replace(path: Path, content: str) -> None:
    """Write a new file beside and rename it over the old one."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".taxcalc-")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(content)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _as_csv(set_aside: pd.DataFrame) -> str:
    """Write the rows set aside with a caution column; formulas are disarmed."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow([*(str(name) for name in set_aside.columns), "caution"])
    writer.writerows((*cells, CAUTION) for cells in _cells(set_aside))
    return written.getvalue()


def _cells(set_aside: pd.DataFrame) -> Iterator[tuple[str, ...]]:
    """Give each row as text, blanks where there is nothing."""
    texts = set_aside.astype("string").fillna("")
    columns = [_disarmed(texts[name]) for name in texts.columns]
    return zip(*columns, strict=True)


def _disarmed(column: pd.Series[str]) -> list[str]:
    """Put an apostrophe before what a spreadsheet would take for a formula."""
    runs = column.str.startswith(_FORMULA)
    return column.where(~runs, "'" + column).tolist()
