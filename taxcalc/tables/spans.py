"""From when until when each row of a table holds, and what holds of a key on one day and why.

A row holds until the day before the next one of its key, or until a last day of its own where its table has one (a
holiday); a row of the user's own hides the shipped ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from taxcalc.columns import NO_DAY

if TYPE_CHECKING:
    from taxcalc.tables.table import Table

HOLDS: Final = "holds"
CARRIED: Final = "carried_on"
NOT_YET: Final = "not_yet_known"
ENDED: Final = "ended"
OVER: Final = "over"
NOTHING: Final = "nothing_shipped"


@dataclass(frozen=True)
class Span:
    """A row and the days on which it answers, both inclusive, None where open; `hidden`: on no day, by an own row."""

    row: int
    first: int | None
    last: int | None
    hidden: bool = False


@dataclass(frozen=True)
class Answer:
    """What a table says of one key on one day; `span` is None where nothing holds, `why` one of the words above.

    `since` is the day the answer rests on: the first day of the first row, of the ending, of the last check, or the
    last day of what is over. `says` is the row that says so: the one that holds, ends, or is over; -1 where none does.
    """

    key: tuple[str, ...]
    span: Span | None
    why: str
    since: int | None
    says: int = -1

    @property
    def row(self) -> int:
        """The row that holds, -1 where none does."""
        return -1 if self.span is None else self.span.row


def spans(table: Table) -> list[Span]:
    """Give every row of a table with its days, in the order of the keys in the file and of the days in a key."""
    found: list[Span] = []
    for stretches in _stretches(table).values():
        for at, (_, row) in enumerate(stretches):
            if row >= 0:
                found.append(_span(table, stretches, at))
    seen = {span.row for span in found}
    back = {row for row, ends in enumerate(table.printed("back_to_shipped")) if ends == "yes"}
    hidden = [Span(row, None, None, hidden=True) for row in range(table.size) if row not in seen | back]
    order = {key: number for number, key in enumerate(dict.fromkeys(table.keys))}
    return sorted(
        [*found, *hidden],
        key=lambda span: (
            order[table.keys[span.row]],
            _day(table, span.row) if span.hidden else span.first or 0,
        ),
    )


def answers(table: Table, day: int) -> list[Answer]:
    """Say of every key what holds on a day, and why nothing does where nothing does."""
    return [_answer(table, key, stretches, day) for key, stretches in _stretches(table).items()]


def _span(table: Table, stretches: list[tuple[int, int]], at: int) -> Span:
    """Give the days of one stretch."""
    first, row = stretches[at]
    ends = [after - 1 for after, _ in stretches[at + 1 : at + 2]]
    own_end = _last_day(table, row)
    if own_end != NO_DAY:
        ends.append(own_end)
    return Span(row, _or_none(first), min(ends, default=None))


def _last_day(table: Table, row: int) -> int:
    """Give the day that ends a row by itself; blank where it holds until the next one."""
    name = table.schema.last_day
    return int(table[name][row]) if name else NO_DAY


def _answer(table: Table, key: tuple[str, ...], stretches: list[tuple[int, int]], day: int) -> Answer:
    """Find the stretch that the day lies in."""
    at = sum(first <= day for first, _ in stretches) - 1
    if at < 0:
        return Answer(key, None, NOT_YET, stretches[0][0])
    first, row = stretches[at]
    if row < 0:
        return Answer(key, None, NOTHING, first)
    if table.schema.dated and bool(table["ended"][row]):
        return Answer(key, None, ENDED, first, row)
    last_day = _last_day(table, row)
    if last_day != NO_DAY and day > last_day:
        return Answer(key, None, OVER, last_day, row)
    checked = int(table["checked_on"][row]) if table.schema.sourced else NO_DAY
    carried = at == len(stretches) - 1 and last_day == NO_DAY and checked != NO_DAY and day > checked
    since = checked if carried else _or_none(first)
    return Answer(key, _span(table, stretches, at), CARRIED if carried else HOLDS, since, row)


def _stretches(table: Table) -> dict[tuple[str, ...], list[tuple[int, int]]]:
    """Give for each key the days from which something new holds, with the row that answers, by day."""
    at, answer = table.entries
    found: dict[tuple[str, ...], list[tuple[int, int]]] = {}
    for entry, row in zip(at.tolist(), answer.tolist(), strict=True):
        found.setdefault(table.keys[entry], []).append((_day(table, entry), row))
    order = dict.fromkeys(table.keys)
    return {key: sorted(found[key]) for key in order if key in found}


def _day(table: Table, row: int) -> int:
    """Give the first day of a row."""
    return int(table["valid_from"][row]) if table.schema.dated else NO_DAY


def _or_none(day: int) -> int | None:
    """Give a day, None for the blank."""
    return None if day == NO_DAY else day
