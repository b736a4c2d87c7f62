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
    from taxcalc.reports.local_rates import states_data, stored_pieces  # noqa: PLC0415 - heavy
    from taxcalc.reports.tables_list import as_data, pieces  # noqa: PLC0415 - heavy
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy
    from taxcalc.tables.overview import overview  # noqa: PLC0415 - heavy

    loaded = load_tables(tables)
    states = states_data(loaded.local.added, loaded) if loaded.local is not None else []
    data = {**as_data(overview(loaded), loaded.version), "local_rates": states}
    options.answer(data, lambda _: [*pieces(data), *stored_pieces(states, data["caution"])], as_json=as_json)
