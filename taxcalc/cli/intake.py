"""`taxcalc intake`: read, check and tie out the order files before anything is computed."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, SET_ASIDE, tell_written


@click.command("intake")
@options.files
@options.columns
@click.option(
    "--out", type=options.FOLDER, metavar="DIR", help="Also write set_aside.csv and intake.txt there."
)
def command(files: tuple[str, ...], columns: Path | None, out: Path | None) -> int:
    """Read and check your order files, and tie rows and amounts out.

    \b
    Example:
      taxcalc intake orders.csv --columns columns.toml --out intake
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.caution import Figures  # noqa: PLC0415 - only when the command runs
    from taxcalc.cli.intake_text import as_text, write_intake  # noqa: PLC0415 - only when the command runs
    from taxcalc.intake import read_orders  # noqa: PLC0415 - heavy
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy

    orders = read_orders(list(files), tables=load_tables, columns=columns)
    with closing(orders.spool):
        text = as_text(orders.tie_out.as_dict(), orders.notes)
        if out is not None:
            aside = Figures("set_aside", orders.set_aside.frame())
            for path in write_intake(out, text, aside, map(Path, files)):
                tell_written(path)
    click.echo(text, nl=False)
    return SET_ASIDE if orders.set_aside.faults else DONE
