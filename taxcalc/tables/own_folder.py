"""A folder to begin rows of your own in: files with every column, and a README.txt with rows to copy from."""

from __future__ import annotations

import csv
import io
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from taxcalc.caution import CAUTION
from taxcalc.messages import refuse
from taxcalc.tables.load import FIXED
from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import BY_NAME, SCHEMAS
from taxcalc.tables.where import folder

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

EXAMPLES: Final = 3
_HEAD: Final = """Your own rows for the rate tables

{caution}

Each CSV file here has the header of the shipped table of the same name and no row yet, so nothing changes until
you add one. A row of yours holds from its valid_from until your next row of the same key, or until a row with
yes in back_to_shipped; from that day the shipped row holds again. Whatever rests on your rows is marked as yours.

- Name the paper in sources.csv first, then its id in the column source.
- Percent as the law prints it: 7.25, without a sign. Days as 2026-01-31. Amounts without thousands marks.
- In a spreadsheet, import every column as text: codes keep their zeros and numbers their point.
- Then run: taxcalc tables check DIR, and to see what changes: taxcalc tables compare DIR

Rows to copy from, as they are shipped. The lines that begin with # are not read.
"""


def start_own_rows(where: Path, names: Sequence[str] = ()) -> list[Path]:
    """Write headers for the named tables (all that own rows can change where none is named); give the files.

    `sources.csv` comes with them unless it is there. Raises `Refusal`: E608 where one of the files is there
    already, E559 for a table that own rows cannot change, E609 where nothing can be written.
    """
    chosen = list(dict.fromkeys(names)) or [schema.name for schema in SCHEMAS if schema.dated]
    for name in chosen:
        if name in FIXED:
            raise refuse("E559", file=f"{name}.csv")
    contents = {where / f"{name}.csv": _header(name) for name in chosen if name != "sources"}
    if "sources" in names or not (where / "sources.csv").exists():
        contents[where / "sources.csv"] = _header("sources")
    contents[_readme(where, names)] = _words(chosen)
    for path in contents:
        if path.exists() or path.is_symlink():
            raise refuse("E608", file=str(path))
    _write(where, contents)
    return sorted(contents)


def _readme(where: Path, names: Sequence[str]) -> Path:
    """Name the file of examples; an earlier one is left alone."""
    plain = where / "README.txt"
    if not plain.exists() or not names:
        return plain
    return where / f"README-{'-'.join(names).replace('/', '-')}.txt"


def _header(name: str) -> str:
    """Give the header of an own table."""
    return _lines([[field.name for field in fields_of(BY_NAME[name], own=True)]])


def _words(names: Iterable[str]) -> str:
    """Give the text beside the tables, with a few shipped rows of each."""
    parts = [_HEAD.format(caution=CAUTION)]
    for name in names:
        with (folder() / f"{name}.csv").open(encoding="utf-8-sig", newline="") as file:
            rows = [row for row, _ in zip(csv.DictReader(file), range(EXAMPLES), strict=False)]
        columns = [field.name for field in fields_of(BY_NAME[name], own=True)]
        shown = _lines([columns, *([row.get(column, "") for column in columns] for row in rows)])
        commented = "\n".join(f"# {line}" for line in shown.splitlines())
        parts.append(f"{name}.csv: {BY_NAME[name].title}\n{commented}\n")
    return "\n".join(parts)


def _lines(rows: list[list[str]]) -> str:
    """Write rows as CSV."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def _write(where: Path, contents: dict[Path, str]) -> None:
    """Write every file, or none: what was made is taken back where one fails."""
    made: list[Path] = []
    try:
        for path, text in contents.items():
            for above in reversed([each for each in path.parents if not each.exists()]):
                above.mkdir()
                made.append(above)
            with path.open("x", encoding="utf-8", newline="") as file:
                made.append(path)
                file.write(text)
    except OSError as error:
        for path in reversed(made):
            with suppress(OSError):
                path.rmdir() if path.is_dir() else path.unlink()
        raise refuse("E609", file=str(where), detail=(error.strerror or str(error)).lower()) from error
