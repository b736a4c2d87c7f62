"""`taxcalc tables show`: the rows of one table, of one place, on one day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from taxcalc.cli import options

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@click.command("show")
@click.argument("table", metavar="TABLE")
@click.argument("place", nargs=-1, metavar="[PLACE]")
@click.option("--on", type=options.Day(), metavar="DAY", help="Only what holds on this day, and why.")
@options.tables
@options.as_json
def command(
    *, table: str, place: tuple[str, ...], on: date | None, tables: Path | None, as_json: bool
) -> None:
    """Show rows with their values, days, sources and doubts.

    \b
    Example:
      taxcalc tables show us/thresholds US-TX --on 2026-09-30
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.days import number  # noqa: PLC0415 - heavy
    from taxcalc.reports.tables_rows import pieces  # noqa: PLC0415 - heavy
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy
    from taxcalc.tables.shown import has_places, shown  # noqa: PLC0415 - heavy

    where = " ".join(place)  # New York needs no quotes
    name, code = options.named(table, where)
    loaded = load_tables(tables)
    if code and not has_places(loaded[name]):
        message = f"{name} has no places. Leave {where} out."
        raise click.UsageError(message)
    data = shown(loaded, name, code, None if on is None else number(on))
    options.answer(data, lambda _: pieces(data), as_json=as_json)
