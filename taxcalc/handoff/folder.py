"""The folder of a hand-off, written whole or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import Figures
from taxcalc.handoff.book import write_book
from taxcalc.handoff.controls import broken, controls
from taxcalc.handoff.gathered import Gathered
from taxcalc.handoff.line_files import write_lines
from taxcalc.handoff.papers import papers
from taxcalc.handoff.readme import readme
from taxcalc.handoff.since import since
from taxcalc.messages import refuse
from taxcalc.reports.csv_files import write_csv
from taxcalc.reports.folder import publish, write_text
from taxcalc.reports.json_file import json_text
from taxcalc.reports.page import review_page
from taxcalc.reports.pictures import pictures

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from taxcalc.assessment import Assessment
    from taxcalc.handoff.controls import Control, Given
    from taxcalc.handoff.sheet import Sheet

TABS: Final = (
    *(
        "A-lead",
        "B-summary",
        "C-since-duty",
        "D-quarters",
        "E-limits",
        "F-fulfiller-tax",
        "G-credits",
        "H-documents",
    ),
    *(
        "I-us-period",
        "J-eu-period",
        "J2-one-stop-shop",
        "J3-reasons",
        "J4-elsewhere",
        "J5-local-returns",
        "K-set-aside",
        "L-assumptions",
        "M-questions",
    ),
    *("N-documents-given", "O-statements", "P1-exempt-buyers", "P2-evidence", "Q-rows-used", "R-changes"),
    *("S-lines-sample", "T-dictionary"),
)
"""The sheets by their tabs, which name their CSV files too."""
FILES: Final = (
    *(
        "exposure.xlsx",
        "lines.csv",
        "lines.parquet",
        "set_aside.csv",
        "record.json",
        "page.html",
        "README.txt",
    ),
    *(f"{tab}.csv" for tab in TABS),
)


def write_handoff(
    assessment: Assessment, out: Path, told: Iterable[Given] = (), previous: dict[str, Any] | None = None
) -> tuple[list[Path], list[Control]]:
    """Write the folder; give its paths and the checks that were made.

    Raises as `taxcalc.reports.folder.publish` does, and E701 where sums of the program's own do not agree: then nothing is
    published.
    """
    record = assessment.record()
    made: list[Control] = []

    def fill(new: Path) -> None:
        gathered = Gathered(assessment.run.period, assessment.currency)
        sums = write_lines(assessment, new / "lines.csv", new / "lines.parquet", record["caution"], gathered)
        made.extend(controls(assessment, record, sums, told))
        if broken(made):
            raise refuse("E701", detail="; ".join(f"{one.name} ({one.about})" for one in broken(made)))
        found = since(assessment, record, previous) if previous is not None else None
        sheets = papers(assessment, record, gathered, made, found)
        order = assessment.usual_order()
        write_book(sheets, new / "exposure.xlsx", assessment.run.as_of, pictures(record, order))
        for sheet in sheets:
            write_csv(_figures(sheet), new / f"{sheet.tab}.csv")
        write_csv(assessment.figures("set_aside"), new / "set_aside.csv")
        write_text(new / "record.json", json_text(record))
        write_text(new / "page.html", review_page(record, assessment.figures("set_aside"), order))
        write_text(new / "README.txt", readme(record, sheets, made, FILES, whole=sums.whole))

    return publish(out, FILES, fill, assessment.inputs), made


def _figures(sheet: Sheet) -> Figures:
    """Give a sheet as figures for the CSV writer, amounts as text."""
    import pandas as pd  # noqa: PLC0415 - heavy

    columns = {
        title: ["" if value is None else str(value) for value in values]
        for title, values in sheet.frame_columns().items()
    }
    if not sheet.rows:
        columns = {title: [sheet.empty if at == 0 else ""] for at, title in enumerate(columns)}
    return Figures(sheet.name, pd.DataFrame(columns, dtype=object), sheet.caution)
