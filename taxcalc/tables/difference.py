"""What differs between the shipped tables and a folder: another full set, or rows of the user's own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.tables.read import BACK
from taxcalc.tables.spans import spans

if TYPE_CHECKING:
    from taxcalc.tables.load import Table, Tables

KINDS: Final = ("added", "removed", "changed", "back", "hidden")
"""`back`: an own row that lets the shipped one hold again; `hidden`: a shipped row that an own one hides for good."""

Identity = tuple[tuple[str, ...], str]
Row = dict[str, Any]


def difference(shipped: Tables, other: Tables) -> list[dict[str, Any]]:
    """Give for every table that differs its name, title and rows, each with what changed from `before` to `after`.

    Rows are told apart by their key and day. Values are compared, not how they are written: 7.50 is 7.5.
    """
    found = []
    for table in other:
        rows = _own(shipped[table.name], table) if other.own else _whole(shipped[table.name], table)
        if rows:
            found.append({"table": table.name, "title": table.schema.title, "rows": rows})
    return found


def _whole(before: Table, after: Table) -> list[Row]:
    """Compare two full tables."""
    old, new = _by_identity(before), _by_identity(after)
    rows = [_changed(before, old[each], after, new[each]) for each in old.keys() & new.keys()]
    rows += [_one("added", after, new[each]) for each in new.keys() - old.keys()]
    rows += [_one("removed", before, old[each]) for each in old.keys() - new.keys()]
    return _sorted(row for row in rows if row is not None)


def _own(shipped: Table, both: Table) -> list[Row]:
    """Tell what the own rows of a table add, change, end and hide."""
    old = _by_identity(shipped)
    mine = [row for row in range(shipped.size, both.size) if both.is_own_row(row)]
    known = {_identity(both, row): row for row in mine}
    rows: list[Row | None] = []
    for each, row in known.items():
        if both.printed(BACK.name)[row] == "yes":
            rows.append(_one("back", both, row))
        elif each in old:
            rows.append(_changed(shipped, old[each], both, row))
        else:
            rows.append(_one("added", both, row))
    hidden = (span.row for span in spans(both) if span.hidden and span.row < shipped.size)
    rows += [_one("hidden", shipped, row) for row in hidden if _identity(shipped, row) not in known]
    return _sorted(row for row in rows if row is not None)


def _by_identity(table: Table) -> dict[Identity, int]:
    """Give the row of each key and day."""
    return {_identity(table, row): row for row in range(table.size)}


def _identity(table: Table, row: int) -> Identity:
    """Name a row by its key and first day."""
    return table.keys[row], table.printed("valid_from")[row]


def _changed(before: Table, old: int, after: Table, new: int) -> Row | None:
    """Compare two rows of one key and day; None where they say the same."""
    names = [name for name in after.names if before[name][old] != after[name][new]]
    if not names:
        return None
    return _row("changed", after, new, [(n, before.printed(n)[old], after.printed(n)[new]) for n in names])


def _one(kind: str, table: Table, row: int) -> Row:
    """Write a row that stands on one side only."""
    said = {"valid_from", BACK.name, *(field.name for field in table.schema.fields if field.key)}
    cells = [(name, table.printed(name)[row]) for name in table.names if name not in said]
    gone = kind in {"removed", "hidden"}
    return _row(kind, table, row, [(n, t if gone else "", "" if gone else t) for n, t in cells if t])


def _row(kind: str, table: Table, row: int, changes: list[tuple[str, str, str]]) -> Row:
    """Write one row of the difference."""
    names = [field.name for field in table.schema.fields if field.key]
    key = dict(zip(names, table.keys[row], strict=True))
    code = key.get("place", "")
    return {
        "change": kind,
        **key,
        "place_name": places.name(code) if code in places.codes() else None,
        "valid_from": table.printed("valid_from")[row] or None,
        "columns": [
            {"column": name, "before": before or None, "after": after or None, "caution": CAUTION}
            for name, before, after in changes
        ],
        "caution": CAUTION,
    }


def _sorted(rows: Any) -> list[Row]:  # noqa: ANN401 - rows in any order
    """Put rows in the order of their keys and days."""
    return sorted(rows, key=lambda row: [str(part) for name, part in row.items() if name not in _NOT_KEYS])


_NOT_KEYS: Final = frozenset({"change", "place_name", "columns", "caution"})
