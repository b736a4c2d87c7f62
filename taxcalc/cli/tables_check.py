"""`taxcalc tables check`: every finding about the tables, with file, row, column, value and mend."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, SET_ASIDE, printable

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from taxcalc.tables.audit import Audit


@click.command("check")
@click.argument("directory", required=False, type=options.FOLDER, metavar="[DIR]")
@click.option(
    "--older-than", type=click.IntRange(min=0), metavar="DAYS", help="Also find rows checked longer ago."
)
@click.option(
    "--as-of", type=options.Day(), metavar="DAY", help="Count the age from this day; default: today."
)
@options.as_json
def command(*, directory: Path | None, older_than: int | None, as_of: date | None, as_json: bool) -> int:
    """Check the shipped tables, or your own rows in a folder.

    \b
    Example:
      taxcalc tables check my-shop/own_tables --older-than 365
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.tables.audit import audit  # noqa: PLC0415 - heavy

    found = audit(directory, as_of or options.today(), older_than)
    if as_json:
        options.answer(_data(found), lambda _: [], as_json=True)
    else:
        click.echo("\n".join(_lines(found)))
    return SET_ASIDE if found.findings else DONE


def _lines(found: Audit) -> list[str]:
    """Write the findings, or one sentence where there are none."""
    looked = f"{_several(found.rows, 'row')} in {_several(found.tables, 'table')}{_store(found)}"
    if not found.findings:
        return [f"No findings in {printable(found.where)}: {looked}."]
    said = [printable(str(finding)) for finding in found.findings]
    return [*said, f"{_several(len(said), 'finding')} in {printable(found.where)}: {looked}."]


def _several(number: int, one: str) -> str:
    """Write a count with its noun: 1 row, 2 rows."""
    return f"{number:,} {one}{'' if number == 1 else 's'}"


def _store(found: Audit) -> str:
    """Say what a store of local rates beside the tables holds."""
    if not found.local:
        return ""
    rows = sum(state.spans + state.held for state in found.local)
    first = min((state.first_day for state in found.local if state.first_day), default="no day")
    names = ", ".join(state.place for state in found.local)
    return f", and {_several(rows, 'row')} of local rates from {first} on ({names})"


def _data(found: Audit) -> dict[str, Any]:
    """Give the findings as data."""
    from taxcalc.caution import CAUTION  # noqa: PLC0415 - only for JSON

    parts = ("id", "file", "row", "column", "value", "why", "mend")
    findings = [
        {**{name: getattr(each, name) for name in parts}, "caution": CAUTION} for each in found.findings
    ]
    return {
        "caution": CAUTION,
        "checked": found.where,
        "tables": found.tables,
        "rows": found.rows,
        "local_rates": [
            {
                "place": state.place,
                "ranges": state.spans,
                "rates": state.held,
                "first_valid_from": state.first_day or None,
                "caution": CAUTION,
            }
            for state in found.local
        ],
        "findings": findings,
    }
