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

    Nothing that exists is ever overwritten. The folder is built beside its goal and moved in when it is whole.
    Raises `Refusal` E608 where one of the names is taken, E609 where the folder cannot be written.
    """
    names = sorted(entry.name for entry in TEMPLATE.iterdir())
    for name in names:
        if (directory / name).exists() or (directory / name).is_symlink():
            raise refuse("E608", file=str(directory / name))
    try:
        _build_and_move(directory, names)
    except OSError as error:
        detail = (error.strerror or str(error)).lower()
        raise refuse("E609", file=str(directory), detail=detail) from error
    return sorted(path for name in names for path in _files(directory / name))


def _build_and_move(directory: Path, names: list[str]) -> None:
    """Copy the template beside `directory`, then move it in; on a failure take back what was moved."""
    made = [folder for folder in (directory, *directory.parents) if not folder.exists()]
    directory.parent.mkdir(parents=True, exist_ok=True)
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
            _take_back(moved, made)
            raise


def _take_back(moved: list[Path], made: list[Path]) -> None:
    """Remove the files moved so far, and the empty folders made for them, innermost first."""
    for path in moved:
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
    with suppress(OSError):
        for folder in made:
            folder.rmdir()


def _files(path: Path) -> list[Path]:
    return [path] if path.is_file() else [inner for inner in path.rglob("*") if inner.is_file()]
