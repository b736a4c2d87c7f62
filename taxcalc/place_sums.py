"""Sums by place for the period and for the history, and what they rest on: what record and findings share.

Shortfalls are floored at nothing per place and quarter before they are added: one quarter's excess does not pay another
quarter's lack, and no place pays for another.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY
from taxcalc.duties import since
from taxcalc.facts import OPEN
from taxcalc.money import parse_amount
from taxcalc.sums import MEASURES, SHIFT

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.duties import Interval
    from taxcalc.money import Ints
    from taxcalc.terms import Terms

FLOORED = ("shortfall_low", "shortfall", "shortfall_high")


@dataclass(frozen=True)
class Weakest:
    """What the figures of a place rest on: reasons (most lines first), weakest basis, oldest check, doubtful rows."""

    reasons: tuple[str, ...]
    basis: int
    checked_on: int | None
    doubtful_tax: int
    doubtful_rows: tuple[str, ...]


class PlaceSums:
    """Sums by place code; `codes` are all places that occur, in the order of their place codes."""

    def __init__(self, assessment: Assessment) -> None:
        """Take the sums of an assessment."""
        self.assessment = assessment
        self.keys = assessment.sums.keys
        self.codes = sorted({int(key) // SHIFT for key in self.keys}, key=places.code)

    @cached_property
    def _in_period(self) -> tuple[Ints, dict[str, Ints]]:
        """Give place codes and measures of the slots inside the period."""
        inside = self.keys % 2 == 1
        chosen = {name: values[inside] for name, values in self.assessment.sums.values.items()}
        return self.keys[inside] // SHIFT, _floored(chosen)

    @cached_property
    def _ever(self) -> tuple[Ints, dict[str, Ints]]:
        """Give place codes and measures of all quarters."""
        keys, values = self.assessment.sums.by_quarter()
        return keys // SHIFT, _floored(values)

    def period(self, code: int) -> dict[str, int]:
        """Add up a place over the days of the period."""
        return _sum(self._in_period, code)

    def history(self, code: int) -> dict[str, int]:
        """Add up a place over the whole history."""
        return _sum(self._ever, code)

    def duty(self, code: int) -> Interval | None:
        """Give the interval with which the present stretch of duty at a place began, else the first one there was."""
        intervals = [
            i for i in self.assessment.intervals if i.start.day <= self.assessment.run.facts.as_of_day
        ]
        now = since(intervals, code, self.assessment.run.facts.as_of_day)
        return now or min((i for i in intervals if i.place == code), key=lambda i: i.start, default=None)

    def remitted(self, code: int) -> int:
        """Add up what the profile says was paid over for a place, minor units of the reporting currency."""
        currency = self.assessment.currency
        paid = [r for r in self.assessment.run.seller.remitted if r.place == places.code(code)]
        return sum(parse_amount(r.amount, currency) for r in paid)

    @property
    def remitted_to_union(self) -> int:
        """Add up what the profile says was paid over through the Union's one-stop shops, for all member states."""
        return self.remitted(places.index("EU"))

    def weakest(self, code: int) -> Weakest:
        """Tell what the figures of a place in the period rest on."""
        run, by_case = self.assessment.run, self.assessment.sums.by_case
        terms = run.terms
        here = np.flatnonzero((terms.placed.place == code) & (by_case["lines"] > 0))
        lines = by_case["lines"][here]
        reasons = terms.collect.reason[here]
        names = sorted(set(reasons.tolist()), key=lambda word: (-int(lines[reasons == word].sum()), word))
        taxed = here[(by_case["to_collect"][here] != 0) | (by_case["fulfiller_tax_high"][here] != 0)]
        both = [(terms.collect, by_case["to_collect"]), (terms.fulfiller, by_case["fulfiller_tax"])]
        basis = max((int(side.basis[taxed].max(initial=0)) for side, _ in both), default=0)
        checked = min((int(side.checked_on[taxed].min(initial=OPEN)) for side, _ in both), default=OPEN)
        doubt = [(side, taxed[side.basis[taxed] == 2], tax) for side, tax in both]  # noqa: PLR2004 - unconfirmed
        return Weakest(
            tuple(names),
            basis,
            None if checked in (OPEN, NO_DAY) else checked,
            sum(int(tax[cases].sum()) for _, cases, tax in doubt),
            _doubtful_rows(doubt),
        )


def _floored(values: dict[str, Ints]) -> dict[str, Ints]:
    """Floor the shortfalls of each row at nothing, and take over-collection from what was above."""
    floored = {name: np.maximum(values[name], 0) for name in FLOORED}
    return {**values, **floored, "over_collected": np.maximum(-values["shortfall"], 0)}


def _sum(rows: tuple[Ints, dict[str, Ints]], code: int) -> dict[str, int]:
    """Add up the rows of a place."""
    here = rows[0] == code
    return {name: int(values[here].sum()) for name, values in rows[1].items()}


def _doubtful_rows(doubt: list[tuple[Terms, npt.NDArray[Any], Ints]]) -> tuple[str, ...]:
    """Name the unconfirmed table rows behind some cases."""
    found: set[str] = set()
    for side, cases, _ in (part for part in doubt if part[1].size):
        for index, evidence in side.proofs:
            inside = np.flatnonzero(np.isin(index, cases))
            for table, rows, columns in evidence.used:
                chosen = rows[inside]
                weak = chosen[table.basis(chosen, *columns) == 2]  # noqa: PLR2004 - unconfirmed
                found.update(table.row_ids(np.unique(weak)).tolist())
    return tuple(sorted(found - {""}))


def whole(parts: list[dict[str, int]]) -> dict[str, int]:
    """Add up the sums of places."""
    return {name: sum(part[name] for part in parts) for name in (*MEASURES, "over_collected")}
