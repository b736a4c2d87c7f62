"""Time that other work on the machine does not stretch."""

from __future__ import annotations

import resource


def processor_time() -> float:
    """Give the seconds that the programs started and waited for by this one have used so far."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
