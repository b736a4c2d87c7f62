"""`taxcalc demo`: the review of a shipped example."""

from __future__ import annotations

import tomllib
from pathlib import Path

import click

OUT = "taxcalc-demo"
UNION = "union-shop"
"""Folder of the second example: a shop in the European Union."""


@click.command("demo")
@click.option(
    "--union", is_flag=True, help="A shop in the European Union instead, into ./taxcalc-demo-union/."
)
def command(*, union: bool) -> int:
    """Review an invented shop, also into ./taxcalc-demo/.

    \b
    Example:
      taxcalc demo
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    from taxcalc.cli.review import assess, publish  # noqa: PLC0415 - only when the command runs

    folder = examples() / UNION if union else examples()
    asked = tomllib.loads((folder / "demo.toml").read_text(encoding="utf-8"))
    columns = folder / asked["columns"] if "columns" in asked else None
    assessment = assess(
        [str(folder / name) for name in asked["orders"]],
        folder / asked["seller"],
        columns=columns,
        as_of=asked["as_of"],
        period=asked["period"],
    )
    return publish(assessment, out=Path(f"{OUT}-union" if union else OUT))


def examples() -> Path:
    """Find the shipped example: inside the package (an installed wheel) first, beside it (a checkout) second.

    Raises `FileNotFoundError` where neither is there.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "examples", package.parent / "examples"):
        if (folder / "demo.toml").is_file():
            return folder
    message = "the folder `examples` with demo.toml is missing from this installation"
    raise FileNotFoundError(message)
