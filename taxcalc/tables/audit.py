"""Every finding about the tables: what stops loading, and what only a reader who asks should know.

The second kind is: sources that nothing names, rows that were last checked too long ago, and checks in the future.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from taxcalc.errors import Refusal
from taxcalc.messages import complain, refuse
from taxcalc.tables.load import LOCAL_INDEX, read_tables
from taxcalc.tables.schema import SCHEMAS
from taxcalc.tables.where import NAME, folder

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from taxcalc.errors import Complaint
    from taxcalc.local_rates.index import AddedState
    from taxcalc.tables.read import Cells

_UNREADABLE: Final = "E535"
_LISTED: Final = re.compile(
    r"<!-- (?:data|test)-sources:start -->(.*?)<!-- (?:data|test)-sources:end -->", re.DOTALL
)


@dataclass(frozen=True)
class Audit:
    """What was looked at, and every finding about it."""

    where: str
    tables: int
    rows: int
    findings: list[Complaint]
    local: list[AddedState]
    """States of the store of local rates beside the tables."""


def is_full_set(where: Path) -> bool:
    """Tell whether a folder holds every table, and so stands for the shipped set and not for own rows."""
    return all((where / f"{schema.name}.csv").is_file() for schema in SCHEMAS)


def audit(where: Path | None, as_of: date, older_than: int | None = None) -> Audit:
    """Look at the shipped tables, or at a folder: another full set, or own rows over the shipped ones.

    `older_than` counts days before `as_of`; None finds no row too old. Raises `Refusal`: E520 where the folder is
    not there, E555 where it holds no table, E535 where none of its tables can be read.
    """
    if where is not None:
        require_tables(where)
    full = where is None or is_full_set(where)
    oldest = "" if older_than is None else _days_before(as_of, older_than)
    label = NAME if where is None else str(where)
    parts, findings = read_tables(None, shipped=where, label=label) if full else read_tables(where)
    looked_at = [cells for some in parts.values() for cells in some if cells.own != full]
    _require_readable(looked_at, findings, label)
    shipped = parts if where is None or not full else read_tables()[0]
    ids = {text for each in shipped["sources"] if not each.own for text in each.text["id"]}
    known = _listed(where or folder()) if full else ids
    findings = findings + _unused(looked_at, known)
    latest = max(as_of.isoformat(), _newest_check(shipped))
    for cells in looked_at:
        if cells.schema.sourced and cells.text:
            findings += _ages(cells, oldest, latest)
    rows = sum(len(cells.rows) for cells in looked_at)
    local, damage = _local(where, oldest)
    return Audit(label, sum(bool(cells.rows) for cells in looked_at), rows, findings + damage, local)


def _local(where: Path | None, oldest: str) -> tuple[list[AddedState], list[Complaint]]:
    """Look at the store of local rates in a folder of own rows."""
    if where is None or not (where / LOCAL_INDEX).is_file():
        return [], []
    from taxcalc.local_rates.audit import audited  # noqa: PLC0415 - only with a store

    return audited(where, oldest)


def _newest_check(shipped: dict[str, list[Cells]]) -> str:
    """Give the day of the newest check of the shipped tables, which no clock that is slow can put in the future."""
    every = (cells for some in shipped.values() for cells in some if not cells.own and cells.schema.sourced)
    return max((text for cells in every for text in cells.text["checked_on"]), default="")


def _days_before(day: date, count: int) -> str:
    """Give the day so many days earlier; the first one there is where the calendar has none."""
    return day.fromordinal(max(day.toordinal() - count, 1)).isoformat()


def require_tables(where: Path) -> None:
    """Refuse a folder that is not there or holds no CSV file at all."""
    if not where.is_dir():
        raise refuse("E520", file=str(where))
    if not any(where.rglob("*.csv")) and not (where / LOCAL_INDEX).is_file():
        raise refuse("E555", file=str(where))


def _require_readable(looked_at: list[Cells], findings: list[Complaint], label: str) -> None:
    """Refuse a folder of which no table can be read."""
    broken = [finding for finding in findings if finding.id == _UNREADABLE and label in str(finding.file)]
    if broken and len(broken) >= len(looked_at):
        raise Refusal(broken[0], tuple(broken[1:]))


def _listed(where: Path) -> set[str]:
    """Name the sources that no row names, with the README of the tables saying why."""
    path = next((each for each in (where / "README.md", folder() / "README.md") if each.is_file()), None)
    parts = _LISTED.findall(path.read_text(encoding="utf-8")) if path else []
    return {name for part in parts for name in re.findall(r"^- `([^`]+)`", part, re.MULTILINE)}


def _unused(looked_at: list[Cells], known: set[str]) -> list[Complaint]:
    """Find sources that no row looked at names."""
    named = {text for cells in looked_at if cells.schema.sourced for text in cells.text["source"]} | known
    sources = (cells for cells in looked_at if cells.schema.name == "sources")
    return [
        complain("E556", file=cells.label, row=row, column="id", value=text)
        for cells in sources
        for row, text in zip(cells.rows, cells.text["id"], strict=True)
        if text and text not in named
    ]


def _ages(cells: Cells, oldest: str, latest: str) -> list[Complaint]:
    """Find rows that were checked before a day, or after a day that lies ahead; days in ISO form."""
    found = []
    for row, text in zip(cells.rows, cells.text["checked_on"], strict=True):
        if len(text) != len(latest) or oldest <= text <= latest:
            continue
        message_id, day = ("E558", latest) if text > latest else ("E557", oldest)
        found.append(
            complain(message_id, file=cells.label, row=row, column="checked_on", value=text, day=day)
        )
    return found
