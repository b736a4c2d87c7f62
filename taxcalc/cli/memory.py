"""Memory for one big run: what is freed stays with the process and is used again."""

from __future__ import annotations

import ctypes
import gc
import sys

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8
"""Parameters of mallopt(3) of the GNU C library, from its malloc.h."""
_OURS = ((_ARENA_MAX, 2), (_MMAP_THRESHOLD, 1 << 25), (_TRIM_THRESHOLD, 1 << 30))
_OBJECTS_BETWEEN_LOOKS = 100_000


def keep_freed_memory() -> None:
    """Let arrays that are freed make room for the next ones; the kernel need not clear fresh pages each time.

    A setting of the GNU C library; where there is another one, nothing happens. It changes no result and no peak.
    """
    gc.set_threshold(_OBJECTS_BETWEEN_LOOKS)
    if sys.platform != "linux":
        return
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        for parameter, value in _OURS:
            mallopt(parameter, value)
