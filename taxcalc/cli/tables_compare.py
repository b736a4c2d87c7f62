"""`taxcalc tables compare`: what differs from the shipped tables, and what that changes in the figures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, SET_ASIDE

if TYPE_CHECKING:
    from taxcalc.tables.load import Tables


@click.command("compare")
@click.argument("directory", type=options.FOLDER, metavar="DIR")
@click.argument("more", nargs=-1, metavar="")
@click.option(
    "--orders", multiple=True, metavar="FILES...", help="Order files: also show what changes in the figures."
)
@click.option(
    "--seller", type=click.Path(path_type=Path), metavar="F", help="Your seller.toml, with --orders."
)
@options.columns
@options.as_json
def command(
    *,
    directory: Path,
    more: tuple[str, ...],
    orders: tuple[str, ...],
    seller: Path | None,
    columns: Path | None,
    as_json: bool,
) -> int:
    """Compare a folder with the shipped tables, in rows and money.

    \b
    Example:
      taxcalc tables compare my-rates --orders orders.csv --seller seller.toml
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.caution import CAUTION  # noqa: PLC0415 - only when the command runs
    from taxcalc.reports.tables_changes import pieces  # noqa: PLC0415 - heavy
    from taxcalc.tables.audit import is_full_set, require_tables  # noqa: PLC0415 - heavy
    from taxcalc.tables.difference import difference  # noqa: PLC0415 - heavy
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy

    files = _files(orders, more, seller)
    require_tables(directory)
    full, shipped = is_full_set(directory), load_tables()
    other = load_tables(shipped=directory, label=str(directory)) if full else load_tables(directory)
    figures = _figures(files, seller, columns, shipped, other) if seller else None
    data = {
        "caution": CAUTION,
        "directory": str(directory),
        "full_set": full,
        "shipped_version": shipped.version,
        "version": other.version,
        "tables": difference(shipped, other),
        "figures": figures,
    }
    options.answer(data, lambda _: pieces(data), as_json=as_json)
    return SET_ASIDE if figures and figures["rows_set_aside"] else DONE


def _files(orders: tuple[str, ...], more: tuple[str, ...], seller: Path | None) -> list[str]:
    """Give the order files; those after the first stand alone: --orders a.csv b.csv."""
    if more and not orders:
        message = f"Give one folder only, or --orders before {more[0]}."
        raise click.UsageError(message)
    if bool(orders) != bool(seller):
        message = "--orders and --seller belong together: give both."
        raise click.UsageError(message)
    files = [*orders, *more]
    if "-" in files:
        message = "The orders are read twice, so they have to be files."
        raise click.UsageError(message)
    return files


def _figures(
    files: list[str], seller: Path | None, columns: Path | None, shipped: Tables, other: Tables
) -> dict[str, Any]:
    """Assess the orders with the shipped tables and with the others."""
    from taxcalc.cli.progress import progress  # noqa: PLC0415 - only when the command runs
    from taxcalc.figure_changes import figure_changes  # noqa: PLC0415 - heavy
    from taxcalc.run import assess  # noqa: PLC0415 - heavy

    records, aside = [], 0
    with progress() as tell:
        for tables in (shipped, other):
            assessment = assess(files, str(seller), tables=tables, columns=columns, progress=tell)
            records.append(assessment.record())
            aside = max(aside, assessment.set_aside_faults)
            del assessment  # its lines go before the next ones come
    return {**figure_changes(*records), "rows_set_aside": aside}
