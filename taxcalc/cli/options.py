"""Options that several commands share, and the values they take."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

if TYPE_CHECKING:
    from collections.abc import Callable

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


def named(table: str, place: str | None = None) -> tuple[str, str | None]:
    """Give the table and the place a person means; a name that is none is wrong use and gets the nearest one."""
    from taxcalc.tables.names import UnknownNameError, find_place, find_table  # noqa: PLC0415 - heavy

    try:
        name = find_table(table)
        return name, find_place(place, name) if place else None
    except UnknownNameError as error:
        raise click.UsageError(str(error)) from error


def answer(data: dict[str, Any], pieces: Callable[[int], Any], *, as_json: bool) -> None:
    """Print the answer of a command: data as one JSON document, or pieces drawn for a width."""
    if as_json:
        from taxcalc.reports.json_file import json_text  # noqa: PLC0415 - only for JSON

        click.echo(json_text(data), nl=False)
    else:
        from taxcalc.reports.screen import show  # noqa: PLC0415 - heavy

        show(pieces)


def today() -> date:
    """Give the day of the computer's clock: only the command line asks for it, no rule does."""
    return datetime.now(tz=UTC).astimezone().date()
