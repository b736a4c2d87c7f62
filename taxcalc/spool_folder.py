"""The temporary folder of a run, locked while the run lives, so that what a killed run left is recognised."""

from __future__ import annotations

import os
import shutil
import tempfile
import weakref
from contextlib import suppress
from pathlib import Path

try:
    import fcntl
except (
    ImportError
):  # pragma: no cover - there are no such locks on Windows, so nothing is taken for a leftover
    fcntl = None  # type: ignore[assignment]

PREFIX = "taxcalc-spool-"
_LOCK = "lock"


class TemporaryFolder:
    """A folder that goes when it is removed, when it is forgotten, and when the program ends."""

    def __init__(self) -> None:
        """Make the folder, after removing those of runs that were killed."""
        remove_leftovers()
        self.path = Path(tempfile.mkdtemp(prefix=PREFIX))
        lock = _locked(self.path)
        self._removal = weakref.finalize(self, _remove, self.path, lock)

    def remove(self) -> None:
        """Remove the folder with all that is in it; a second time does nothing."""
        self._removal()


def remove_leftovers() -> None:
    """Remove folders of this user whose run no longer holds its lock."""
    if fcntl is None:
        return
    for folder in Path(tempfile.gettempdir()).glob(f"{PREFIX}*"):
        with suppress(OSError):
            if folder.stat().st_uid != os.getuid() or folder.is_symlink():
                continue
            with (folder / _LOCK).open("rb") as lock:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(folder, ignore_errors=True)


def _locked(folder: Path) -> int | None:
    """Lock the folder. The lock file gets its name when it is held, so that nobody finds it free before."""
    if fcntl is None:
        return None
    new = folder / f"{_LOCK}.new"
    lock = os.open(new, os.O_CREAT | os.O_RDWR, 0o600)
    fcntl.flock(lock, fcntl.LOCK_EX)
    new.rename(folder / _LOCK)
    return lock


def _remove(folder: Path, lock: int | None) -> None:
    """Remove the folder and let go of its lock; whatever is left of it is no reason to fail."""
    shutil.rmtree(folder, ignore_errors=True)
    if lock is not None:
        os.close(lock)
