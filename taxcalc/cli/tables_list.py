"""`taxcalc tables list`: every table in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from taxcalc.cli import options

if TYPE_CHECKING:
    from pathlib import Path


@click.command("list")
@options.tables
@options.as_json
def command(*, tables: Path | None, as_json: bool) -> None:
    """List the tables: rows, places, how old and how sure.

    \b
    Example:
      taxcalc tables list
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.reports.tables_list import as_data, pieces  # noqa: PLC0415 - heavy
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy
    from taxcalc.tables.overview import overview  # noqa: PLC0415 - heavy

    loaded = load_tables(tables)
    data = as_data(overview(loaded), loaded.version)
    options.answer(data, lambda _: pieces(data), as_json=as_json)
