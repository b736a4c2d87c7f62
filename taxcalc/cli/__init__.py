"""The command `taxcalc`: one file a command, each loaded only when it is asked for."""

from __future__ import annotations

import sys
from io import TextIOWrapper
from typing import Any, Final

import click

from taxcalc.cli.lazy import LazyGroup
from taxcalc.cli.run import run_command

COMMANDS: Final = ("demo", "start", "intake", "review", "explain", "destination", "handoff", "tables")
"""In the order in which a seller meets them; the command NAME stands in `taxcalc.cli.NAME` as `command`."""


class Commands(LazyGroup):
    """All commands; whatever one of them does ends with the fixed exit codes."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - the signature is click's
        """Run the command and leave with its exit code."""
        _write_utf8()
        ctx.exit(run_command(lambda: super(Commands, self).invoke(ctx)))


def _write_utf8() -> None:
    """Write UTF-8 into files and pipes on every system; a terminal keeps its own encoding and never fails."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            if stream.isatty():
                stream.reconfigure(errors="backslashreplace")
            else:
                stream.reconfigure(encoding="utf-8")


def _show_version(ctx: click.Context, _option: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import PackageNotFoundError, version  # noqa: PLC0415 - slow to load

        try:
            click.echo(f"taxcalc {version('taxcalc-exposure')}")
        except PackageNotFoundError:
            click.echo("taxcalc, version unknown: it runs from a checkout")
        ctx.exit()


@click.group(
    cls=Commands,
    names=COMMANDS,
    prefix="taxcalc.cli.",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_show_version,
    help="Show the version and exit.",
)
def main() -> None:
    """Estimate the sales tax and VAT that a shop with drop-shipped goods may owe or should collect.

    Begin with `taxcalc demo`, then `taxcalc start my-shop`. An estimate only, not tax or legal advice.
    """
