"""`taxcalc tables`: look at the rate tables, check them, compare them, and start rows of your own."""

from __future__ import annotations

from typing import Final

import click

from taxcalc.cli.lazy import LazyGroup

SUBCOMMANDS: Final = ("list", "show", "check", "compare", "copy", "add-local")
"""The command NAME stands in `taxcalc.cli.tables_NAME` as `command`."""


@click.group("tables", cls=LazyGroup, names=SUBCOMMANDS, prefix="taxcalc.cli.tables_")
def command() -> None:
    """Look at the rates and limits, check, compare, add your own.

    \b
    Example:
      taxcalc tables show us/thresholds US-TX --on 2026-09-30
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
