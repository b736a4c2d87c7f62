"""What changed since an earlier record, and why: orders, refunds, tables, profile, program.

The figures of the earlier record's own period are computed again as things stand today, so that an earlier period shows what
came in late. Which change made which difference is not split: all that differ are named.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Final

from taxcalc.caution import TITLE
from taxcalc.figure_changes import figure_changes
from taxcalc.handoff.sheet import Head, Row, Sheet
from taxcalc.messages import refuse
from taxcalc.passes import Run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from taxcalc.assessment import Assessment

Record = dict[str, Any]


@dataclass(frozen=True)
class Since:
    """The causes found, and every figure that differs for the earlier record's period."""

    period: dict[str, Any]
    causes: list[tuple[str, str]]
    changes: dict[str, Any]


def read_previous(path: Path) -> Record:
    """Read an earlier record.json; raises E516 where it is none."""
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise refuse("E516", file=str(path), detail=(error.strerror or "unreadable").lower()) from error
    except (ValueError, RecursionError) as error:
        raise refuse("E516", file=str(path), detail="it is no JSON document") from error
    if not isinstance(record, dict) or record.get("title") != TITLE or not _is_whole(record):
        raise refuse("E516", file=str(path), detail="it was not written by a review, or was changed since")
    return record


NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "period": ("from", "to"),
    "totals": ("orders",),
    "tie_out": ("rows_set_aside",),
    "tables": ("version",),
    "program": ("version",),
}
"""What is looked at in an earlier record, beside lists."""
LISTS: Final[dict[str, tuple[str, ...]]] = {
    "places": ("place",),
    "thresholds": ("place", "measure", "kind"),
    "files": ("sha256", "name", "rows"),
}
"""Lists that are looked at, and what each of their parts needs."""


def _is_whole(record: Record) -> bool:
    """Tell whether a record has everything that is looked at."""

    def holds(part: object, names: tuple[str, ...]) -> bool:
        return isinstance(part, dict) and all(isinstance(part.get(name), str | int) for name in names)

    parts = all(holds(record.get(name), names) for name, names in NEEDED.items())
    lists = all(
        isinstance(record.get(name), list) and all(holds(one, names) for one in record[name])
        for name, names in LISTS.items()
    )
    return parts and lists and holds(record, ("as_of", "currency")) and _is_period(record["period"])


def _is_period(period: dict[str, str]) -> bool:
    """Tell whether the days of a period are such."""
    try:
        return date.fromisoformat(period["from"]) <= date.fromisoformat(period["to"])
    except (TypeError, ValueError):
        return False


def since(assessment: Assessment, record: Record, previous: Record) -> Since:
    """Compare; the period is the earlier record's."""
    again = _of_period(assessment, record, previous["period"])
    same = previous["currency"] == again["currency"]
    changes = figure_changes(previous, again) if same else {"totals": [], "places": [], "thresholds": []}
    return Since(previous["period"], list(_causes(previous, again)), changes)


def _of_period(assessment: Assessment, record: Record, period: dict[str, str]) -> Record:
    """Give today's record of a period, computed again unless it is the one at hand."""
    if (record["period"]["from"], record["period"]["to"]) == (period["from"], period["to"]):
        return record
    run = assessment.run
    days = date.fromisoformat(period["from"]), date.fromisoformat(period["to"])
    return (
        Run(run.intake, run.facts.tables, run.seller, run.as_of, days, lambda _: None).assessment().record()
    )


def _causes(before: Record, now: Record) -> Iterator[tuple[str, str]]:
    """Name everything that differs besides the figures."""
    if before["as_of"] != now["as_of"]:
        yield "day", f"seen from {before['as_of']}, now from {now['as_of']}"
    if before["currency"] != now["currency"]:
        words = f"figures were in {before['currency']}, now in {now['currency']}: they are not compared"
        yield "currency", words
    yield from _files(before, now)
    lines = [sum(row.get("lines", 0) for row in one["places"]) for one in (before, now)]
    orders = [one["totals"]["orders"] for one in (before, now)]
    if lines[0] != lines[1]:
        more = lines[1] - lines[0] - (orders[1] - orders[0])
        then, today = (f"{orders[at]} orders and {lines[at]} lines" for at in (0, 1))
        late = f"{orders[1] - orders[0]:+} orders (late orders, or orders taken out)"
        further = f"{more:+} further lines (refunds, or more lines of an order)"
        yield "orders and refunds", f"the period had {then}, now {today}: {late}, {further}"
    if before["tie_out"]["rows_set_aside"] != now["tie_out"]["rows_set_aside"]:
        yield (
            "rows set aside",
            f"{before['tie_out']['rows_set_aside']} rows, now {now['tie_out']['rows_set_aside']}",
        )
    if before["tables"]["version"] != now["tables"]["version"]:
        yield "tables", f"version {before['tables']['version']}, now {now['tables']['version']}"
    if before["program"]["version"] != now["program"]["version"]:
        yield "program", f"version {before['program']['version']}, now {now['program']['version']}"
    old, new = (set(one.get("statements") or ()) for one in (before, now))
    yield from (("profile", f"no longer said: {words}") for words in sorted(old - new))
    yield from (("profile", f"newly said: {words}") for words in sorted(new - old))


def _files(before: Record, now: Record) -> Iterator[tuple[str, str]]:
    """Compare the order files by their contents."""
    old, new = ({file["sha256"]: file for file in one["files"]} for one in (before, now))
    for one in (old[key] for key in old.keys() - new.keys()):
        yield "files", f"{one['name']} with {one['rows']} rows was read then and is not read now"
    for one in (new[key] for key in new.keys() - old.keys()):
        yield "files", f"{one['name']} with {one['rows']} rows is new or changed"


def changes_sheet(record: Record, found: Since | None) -> Sheet:
    """Show the causes first, then every figure."""
    heads = (
        Head("What"),
        Head("Place or measure"),
        Head("Figure"),
        Head("Before"),
        Head("Now"),
        Head("Difference", "number"),
        Head("Said in words", "long"),
    )
    rows: list[Row] = []
    about: tuple[str, ...] = ("No earlier record was given (--previous).",)
    if found is not None:
        span = f"{found.period['from']} to {found.period['to']}"
        about = (
            f"The period {span} of the earlier record, then and as things stand now.",
            "Causes first; which cause made which difference is not split.",
        )
        rows += [("cause", "", kind, "", "", None, words) for kind, words in found.causes]
        for part in ("totals", "places", "thresholds"):
            rows += [
                (
                    part,
                    " ".join(filter(None, (one.get("place", ""), one.get("measure", "")))),
                    one["figure"],
                    _shown(one["before"]),
                    _shown(one["after"]),
                    _number(one["difference"]),
                    "",
                )
                for one in found.changes[part]
            ]
    return Sheet(
        "R",
        "changes",
        "Changes since the last hand-off",
        about,
        heads,
        tuple(rows),
        record["caution"],
        record["currency"],
        "Nothing changed, or nothing to compare with.",
    )


def _shown(value: object) -> str:
    """Write a value of either record."""
    return "" if value is None else str(value)


def _number(text: str | None) -> Decimal | None:
    """Read a difference that is one."""
    try:
        return None if text is None else Decimal(text)
    except InvalidOperation:
        return None
