"""The JSON record as text; a record in which amounts stand without their caution is refused."""

from __future__ import annotations

import json
import re
from typing import Any, Final

RANGE: Final = frozenset({"low", "expected", "high"})
_AMOUNT: Final = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)
_TEXTS: Final = {
    *("name", "version", "sha256", "published_on", "publisher", "id", "title", "text"),
    *("order_id", "line_id", "from_order", "crossed_by"),
}
"""Keys whose texts may be all digits and are no amounts."""
_COLUMN_SUMS: Final = frozenset({"read", "used", "set_aside"})
"""The tie-out keeps sums per currency and column two levels below its caution."""


def json_text(record: dict[str, Any]) -> str:
    """Write the record as one JSON document with a line end.

    Raises `ValueError` where an object that holds amounts has no caution (the low, expected and high leaves
    and the sums of the tie-out are held by the object around them), and for a number that JSON does not have.
    """
    _require_cautions(record, "record")
    text = json.dumps(record, ensure_ascii=False, indent=1, allow_nan=False)
    # A file name may hold bytes that are no text; written as an escape they remain valid JSON.
    return text.encode("utf-8", "backslashreplace").decode("utf-8") + "\n"


def _require_cautions(value: Any, where: str) -> bool:  # noqa: ANN401 - any part of a record
    """Walk a part of the record; tell whether the object around it has to carry a caution for it."""
    if isinstance(value, list):
        parts = [_require_cautions(part, f"{where}[{number}]") for number, part in enumerate(value)]
        return any(parts)
    if not isinstance(value, dict):
        return isinstance(value, str) and _AMOUNT.fullmatch(value) is not None
    amounts = {key: part for key, part in value.items() if not (key in _TEXTS and isinstance(part, str))}
    holds = [_require_cautions(part, f"{where}.{key}") for key, part in amounts.items()]
    if not any(holds):
        return False
    if _carries_caution(value):
        return False
    if _is_leaf(value):
        return True
    message = f"{where} holds amounts and carries no caution"
    raise ValueError(message)


def _carries_caution(value: dict[str, Any]) -> bool:
    """Tell whether the object has words of caution of its own."""
    caution = value.get("caution")
    return isinstance(caution, str) and bool(caution.strip())


def _is_leaf(value: dict[str, Any]) -> bool:
    """Tell whether the object is a range, or sums of the tie-out, which the object around it answers for."""
    keys = frozenset(value)
    if keys in (RANGE, _COLUMN_SUMS):
        return True
    return bool(value) and all(
        isinstance(part, dict) and (frozenset(part) == _COLUMN_SUMS or _holds_column_sums(part))
        for part in value.values()
    )


def _holds_column_sums(value: dict[str, Any]) -> bool:
    """Tell whether every part is a column of sums."""
    return bool(value) and all(
        isinstance(part, dict) and frozenset(part) == _COLUMN_SUMS for part in value.values()
    )
