"""`taxcalc review`: the quarterly exposure review."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, SET_ASIDE, tell_written

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from taxcalc.assessment import Assessment


@click.command("review")
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
@click.option("--out", type=options.FOLDER, metavar="DIR", help="Also write the figures into this folder.")
@click.option("--with-interest", is_flag=True, help="Also show interest and penalties, as a scenario apart.")
@click.option("--full", "whole", is_flag=True, help="Print the whole review, not only what matters first.")
@click.option("--strict", is_flag=True, help="Stop if any row has to be set aside.")
@options.as_json
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
    out: Path | None,
    with_interest: bool,
    whole: bool,
    strict: bool,
    as_json: bool,
) -> int:
    """Show what you may owe or should collect, and limits near.

    \b
    Example:
      taxcalc review orders.csv --seller seller.toml --quarter 2026-Q3 --out review
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    period = options.period(quarter, first, last)
    assessment = assess(list(files), seller, columns=columns, tables=tables, as_of=as_of, period=period)
    assessment.with_interest = with_interest
    return publish(assessment, out=out, strict=strict, as_json=as_json, whole=whole)


def assess(orders: list[str], seller: Path, **asked: Any) -> Assessment:  # noqa: ANN401 - passed on as they are
    """Run the assessment with a progress line."""
    from taxcalc.cli.memory import keep_freed_memory  # noqa: PLC0415 - only when the command runs
    from taxcalc.cli.progress import progress  # noqa: PLC0415 - only when the command runs
    from taxcalc.run import assess as assess_orders  # noqa: PLC0415 - heavy

    keep_freed_memory()
    with progress() as show:
        return assess_orders(orders, seller, progress=show, **asked)


def publish(
    assessment: Assessment,
    *,
    out: Path | None,
    strict: bool = False,
    as_json: bool = False,
    whole: bool = False,
) -> int:
    """Write the folder, then print; files come first, since stdout stays empty unless all went well."""
    faults = assessment.set_aside_faults
    if strict and faults:
        from taxcalc.messages import refuse  # noqa: PLC0415 - only on this way out

        raise refuse("E390", rows=faults)
    record = assessment.record()
    if out is not None:
        from taxcalc.reports.folder import write_folder  # noqa: PLC0415 - heavy

        for path in write_folder(assessment, out) or ():
            tell_written(path)
    if as_json:
        from taxcalc.reports.json_file import json_text  # noqa: PLC0415 - only for JSON

        click.echo(json_text(record), nl=False)
    else:
        from taxcalc.reports.terminal import print_review  # noqa: PLC0415 - heavy

        print_review(record, whole=whole)
    return SET_ASIDE if faults else DONE
