"""`taxcalc tables copy`: a folder to begin rows of your own in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from taxcalc.cli import options
from taxcalc.cli.run import printable, tell_written

if TYPE_CHECKING:
    from pathlib import Path


@click.command("copy")
@click.argument("directory", type=options.FOLDER, metavar="DIR")
@click.argument("tables", nargs=-1, metavar="[TABLE]...")
def command(*, directory: Path, tables: tuple[str, ...]) -> None:
    """Start a folder for your own rows, with headers and examples.

    \b
    Example:
      taxcalc tables copy my-rates us/thresholds eu/rates
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.tables.own_folder import start_own_rows  # noqa: PLC0415 - heavy

    for path in start_own_rows(directory, [options.named(table)[0] for table in tables]):
        tell_written(path)
    click.echo(f'Next: add rows, then try\n  taxcalc tables check "{printable(str(directory))}"')
