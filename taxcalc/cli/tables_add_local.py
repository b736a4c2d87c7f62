"""`taxcalc tables add-local`: files of local rates into the store among your own rows."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from taxcalc.cli import options
from taxcalc.cli.run import DONE, SET_ASIDE, printable


@click.command("add-local")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option(
    "--into",
    default=Path("own_tables"),
    show_default=True,
    type=options.FOLDER,
    metavar="DIR",
    help="Folder with your own table rows.",
)
@click.option("--change", is_flag=True, help="The files hold only what changed since those added before.")
@click.option(
    "--replace", "overwrite", is_flag=True, help="The files stand in the place of those added before."
)
@options.as_json
def command(*, files: tuple[Path, ...], into: Path, change: bool, overwrite: bool, as_json: bool) -> int:
    """Add local rates by ZIP code from files that states post.

    \b
    Example:
      taxcalc tables add-local KSR2026Q3MAY28.csv KSB2026Q3MAY28.csv
    """  # noqa: D301 - \b is click's mark for lines that are not to be wrapped
    if change and overwrite:
        message = "Use either --change or --replace, not both."
        raise click.UsageError(message)
    from taxcalc.local_rates.add import add_local  # noqa: PLC0415 - heavy
    from taxcalc.messages import refuse  # noqa: PLC0415 - only when the command runs
    from taxcalc.reports.local_rates import added_data, added_pieces  # noqa: PLC0415 - heavy
    from taxcalc.reports.lock import only_run  # noqa: PLC0415 - only when the command runs
    from taxcalc.tables.load import load_tables  # noqa: PLC0415 - heavy

    tables = load_tables()
    if into.exists() and not into.is_dir():
        raise refuse("E601", file=str(into))
    made = [path for path in (into, *into.parents) if not path.exists()]
    try:
        into.mkdir(parents=True, exist_ok=True)
        with only_run(into / "local"):
            added, written = add_local(
                files, into, tables, options.today(), change=change, overwrite=overwrite, tell=_tell
            )
    except OSError as error:
        raise refuse("E609", file=str(into), detail=(error.strerror or str(error)).lower()) from error
    finally:
        for path in made:
            with suppress(OSError):
                path.rmdir()  # only what was made here and stayed empty goes
    for path in written:
        _tell(f"wrote {path}")
    data = added_data(added, tables)
    options.answer(data, lambda _: added_pieces(data), as_json=as_json)
    return SET_ASIDE if any(each.checks.orphans.size for each in added) else DONE


def _tell(words: str) -> None:
    """Say on stderr what is being done."""
    click.echo(printable(words), err=True)
