"""The index of the store: which states it holds, from which files, added when. A small TOML file that a person can read."""

from __future__ import annotations

import json
import tomllib
from dataclasses import asdict, dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import CAUTION
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from pathlib import Path

FOLDER: Final = "local"
"""Folder of the store among the user's own rows."""

NAME: Final = "index.toml"
EDITION: Final = 1
PARTS: Final = ("where", "held", "rates", "spans")
"""Files of a state: where its zones lie, what holds in them, and what the files said (for change files)."""

_HEAD: Final = """# Local rates added with `taxcalc tables add-local`; only that command changes this file and what is beside it.
# {caution}
"""


@dataclass(frozen=True)
class AddedFile:
    """One file that rows in force come from. `bit` is its number in the masks of the state's rows; days are ISO."""

    bit: int
    name: str
    layout: str
    sha256: str
    change: bool
    unit: str
    rows: int
    set_aside: int
    first_day: str
    added_on: str
    sources: list[str]


@dataclass(frozen=True)
class AddedState:
    """One state: its folder, the hashes of the files in it, how much they hold, from which day, and where it is from."""

    place: str
    folder: str
    sha256: dict[str, str]
    zones: int
    held: int
    spans: int
    first_day: str
    last_change: str
    files: list[AddedFile]


def read_index(path: Path) -> list[AddedState]:
    """Read the index; raises E574 where it is not as it was written."""
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        if data["edition"] != EDITION:
            raise refuse("E574", file=str(path), detail=f"edition {data['edition']} is not known")
        return [_state(part) for part in data.get("state", [])]
    except OSError as error:
        raise refuse("E574", file=str(path), detail=(error.strerror or str(error)).lower()) from error
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise refuse("E574", file=str(path), detail=f"{type(error).__name__}: {error}") from error


def _state(part: dict[str, Any]) -> AddedState:
    """Read one state, every value of the type it has to be."""
    files = [AddedFile(**each) for each in part.pop("files")]
    state = AddedState(**part, files=files)
    for each in files:
        _require_types(each)
        date.fromisoformat(each.added_on)
    _require_types(state)
    if set(state.sha256) != set(PARTS) or "/" in state.folder or not state.folder.startswith(state.place):
        message = f"the parts of {state.place} are not {', '.join(PARTS)}"
        raise ValueError(message)
    return state


def _require_types(part: AddedFile | AddedState) -> None:
    """Refuse a value of another type than was written."""
    kinds = {
        "str": str,
        "int": int,
        "bool": bool,
        "list[str]": list,
        "list[AddedFile]": list,
        "dict[str, str]": dict,
    }
    for name, kind in type(part).__annotations__.items():
        if not isinstance(getattr(part, name), kinds[str(kind)]):
            message = f"{name} is no {kind}"
            raise TypeError(message)


def index_text(states: list[AddedState]) -> str:
    """Write the index."""
    lines = [_HEAD.format(caution=CAUTION), f"edition = {EDITION}", f"caution = {_value(CAUTION)}"]
    for state in sorted(states, key=lambda each: each.place):
        parts = asdict(state)
        files, hashes = parts.pop("files"), parts.pop("sha256")
        lines += ["", "[[state]]", *_pairs(parts), "", "[state.sha256]", *_pairs(hashes)]
        for each in files:
            lines += ["", "[[state.files]]", *_pairs(each)]
    return "\n".join(lines) + "\n"


def _pairs(parts: dict[str, Any]) -> list[str]:
    """Write keys and values."""
    return [f"{key} = {_value(value)}" for key, value in parts.items()]


def _value(value: str | int | list[str]) -> str:
    """Write a value; a text in JSON's form is one in TOML's, too."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    if isinstance(value, str):
        return json.dumps(value.encode("utf-8", "replace").decode(), ensure_ascii=False).replace(
            "\x7f", "\\u007f"
        )
    return str(value)
