"""What interest and penalties may come on top of what was not collected, by place and quarter: the record's own part.

The returns are taken as quarterly, due on the day of `us/practice`, and the tax as paid on the day of the review. Nothing
of it is added into any other figure. Only places of the United States have such tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import first_of_month, number, quarter_days, quarter_name
from taxcalc.exchange import convert
from taxcalc.findings.duty import registered_since
from taxcalc.late.interest import interest
from taxcalc.late.penalties import LATER, NOT_ON_A_LACK, Late, penalty, rows_in_force
from taxcalc.look_back import COUNTRY, ENDS, SUFFIX, lacking_quarters
from taxcalc.money import CURRENCY_CODE, round_fraction, write_amount
from taxcalc.own_rows import own_among
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from datetime import date

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.late.interest import Interest
    from taxcalc.place_sums import PlaceSums
    from taxcalc.tables.table import Table

SCENARIO: Final = (
    "A scenario, in no other figure: what may come on top of what was not collected if it is declared and paid on the day of "
    "the review."
)
ASSUMED: Final = (
    "Returns by calendar quarter, due on the day that {row} gives (common practice, no source); not moved off weekends.",
    "Low and expected: late by yourself, before any notice or audit. High: after both, as far as the state's rows go.",
    "Each amount is rounded once per quarter, half a minor unit away from zero; days of a leap year are 366ths.",
    "A registered seller's return is taken as filed in time, from the quarter in which it was registered (high: as late).",
    "Amounts of fewer than all quarters are never added up to a total.",
)
KEPT: Final = "A penalty on tax that was collected and kept is not in it."
STAGES_LATER: Final = "Stages after a notice or an audit are in high alone."
WHEN_FOUND: Final = (
    "The penalties are those of a seller whom the state finds: low is without them, and so is expected for quarters under "
    "your registration."
)
WAIVED: Final = {
    "waived": "Penalties are waived in a voluntary disclosure.",
    "partly_or_fully_waived": "Penalties are partly or fully waived in a voluntary disclosure.",
    "relief_possible": "Relief from penalties is possible in a voluntary disclosure.",
    "not_stated": "What becomes of penalties in a voluntary disclosure was not read.",
}
DUE: Final = {
    "due": "Interest stays due in it.",
    "normally_due": "Interest normally stays due in it.",
    "ordinary_rate_due": "Interest at the ordinary rate stays due in it.",
    "not_stated": "What becomes of interest in it was not read.",
}


@dataclass(frozen=True)
class _Quarter:
    """One quarter of one place: its lack by end, its due day, its interest, and its penalties by end (None: not known)."""

    name: str
    due: date
    lack: dict[str, int]
    interest: Interest
    penalties: dict[str, int] | None
    penalty_rows: tuple[int, ...]

    @property
    def interest_ends(self) -> dict[str, int] | None:
        """Interest by end."""
        part = self.interest.part
        return None if part is None else {end: round_fraction(part * self.lack[end]) for end in ENDS}


def scenario(assessment: Assessment, sums: PlaceSums) -> dict[str, Any]:
    """Build the scenario of all places with a lack under a duty."""
    lacking = [code for code in sums.codes if lacking_quarters(sums, code)]
    inside = [
        code
        for code in lacking
        if places.regimes()[code] == places.US and _practice(assessment, code)[1] >= 0
    ]
    parts = [_Place(assessment, sums, code) for code in inside]
    return {
        "words": SCENARIO,
        "assumptions": [words.format(row=_due_row(assessment)) for words in ASSUMED],
        "places": [part.shown() for part in parts if part.quarters],
        "not_due_yet": [places.code(part.code) for part in parts if not part.quarters],
        "without_tables": [places.code(code) for code in lacking if code not in inside],
        "caution": CAUTION,
    }


class _Place:
    """One place: its quarters whose returns were due before the day of the review."""

    def __init__(self, assessment: Assessment, sums: PlaceSums, code: int) -> None:
        """Take what the figures come from; nothing is computed yet."""
        self.assessment, self.sums, self.code = assessment, sums, code
        self.as_of = assessment.run.as_of
        tables = assessment.run.facts.tables
        self.rates, self.penalties = tables["us/interest_rates"], tables["us/penalties"]

    @cached_property
    def quarters(self) -> list[_Quarter]:
        """The quarters with a lack that were due before the day of the review."""
        every = lacking_quarters(self.sums, self.code)
        due = {quarter: self._due(quarter) for quarter, part in every.items() if part["shortfall_high"]}
        return [
            self._quarter(quarter, day, every[quarter]) for quarter, day in due.items() if day < self.as_of
        ]

    def _due(self, quarter: int) -> date:
        """Give the due day of the return of a quarter."""
        _, last = quarter_days(quarter_name(quarter))
        table, row = _practice(self.assessment, self.code)
        day = first_of_month(last, 1) + timedelta(int(table["least"][row]) - 1)
        return min(day, first_of_month(last, 2) - timedelta(1))

    def _quarter(self, quarter: int, due: date, part: dict[str, int]) -> _Quarter:
        """Compute one quarter."""
        lack = {end: part["shortfall" + SUFFIX[end]] for end in ENDS}
        since = registered_since(self.assessment, self.code)
        filed = since is not None and since <= number(quarter_days(quarter_name(quarter))[1])
        late, rows = Late(due, self.as_of, filed, self._money), rows_in_force(self.penalties, self.code, due)
        counted = {end: penalty(self.penalties, rows, lack[end], end, late) for end in ENDS} if rows else None
        return _Quarter(
            quarter_name(quarter),
            due,
            lack,
            interest(self.rates, self.code, due, self.as_of),
            counted,
            tuple(rows),
        )

    def _money(self, amount: int, currency: str) -> int:
        """Turn an amount of a row into the currency of the figures, at the day of the review."""
        minor = np.array([amount], np.int64)
        return int(convert(minor, CURRENCY_CODE[currency], self.assessment.currency, number(self.as_of))[0])

    def shown(self) -> dict[str, Any]:
        """Build the part of the place."""
        ids = [str(name) for table, rows in self._rows for name in table.row_ids(rows).tolist()]
        return {
            "place": places.code(self.code),
            "name": places.name(places.code(self.code)),
            "quarters": [self._shown(quarter) for quarter in self.quarters],
            "shortfall": self._total([quarter.lack for quarter in self.quarters]),
            "interest": self._total([quarter.interest_ends for quarter in self.quarters]),
            "penalties": self._total([quarter.penalties for quarter in self.quarters]),
            "words": [*self._unknown(), *self._left_out(), *self._disclosure()],
            "basis": BASES[self._basis()],
            "row_ids": " ".join(ids),
            "sources": sorted(self._sources()),
            "own_rows": own_among(" ".join(ids)),
            "caution": CAUTION,
        }

    def _shown(self, quarter: _Quarter) -> dict[str, Any]:
        """Build the part of one quarter."""
        unknown = quarter.interest.unknown_from
        return {
            "quarter": quarter.name,
            "due_on": quarter.due.isoformat(),
            "days_late": (self.as_of - quarter.due).days,
            "shortfall": self._total([quarter.lack]),
            "interest": self._total([quarter.interest_ends]),
            "interest_rate_unknown_on": unknown.isoformat() if unknown else None,
            "penalties": self._total([quarter.penalties]),
            "caution": CAUTION,
        }

    def _total(self, parts: list[dict[str, int] | None]) -> dict[str, str] | None:
        """Add up ranges; None where one of them is not known."""
        known = [part for part in parts if part is not None]
        if len(known) < len(parts):
            return None
        return {end: write_amount(sum(part[end] for part in known), self.assessment.currency) for end in ENDS}

    @cached_property
    def _rows(self) -> list[tuple[Table, npt.NDArray[np.int32]]]:
        """The rows used: of the due day, of rates and of penalties."""
        table, row = _practice(self.assessment, self.code)
        rates = {row for quarter in self.quarters for row in quarter.interest.rows}
        penalties = {row for quarter in self.quarters for row in quarter.penalty_rows}
        sides = ((table, {row}), (self.rates, rates), (self.penalties, penalties))
        return [(of, np.array(sorted(rows), np.int32)) for of, rows in sides]

    def _sources(self) -> set[str]:
        """Name the sources of the rows used."""
        return {source for table, rows in self._rows for source in table.sources(rows)}

    def _basis(self) -> int:
        """Give the weakest basis of the rows used."""
        return max(int(table.basis(rows).max(initial=0)) for table, rows in self._rows)

    def _unknown(self) -> list[str]:
        """Say what no row is held for."""
        days = [day for quarter in self.quarters if (day := quarter.interest.unknown_from)]
        rate = (
            f"No rate of interest is on file for {min(days)} (and perhaps other days): no figure."
            if days
            else ""
        )
        none = any(quarter.penalties is None for quarter in self.quarters)
        return [words for words in (rate, "No penalties are on file: no figure." if none else "") if words]

    def _left_out(self) -> list[str]:
        """Say which rows stand for something else than a lack, and which stages are in high alone."""
        rows = {row for quarter in self.quarters for row in quarter.penalty_rows}
        kept = any(self.penalties["fault"][row] == NOT_ON_A_LACK for row in rows)
        later = any(self.penalties["stage"][row] in LATER for row in rows)
        found = any(self.penalties["fault"][row] == "all_when_found" for row in rows)
        words = ((KEPT, kept), (STAGES_LATER, later), (WHEN_FOUND, found))
        return [sentence for sentence, holds in words if holds]

    def _disclosure(self) -> list[str]:
        """Say what becomes of both in a voluntary disclosure, where the table has it."""
        table, day = self.assessment.run.facts.tables["us/voluntary_disclosure"], number(self.as_of)
        row = table.row(day, place=self.code)
        row = row if row >= 0 else table.row(day, place=COUNTRY)
        if row < 0:
            return []
        return [WAIVED[str(table["penalties"][row])], DUE[str(table["interest"][row])]]


def _practice(assessment: Assessment, code: int) -> tuple[Table, int]:
    """Give the table of what is usual, and its row on the due day of returns."""
    table, day = assessment.run.facts.tables["us/practice"], number(assessment.run.as_of)
    asked = {"practice": "return_due_day_of_month_after_quarter"}
    row = table.row(day, place=code, **asked)
    return table, row if row >= 0 else table.row(day, place=COUNTRY, **asked)


def _due_row(assessment: Assessment) -> str:
    """Name the row on the due day of returns that holds for all states."""
    table, row = _practice(assessment, places.index(COUNTRY))
    return str(table.row_ids(np.array([row]))[0])
