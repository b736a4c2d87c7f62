"""From a profile file or a dict to raw tables, with the row of every key for the complaints."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

_HEADER = re.compile(r"\s*\[\[?\s*([A-Za-z_]+)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r'\s*"?([A-Za-z0-9_-]+)"?\s*=')


def load(path: Path) -> tuple[dict[str, Any], dict[tuple[str, int, str], int]]:
    """Read the file and give its tables and the row of each (table, number, key).

    Raises `Refusal` E500 for a file that cannot be read and E501 for one that is no TOML.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise refuse("E500", file=str(path), detail=(error.strerror or "unreadable").lower()) from error
    except UnicodeDecodeError as error:
        raise refuse("E501", file=str(path), detail="it is not saved as UTF-8 text") from error
    try:
        return tomllib.loads(text), rows_of(text)
    except tomllib.TOMLDecodeError as error:
        spot = re.search(r"line (\d+)", str(error))
        row = int(spot[1]) if spot else None
        raise refuse("E501", file=str(path), row=row, detail=str(error).rstrip(".").lower()) from error


def rows_of(text: str) -> dict[tuple[str, int, str], int]:
    """Find the line of every table header (key "") and key, counting [[tables]] of one name from 1."""
    rows: dict[tuple[str, int, str], int] = {}
    seen: dict[str, int] = {}
    table = ""
    for row, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            table = header[1]
            seen[table] = seen.get(table, 0) + 1
            rows[table, seen[table], ""] = row
        elif key := _KEY.match(line):
            rows.setdefault((table, seen.get(table, 1), key[1]), row)
    return rows


def numbered(name: str, value: object) -> list[Mapping[str, Any]] | None:
    """Give the tables of one name as a list; None where the profile writes something else."""
    from taxcalc.seller.keys import SINGLE  # noqa: PLC0415 - kept beside its only use

    if name in SINGLE:
        return [value] if isinstance(value, dict) else None
    if isinstance(value, (list, tuple)) and all(isinstance(entry, dict) for entry in value):
        return list(value)
    return None
