"""The column map, columns.toml: how the user's headers and words become ours.

`[rename]` their header = canonical column. `[constant]` canonical column = value, where the files lack it.
`[values.COLUMN]` their word = our word.
"""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from taxcalc.columns import BY_NAME, COLUMNS
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

PARTS = ("rename", "constant", "values")
WORD_KINDS = frozenset({
    "entry", "currency", "country", "region", "product_class", "text", "yes_no", "channel", "buyer_exempt",
})  # fmt: skip
WORD_COLUMNS = tuple(column.name for column in COLUMNS if column.kind in WORD_KINDS)
_NEVER_CONSTANT = ("order_id", "line_id")


@dataclass(frozen=True)
class ColumnMap:
    """What columns.toml says; empty where there is none."""

    rename: Mapping[str, str] = field(default_factory=dict)
    constant: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


def read_column_map(path: Path | None) -> ColumnMap:
    """Read and check columns.toml; no path is an empty map. Raises refusals E540 to E546."""
    if path is None:
        return ColumnMap()
    try:
        told = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise refuse("E540", file=str(path), detail=error.strerror or "it cannot be read") from None
    except UnicodeDecodeError:
        raise refuse("E541", file=path.name, detail="it is not UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise refuse("E541", file=path.name, detail=str(error)) from None
    return check_column_map(told, path.name)


def check_column_map(told: Mapping[str, Any], file: str) -> ColumnMap:
    """Check the contents of a column map."""
    for part, contents in told.items():
        _require_known(part, PARTS, file, "the column map")
        if not isinstance(contents, dict):
            raise refuse("E543", file=file, value=part, expected="a section such as [rename]")
    rename = {their.strip(): name for their, name in _texts(told.get("rename", {}), "rename", file).items()}
    for name in rename.values():
        _require_known(name, BY_NAME, file, "[rename]")
    _require_once(rename, file)
    constant = _texts(told.get("constant", {}), "constant", file)
    for name in constant:
        _require_known(name, [known for known in BY_NAME if known not in _NEVER_CONSTANT], file, "[constant]")
    return ColumnMap(rename, constant, _values(told.get("values", {}), file))


def _values(told: Mapping[str, Any], file: str) -> dict[str, dict[str, str]]:
    """Check [values.COLUMN] sections."""
    values: dict[str, dict[str, str]] = {}
    for column, words in told.items():
        _require_known(column, WORD_COLUMNS, file, "[values]")
        if not isinstance(words, dict):
            raise refuse("E543", file=file, value=f"values.{column}", expected=f"a section [values.{column}]")
        values[column] = {
            their.strip(): ours for their, ours in _texts(words, f"values.{column}", file).items()
        }
    return values


def _texts(told: Mapping[str, Any], part: str, file: str) -> dict[str, str]:
    """Require a text for each key; a bare number would lose its zeros."""
    for key, value in told.items():
        if not isinstance(value, str):
            raise refuse("E543", file=file, value=f"{part}.{key}", expected="a text in double quotes")
    return dict(told)


def _require_once(rename: Mapping[str, str], file: str) -> None:
    """Refuse two headers renamed to the same column."""
    for their, name in rename.items():
        other = next(key for key, value in rename.items() if value == name)
        if other != their:
            raise refuse("E544", file=file, column=name, first=other, second=their)


def _require_known(key: str, known: Iterable[str], file: str, part: str) -> None:
    """Refuse a key that is not known, with the nearest one that is."""
    choices = list(known)
    if key in choices:
        return
    close = difflib.get_close_matches(key, choices, n=1, cutoff=0.5)
    nearest = f'Did you mean "{close[0]}"?' if close else f"Write one of: {', '.join(choices)}."
    raise refuse("E542", file=file, value=key, part=part, nearest=nearest)
