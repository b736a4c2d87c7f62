"""`taxcalc handoff`: the folder for the accountant."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, SET_ASIDE, tell_written

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@click.command("handoff")
@options.files
@options.seller
@options.columns
@options.tables
@click.option(
    "--quarter", type=options.Quarter(), metavar="2026-Q3", help="The quarter; default: the last one over."
)
@click.option("--from", "first", type=options.Day(), metavar="DAY", help="First day, instead of a quarter.")
@click.option("--to", "last", type=options.Day(), metavar="DAY", help="Last day, inclusive.")
@click.option(
    "--as-of", type=options.Day(), metavar="DAY", help="Look from this day; default: that of the last order."
)
@click.option("--out", type=options.FOLDER, required=True, metavar="DIR", help="The folder to write.")
@click.option(
    "--control",
    multiple=True,
    metavar="NAME=SUM",
    help="A sum of your own to hold ours against, such as tax_collected=1234.50.",
)
@click.option(
    "--previous",
    type=options.FOLDER,
    metavar="F",
    help="record.json of the last hand-off, to show what changed.",
)
@click.option("--strict", is_flag=True, help="Stop if any row has to be set aside.")
def command(  # noqa: PLR0913 - one argument an option
    *,
    files: tuple[str, ...],
    seller: Path,
    columns: Path | None,
    tables: Path | None,
    quarter: str | None,
    first: date | None,
    last: date | None,
    as_of: date | None,
    out: Path,
    control: tuple[str, ...],
    previous: Path | None,
    strict: bool,
) -> int:
    """Write the folder for your accountant.

    \b
    Example:
      taxcalc handoff orders.csv --seller seller.toml --quarter 2026-Q3 --out handoff
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.cli.review import assess  # noqa: PLC0415 - only when the command runs
    from taxcalc.handoff.controls import given  # noqa: PLC0415 - heavy
    from taxcalc.handoff.folder import write_handoff  # noqa: PLC0415 - heavy
    from taxcalc.handoff.since import read_previous  # noqa: PLC0415 - heavy
    from taxcalc.messages import refuse  # noqa: PLC0415 - heavy

    period = options.period(quarter, first, last)
    before = read_previous(previous) if previous else None
    assessment = assess(list(files), seller, columns=columns, tables=tables, as_of=as_of, period=period)
    try:
        told = [given(text, assessment.currency) for text in control]
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    faults = assessment.set_aside_faults
    if strict and faults:
        raise refuse("E390", rows=faults)
    paths, checks = write_handoff(assessment, out, told, before)
    for path in paths:
        tell_written(path)
    from taxcalc.handoff.screen import print_handoff  # noqa: PLC0415 - heavy

    print_handoff(assessment.record(), checks, out)
    return SET_ASIDE if faults else DONE
