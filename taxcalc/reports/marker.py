"""The marker that makes a folder ours: the names of the files we wrote, with their hashes."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Final

from taxcalc.errors import Refusal
from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

NAME: Final = "taxcalc-folder.json"
_BLOCK: Final = 1 << 20


def write_marker(folder: Path, names: Iterable[str]) -> None:
    """Write the marker for the files named; it holds nothing but names and hashes."""
    listed = {"written_by": "taxcalc", "files": {name: sha256(folder / name) for name in names}}
    text = json.dumps(listed, ensure_ascii=False, indent=1) + "\n"
    (folder / NAME).write_text(text, encoding="utf-8", newline="\n")


def require_ours(folder: Path, shown: Path) -> None:
    """Refuse a folder that holds anything but files we wrote and nobody changed; an empty one is nobody's.

    Raises E602 (no marker), E603 (marker not readable), E604 (a file we wrote was changed), E605 (not our
    file); `shown` is the folder as the user named it.
    """
    present = sorted(folder.iterdir())
    if not present:
        return
    if folder / NAME not in present:
        raise refuse("E602", file=str(shown))
    listed = _listed(folder / NAME, shown)
    for path in present:
        if path.name == NAME:
            continue
        if path.name not in listed or path.is_symlink() or not path.is_file():
            raise refuse("E605", file=str(shown / path.name))
        if sha256(path) != listed[path.name]:
            raise refuse("E604", file=str(shown / path.name))


def names(folder: Path) -> list[str]:
    """Name the files that the marker of a folder lists; none where there is no marker that can be read."""
    try:
        return list(_listed(folder / NAME, folder))
    except Refusal:
        return []


def _listed(path: Path, shown: Path) -> dict[str, str]:
    """Read the names and hashes of a marker."""
    try:
        files = json.loads(path.read_text(encoding="utf-8"))["files"]
        return {str(name): str(digest) for name, digest in files.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise refuse("E603", file=str(shown / NAME)) from error


def sha256(path: Path) -> str:
    """Give the SHA-256 of a file."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            digest.update(block)
    return digest.hexdigest()
