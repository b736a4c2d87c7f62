"""A working folder to begin with: profile, column map, example orders, and a place for own table rows.

The files stand ready under `template/` and are copied as they are; what they say is for the seller to change.
"""

from __future__ import annotations

import shutil
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

from taxcalc.messages import refuse

TEMPLATE: Final = Path(__file__).resolve().parent / "template"


def write_start_folder(directory: Path) -> list[Path]:
    """Write the start folder and give the files written.

    Nothing that exists is ever overwritten. The folder is built beside its goal and moved in when whole.
    Raises `Refusal` E608 where one of the names is taken, E609 where the folder cannot be written.
    """
    names = sorted(entry.name for entry in TEMPLATE.iterdir())
    for name in names:
        if (directory / name).exists() or (directory / name).is_symlink():
            raise refuse("E608", file=str(directory / name))
    made = [folder for folder in (directory, *directory.parents) if not folder.exists()]
    try:
        directory.parent.mkdir(parents=True, exist_ok=True)
        _build_and_move(directory, names)
    except OSError as error:
        _remove_empty(made)
        detail = (error.strerror or str(error)).lower()
        raise refuse("E609", file=str(directory), detail=detail) from error
    return sorted(path for name in names for path in _files(directory / name))


def _build_and_move(directory: Path, names: list[str]) -> None:
    """Copy the template beside `directory`, then move it in; on a failure take back what was moved."""
    ground = directory if directory.exists() else directory.parent
    with tempfile.TemporaryDirectory(dir=ground, prefix=".taxcalc-start-") as beside:
        built = Path(beside) / "built"
        moved: list[Path] = []
        try:
            shutil.copytree(TEMPLATE, built, copy_function=shutil.copyfile)
            directory.mkdir(exist_ok=True)
            for name in names:
                (built / name).rename(directory / name)
                moved.append(directory / name)
        except OSError:
            _take_back(moved)
            raise


def _take_back(moved: list[Path]) -> None:
    """Remove the files moved so far."""
    for path in moved:
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)


def _remove_empty(folders: list[Path]) -> None:
    """Remove folders from the innermost on, up to the first that is not empty."""
    with suppress(OSError):
        for folder in (folder for folder in folders if folder.exists()):
            folder.rmdir()


def _files(path: Path) -> list[Path]:
    return [path] if path.is_file() else [inner for inner in path.rglob("*") if inner.is_file()]
