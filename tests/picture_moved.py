"""What moved between a picture of rules in tests/pictures/ and the rules of today."""

from __future__ import annotations

from difflib import unified_diff

MOST_LINES = 60


def difference(old: list[str], new: list[str], command: str) -> str:
    """Say which lines moved, a removed and an added one each, and how to write the picture again."""
    moved = [line for line in unified_diff(old, new, lineterm="", n=0) if line[:2] not in ("--", "++", "@@")]
    more = [f"and {len(moved) - MOST_LINES} more"] if len(moved) > MOST_LINES else []
    mend = f"If the new lines are what the papers say: {command}"
    return "\n".join([f"{len(moved)} lines moved:", *moved[:MOST_LINES], *more, mend])
