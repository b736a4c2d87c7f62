"""What `taxcalc intake` shows and writes: the tie-out, what was understood, and the rows set aside."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from taxcalc.caution import CAUTION, TITLE
from taxcalc.cli.run import printable
from taxcalc.reports.csv_files import write_csv
from taxcalc.reports.folder import INTAKE_FILES, publish, write_text
from taxcalc.set_aside import REASONS

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from taxcalc.caution import Figures

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


def write_intake(out: Path, text: str, set_aside: Figures, inputs: Iterable[Path] = ()) -> list[Path]:
    """Write intake.txt and set_aside.csv as a folder of ours; give the paths. Raises as `reports.folder.publish` does."""

    def fill(new: Path) -> None:
        write_text(new / INTAKE_FILES[0], text)
        write_csv(set_aside, new / INTAKE_FILES[1])

    return publish(out, INTAKE_FILES, fill, inputs)
