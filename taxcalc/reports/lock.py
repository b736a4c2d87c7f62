"""One run at a time for one output folder.

The lock is held by the operating system, so a run that died holds nothing and the file it left behind is
taken over.
"""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from taxcalc.messages import refuse

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextmanager
def only_run(folder: Path) -> Iterator[None]:
    """Hold the folder by a lock file beside it; raises E801 where another run holds it."""
    path = folder.parent / f".{folder.name}.taxcalc-lock"
    handle = _take(path, folder)
    try:
        yield
    finally:
        # Removed while still held, so that nobody can take a file that is about to vanish without noticing.
        with suppress(OSError):
            path.unlink()
        os.close(handle)


def _take(path: Path, folder: Path) -> int:
    """Open and lock the file; begin again if it was removed between the two."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            _lock(handle)
        except OSError as error:
            os.close(handle)
            raise refuse("E801", file=str(folder)) from error
        if _still_there(handle, path):
            return handle
        os.close(handle)


def _still_there(handle: int, path: Path) -> bool:
    """Tell whether the open file is the one that now has the name."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except FileNotFoundError:
        return False


if sys.platform == "win32":

    def _lock(handle: int) -> None:
        """Lock the first byte, or raise `OSError` at once."""
        import msvcrt  # noqa: PLC0415 - only there

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:

    def _lock(handle: int) -> None:
        """Lock the file, or raise `OSError` at once."""
        import fcntl  # noqa: PLC0415 - only there

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
