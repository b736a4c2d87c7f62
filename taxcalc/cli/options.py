"""Options that several commands share, and the values they take."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any, Final

import click

_QUARTER: Final = re.compile(r"[0-9]{4}-Q[1-4]", re.ASCII)


class Day(click.ParamType[date]):
    """A day written 2026-09-30."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:  # noqa: ANN401
        """Read the day, or refuse it as wrong use."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"'{value}' is no day. Write it as 2026-09-30.", param, ctx)


class Quarter(click.ParamType[str]):
    """A calendar quarter written 2026-Q3."""

    name = "quarter"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:  # noqa: ANN401
        """Read the quarter, or refuse it as wrong use."""
        if not _QUARTER.fullmatch(value):
            self.fail(f"'{value}' is no quarter. Write it as 2026-Q3.", param, ctx)
        return str(value)


FOLDER: Final = click.Path(path_type=Path)

# Files are not looked for here: a missing order file is a 3, a missing profile a 5; click would say 2.
files = click.argument("files", nargs=-1, required=True, metavar="FILES...")
seller = click.option(
    "--seller", type=click.Path(path_type=Path), required=True, metavar="F", help="Your seller.toml."
)
columns = click.option(
    "--columns",
    type=click.Path(path_type=Path),
    metavar="F",
    help="Your columns.toml, if your headers differ.",
)
tables = click.option(
    "--tables", type=click.Path(path_type=Path), metavar="DIR", help="Folder with your own table rows."
)
as_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of text.")


def period(quarter: str | None, first: date | None, last: date | None) -> str | tuple[date, date] | None:
    """Give the period asked for, None for the last completed quarter; the two ways exclude each other."""
    if quarter and (first or last):
        message = "Use either --quarter or --from with --to, not both."
        raise click.UsageError(message)
    if first and last:
        if last < first:
            message = f"--to {last} is before --from {first}."
            raise click.UsageError(message)
        return first, last
    if first or last:
        message = "--from and --to belong together: give both."
        raise click.UsageError(message)
    return quarter
