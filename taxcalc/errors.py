"""What can be wrong with what the user gave, and how it is said.

A `Complaint` is one sentence about one spot: id, file, row as the user's spreadsheet numbers it, column, value,
why, and the mend. A `Refusal` is a complaint that ends the run; its exit code is the hundred of its id
(E2xx wrong use, E3xx order files, E5xx profile, tables and column map, E6xx output, E7xx own totals, E8xx output folder in use).
All wordings stand in `taxcalc.messages`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Complaint:
    """One thing that is wrong, at one spot. `row` counts as a spreadsheet does (the header is row 1)."""

    id: str
    why: str
    mend: str
    file: str | None = None
    row: int | None = None
    column: str | None = None
    value: str | None = None

    def __str__(self) -> str:
        """Write the sentence a person reads: `E521 rates.csv, row 118, column "x": '31/02' is no date. Mend`."""
        spot = [
            part
            for part in (
                self.file,
                f"row {self.row}" if self.row is not None else None,
                f'column "{self.column}"' if self.column is not None else None,
            )
            if part
        ]
        where = ", ".join(spot)
        head = f"{self.id} {where}: " if where else f"{self.id}: "
        return f"{head}{self.why} {self.mend}".rstrip()


class Refusal(Exception):  # noqa: N818 - the user's word for it; not every refusal is an error of ours
    """A complaint that ends the run. `exit_code` follows from the complaint's id (3 for E3xx, 5 for E5xx...)."""

    def __init__(self, complaint: Complaint, more: tuple[Complaint, ...] = ()) -> None:
        """Keep the first complaint and the others found in the same go."""
        super().__init__(str(complaint))
        self.complaint = complaint
        self.more = more

    @property
    def exit_code(self) -> int:
        """The exit code of the command line for this refusal."""
        return int(self.complaint.id[1])
