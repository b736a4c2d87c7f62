"""`taxcalc start`: a working folder to begin with."""

from __future__ import annotations

from pathlib import Path

import click

from taxcalc.cli.run import printable, tell_written


@click.command("start")
@click.argument("directory", type=click.Path(path_type=Path), metavar="DIR")
def command(directory: Path) -> None:
    """Write a folder to begin with: profile, column map, orders.

    \b
    Example:
      taxcalc start my-shop
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.start import write_start_folder  # noqa: PLC0415 - only when the command runs

    for path in write_start_folder(directory):
        tell_written(path)
    orders, seller, columns = (
        f'"{printable(str(directory / name))}"'
        for name in ("orders-example.csv", "seller.toml", "columns.toml")
    )
    click.echo(
        f"Next: read {seller}, then try\n  taxcalc review {orders} --seller {seller} --columns {columns}"
    )
