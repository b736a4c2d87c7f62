"""Sums by place for the period and for the history, and what they rest on: what record and findings share.

Shortfalls are floored at nothing per place and quarter before they are added: one quarter's excess does not pay another
quarter's lack, and no place pays for another. `_low` and `_high` are the lowest and the highest of the three ends of a sum:
a refund turns the ends of its sale around.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY
from taxcalc.days import quarter_number
from taxcalc.duties import stretches
from taxcalc.facts import OPEN
from taxcalc.money import parse_amount
from taxcalc.sums import MEASURES, SHIFT

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.duties import Stretch
    from taxcalc.money import Ints
    from taxcalc.terms import Terms

FLOORED = ("shortfall_low", "shortfall", "shortfall_high")
RANGES = ("to_collect", "shortfall", "fulfiller_tax")


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
        """Give keys (place × SHIFT + quarter) and measures of all quarters."""
        keys, values = self.assessment.sums.by_quarter()
        return keys, _floored(values)

    def period(self, code: int) -> dict[str, int]:
        """Add up a place over the days of the period."""
        keys, values = self._in_period
        return _sum(values, keys == code)

    def history(self, code: int) -> dict[str, int]:
        """Add up a place over the whole history."""
        keys, values = self._ever
        return _sum(values, keys // SHIFT == code)

    def since_duty(self, code: int) -> dict[str, int] | None:
        """Add up a place from the quarter in which its last stretch of duty began, None where there was none.

        Lines of that quarter from before the duty have nothing to collect.
        """
        duty = self.duty(code)
        if duty is None:
            return None
        keys, values = self._ever
        first = int(quarter_number(np.array([duty.first.start.day], np.int32))[0])
        return _sum(values, (keys // SHIFT == code) & (keys % SHIFT >= first))

    def duty(self, code: int) -> Stretch | None:
        """Give the last stretch of duty at a place that had begun by the day of the review."""
        as_of = self.assessment.run.facts.as_of_day
        begun = (i for i in self.assessment.intervals if i.start.day <= as_of)
        return next(reversed(stretches(begun, code)), None)

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


def _sum(values: dict[str, Ints], here: npt.NDArray[np.bool_]) -> dict[str, int]:
    """Add up some rows."""
    total = {name: int(column[here].sum()) for name, column in values.items()}
    for name in RANGES:
        ends = total[f"{name}_low"], total[name], total[f"{name}_high"]
        total[f"{name}_low"], total[f"{name}_high"] = min(ends), max(ends)
    return total


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
