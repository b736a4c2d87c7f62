"""Look-back: what each place lacks since its duty began, the part a disclosure usually starts from, and it by quarter."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.reports.layout import Column, bullets, figures, heading, paragraph, spread, stacked
from taxcalc.reports.words import day, marked, money, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Row = dict[str, Any]
NAMED: Final = 4
"""Places whose quarters are shown; the record holds those of all."""

WORDS: Final = (
    "What was not collected in all quarters since the duty began, also under earlier duties, and the part of it that a "
    "voluntary disclosure usually starts from. No quarter and no place pays for another. How far back a state looks is a "
    "fact of practice, no right: it may look back further. The quarter in which a look-back begins counts whole; where the "
    "years are a range, low goes with the fewest. Talk to a professional before you register."
)


def look_back(record: dict[str, Any]) -> Pieces:
    """Show the look-back, nothing where no place lacks anything under a duty."""
    rows = sorted(record.get("look_back") or (), key=_weight)
    if not rows:
        return []
    pieces = [*heading("Look-back and voluntary disclosure"), paragraph(WORDS)]
    return [
        *pieces,
        *_disclosures([row for row in rows if row["disclosure"]], record),
        *_quarters(rows, record),
    ]


def _disclosures(rows: list[Row], record: dict[str, Any]) -> Pieces:
    """Show each place for which a look-back is on file."""
    if not rows:
        return []
    columns = [Column("Place"), Column("Not collected", number=True), Column("Usual look-back"),
               Column("Of this in the look-back", number=True)]  # fmt: skip
    pieces = figures(columns, [_row(row, record["currency"]) for row in rows], rows[0]["caution"])
    return [*pieces, "", *bullets(_notes(rows))]


def _quarters(rows: list[Row], record: dict[str, Any]) -> Pieces:
    """Show the places with the largest lack by quarter."""
    columns = [Column("Place and quarter"), *(Column(words, number=True) for words in _SUMS)]
    shown = [_quarter(row, one, record["currency"]) for row in rows[:NAMED] for one in row["quarters"]]
    left = len(rows) - NAMED
    below = f"The quarters of {several(left, 'more place')} are in record.json." if left > 0 else ""
    return figures(columns, shown, rows[0]["caution"], below)


_SUMS: Final = ("Should have collected", "Collected", "Not collected")


def _weight(row: Row) -> tuple[bool, Decimal, str]:
    """Put places with a look-back first, then the largest lack."""
    return row["disclosure"] is None, -Decimal(row["shortfall"]["expected"]), row["place"]


def _row(row: Row, currency: str) -> list[Cell]:
    """Write one place."""
    since = f"duty since {day(row['duty_from'])}"
    found = row["disclosure"]
    years = stacked(_years(found), f"since {day(found['from'])}")
    sums = [spread(part["shortfall"], currency) for part in (row, found)]
    return [stacked(marked(row), since), sums[0], years, sums[1]]


def _years(found: Row) -> str:
    """Say how many years back, starred where no paper of the state is held."""
    least, most = found["years"]["least"], found["years"]["most"]
    years = f"{several(most, 'year')}" if least == most else f"{least} to {most} years"
    current = " and the current one" if found["plus_current_year"] else ""
    return f"{years}{current}" + (" *" if found["rule"] == "usual" else "")


def _quarter(row: Row, one: Row, currency: str) -> list[Cell]:
    """Write one quarter of one place."""
    to_collect, shortfall = (spread(one[name], currency) for name in ("to_collect", "shortfall"))
    return [
        f"{place(row)} {printable(one['quarter'])}",
        to_collect,
        money(one["collected"], currency),
        shortfall,
    ]


def _notes(rows: list[Row]) -> list[str]:
    """Say once what holds in several places, and where."""
    by_words: dict[str, list[str]] = {}
    for row in rows:
        found = row["disclosure"]
        for words in [*([_USUAL] if found["rule"] == "usual" else []), *found["words"][1:]]:
            by_words.setdefault(words, []).append(row["place"])
    return [f"{printable(words)} ({printable(', '.join(named))})" for words, named in by_words.items()]


_USUAL: Final = (
    "* No years of this state are on file: what is usual elsewhere was taken (common practice, no source)."
)
