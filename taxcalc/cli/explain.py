"""`taxcalc explain`: one order step by step, or all lines behind a place's figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, OUR_FAULT, SET_ASIDE

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.assessment import Assessment

SHOWN = 20
UNKNOWN = "unknown"
"""The place of lines whose state is not known."""


@click.command("explain")
@click.argument("words", nargs=-1, required=True, metavar="ORDER_ID FILES...")
@options.seller
@options.columns
@options.tables
@click.option(
    "--as-of", type=options.Day(), metavar="DAY", help="Look from this day; default: that of the last order."
)
@click.option("--place", metavar="P", help="In place of ORDER_ID: all lines behind the figures of a place.")
@click.option(
    "--quarter", type=options.Quarter(), metavar="2026-Q3", help="With --place: default, the last one over."
)
@click.option(
    "--from", "first", type=options.Day(), metavar="DAY", help="With --place: first day, not a quarter."
)
@click.option("--to", "last", type=options.Day(), metavar="DAY", help="With --place: last day, inclusive.")
@click.option(
    "--lines",
    "shown",
    type=click.IntRange(1),
    default=SHOWN,
    metavar="N",
    help="With --place: so many lines; default 20.",
)
@options.as_json
def command(words: tuple[str, ...], **asked: Any) -> int:  # noqa: ANN401 - one argument an option
    """Explain the figures of an order, or of a place.

    \b
    Example:
      taxcalc explain QL-1042 orders.csv --seller seller.toml
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    period = options.period(asked["quarter"], asked["first"], asked["last"])
    if asked["place"]:
        return _place(words, asked, period)
    if period:
        message = "--quarter, --from and --to go with --place; an order is explained whatever its day."
        raise click.UsageError(message)
    if len(words) == 1:
        message = "Name an order number and then the order files, or a place with --place."
        raise click.UsageError(message)
    return _order(words[0], words[1:], asked)


def _order(order_id: str, files: tuple[str, ...], asked: dict[str, Any]) -> int:
    """Explain one order."""
    assessment = _assess(files, asked)
    from taxcalc.explain import explain  # noqa: PLC0415 - heavy
    from taxcalc.reports.explain import pieces  # noqa: PLC0415 - heavy
    from taxcalc.set_aside import REASONS  # noqa: PLC0415 - heavy

    data = explain(assessment, order_id, asked["columns"])
    fault = any(REASONS[row["reason"]].fault for row in data["set_aside"])
    return _shown(data, lambda _width: pieces(data), SET_ASIDE if fault else DONE, as_json=asked["as_json"])


def _place(files: tuple[str, ...], asked: dict[str, Any], period: Any) -> int:  # noqa: ANN401 - a quarter or two days
    """Explain the figures of one place."""
    from taxcalc.destination.find import GROUPS, find  # noqa: PLC0415 - heavy
    from taxcalc.tables.names import UnknownNameError  # noqa: PLC0415 - heavy

    try:
        code = UNKNOWN if asked["place"].casefold() == UNKNOWN else find(asked["place"])
    except UnknownNameError as error:
        raise click.UsageError(str(error)) from error
    if code in GROUPS:
        message = f"{code} stands for many places; name one of them, such as US-TX or FR."
        raise click.UsageError(message)
    assessment = _assess(files, asked, period=period)
    from taxcalc.explain import explain_place  # noqa: PLC0415 - heavy
    from taxcalc.reports.explain_place import pieces  # noqa: PLC0415 - heavy

    data = explain_place(assessment, code)
    done = SET_ASIDE if assessment.set_aside_faults else DONE
    return _shown(data, lambda _width: pieces(data, asked["shown"]), done, as_json=asked["as_json"])


def _assess(files: tuple[str, ...], asked: dict[str, Any], **more: Any) -> Assessment:  # noqa: ANN401 - passed on
    """Assess the orders."""
    from taxcalc.cli.review import assess  # noqa: PLC0415 - only when the command runs

    given = {name: asked[name] for name in ("columns", "tables", "as_of")}
    return assess(list(files), asked["seller"], **given, **more)


def _shown(data: dict[str, Any], pieces: Callable[[int], Any], done: int, *, as_json: bool) -> int:
    """Print the explanation; where it does not come to the engine's figures nothing is printed but that."""
    check = data["check"]
    if not check["agrees"]:
        click.echo(check["words"], err=True)
        for one in check["differences"]:
            click.echo(_difference(one), err=True)
        return OUR_FAULT
    options.answer(data, pieces, as_json=as_json)
    return done


def _difference(one: Any) -> str:  # noqa: ANN401 - a measure, or both values of a figure
    """Write one difference with its caution."""
    if isinstance(one, str):
        return one
    values = f"{one['engine']} {one['currency']} in the review, {one['worked_out']} worked out again"
    return f"Line {one['line']}, {one['figure']}: {values}. {one['caution']}"
