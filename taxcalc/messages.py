"""Every wording of a refusal, by id: why it is wrong and the mend.

The hundred of an id is the exit code. Fields in braces are filled by `refuse` and `complain`.
"""

from __future__ import annotations

from taxcalc.errors import Complaint, Refusal

CATALOGUE: dict[str, tuple[str, str]] = {
    # E3xx: order files
    # E5xx: seller profile
    # E52x: rate tables
    # E54x: column map
    # E6xx: output
    # E7xx: own totals
    "E701": (
        "the totals do not tie: {detail}.",
        "This is a fault of the program; nothing was published. Please report it with the log file.",
    ),
    "E702": (
        "an amount is too large to be computed exactly.",
        "Check the file for a number in the wrong column; amounts go up to 46 000 000 000 000 000 minor units.",
    ),
    # E8xx: output folder in use
}


def complain(  # noqa: PLR0913 - one keyword for each part of a sentence
    message_id: str,
    *,
    file: str | None = None,
    row: int | None = None,
    column: str | None = None,
    value: str | None = None,
    **fields: object,
) -> Complaint:
    """Build the complaint `message_id`; `value` and `fields` fill the braces of its wording."""
    why, mend = CATALOGUE[message_id]
    shown = {"value": value, "file": file, "row": row, "column": column, **fields}
    return Complaint(message_id, why.format(**shown), mend.format(**shown), file, row, column, value)


def refuse(message_id: str, **fields: object) -> Refusal:
    """Build the refusal `message_id`, ready to be raised."""
    return Refusal(complain(message_id, **fields))  # type: ignore[arg-type]
