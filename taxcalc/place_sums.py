"""Sums by place for the period and for the history, and what they rest on: what record and findings share.

Shortfalls, and the avoidable tax of the fulfiller, are floored at nothing per place and quarter before they are added: one
quarter's excess does not pay another quarter's lack, and no place pays for another. `_low` and `_high` are the lowest and
the highest of the three ends of a sum: a refund turns the ends of its sale around.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.columns import NO_DAY
from taxcalc.days import day as to_day
from taxcalc.days import quarter_of
from taxcalc.duties import stretches
from taxcalc.facts import OPEN
from taxcalc.refunded_lacks import settled
from taxcalc.sums import MEASURES, SHIFT
from taxcalc.tables.table import UNCONFIRMED

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.duties import Interval, Stretch
    from taxcalc.money import Ints

FLOORED = ("shortfall_low", "shortfall", "shortfall_high", "shortfall_unserved", "fulfiller_tax_avoidable")
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
        self._duties = _duties_begun(assessment)

    @cached_property
    def _in_period(self) -> _Rows:
        """The slots inside the period."""
        inside = self.keys % 2 == 1
        sums = self.assessment.sums.values
        every = {**sums, **settled(self.keys // SHIFT, sums)}
        return _Rows(self.keys[inside], {name: one[inside] for name, one in every.items()})

    @cached_property
    def _ever(self) -> _Rows:
        """All quarters."""
        return _Rows(*self.assessment.sums.by_quarter())

    def period(self, code: int) -> dict[str, int]:
        """Add up a place over the days of the period."""
        return self._in_period.sum(code)

    def history(self, code: int) -> dict[str, int]:
        """Add up a place over the whole history."""
        return self._ever.sum(code)

    def since_duty(self, code: int) -> dict[str, int] | None:
        """Add up a place from the quarter in which its last stretch of duty began, None where there was none.

        Lines of that quarter from before the duty have nothing to collect, unless an earlier stretch ended in the very
        quarter: sums are kept by quarter, so what it lacks there is in it too.
        """
        duty = self.duty(code)
        if duty is None:
            return None
        first = quarter_of(to_day(duty.first.start.day))
        return self._ever.sum(code, first)

    def duty(self, code: int) -> Stretch | None:
        """Give the last stretch of duty at a place that had begun by the day of the review."""
        return self._duties[code][-1] if code in self._duties else None

    def first_duty(self, code: int) -> Stretch | None:
        """Give the first stretch of duty at a place that had begun by the day of the review."""
        return self._duties[code][0] if code in self._duties else None

    def quarters(self, code: int) -> dict[int, dict[str, int]]:
        """Give the sums of a place by calendar quarter (4 × year + 0…3), oldest first, over the whole history."""
        return self._ever.each(code)

    def weakest(self, code: int) -> Weakest:
        """Tell what the figures of a place in the period rest on."""
        by_case, terms = self.assessment.sums.by_case, self.assessment.run.terms
        ordered, place = self._cases
        here = ordered[slice(*np.searchsorted(place, [code, code + 1]))]
        lines, reasons = by_case["lines"][here], terms.collect.reason[here].tolist()
        of_reason = dict.fromkeys(reasons, 0)
        for reason, count in zip(reasons, lines.tolist(), strict=True):
            of_reason[reason] += count
        taxed = here[self._taxed[here]]
        both = [(terms.collect, by_case["to_collect"]), (terms.fulfiller, by_case["fulfiller_tax"])]
        basis = max(int(side.basis[taxed].max(initial=0)) for side, _ in both)
        checked = min(int(side.checked_on[taxed].min(initial=OPEN)) for side, _ in both)
        return Weakest(
            tuple(sorted(of_reason, key=lambda word: (-of_reason[word], word))),
            basis,
            None if checked in (OPEN, NO_DAY) else checked,
            sum(int(tax[taxed[side.basis[taxed] == UNCONFIRMED]].sum()) for side, tax in both),
            tuple(sorted(self._doubtful_rows.get(code, ()))),
        )

    @cached_property
    def _cases(self) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.int16]]:
        """The cases that occur in the period in the order of their places, and the place of each."""
        place = self.assessment.run.terms.placed.place
        occurring = np.flatnonzero(self.assessment.sums.by_case["lines"] > 0)
        ordered = occurring[np.argsort(place[occurring], kind="stable")]
        return ordered, place[ordered]

    @cached_property
    def _taxed(self) -> npt.NDArray[np.bool_]:
        """Which cases occur in the period with a tax on either side."""
        by_case = self.assessment.sums.by_case
        some = (by_case["to_collect"] != 0) | (by_case["fulfiller_tax_high"] != 0)
        return np.asarray(some & (by_case["lines"] > 0), dtype=np.bool_)

    @cached_property
    def _doubtful_rows(self) -> dict[int, set[str]]:
        """The unconfirmed table rows behind the taxed cases of each place."""
        terms = self.assessment.run.terms
        found: dict[int, set[str]] = defaultdict(set)
        for side in (terms.collect, terms.fulfiller):
            for index, evidence in side.proofs:
                inside = np.flatnonzero(self._taxed[index] & (side.basis[index] == UNCONFIRMED))
                place = terms.placed.place[index[inside]]
                for table, rows, columns in evidence.used:
                    chosen = rows[inside]
                    weak = (table.basis(chosen, *columns) == UNCONFIRMED) & (chosen >= 0)
                    pairs, _ = distinct_rows((place[weak], chosen[weak]))
                    for code, row in pairs:
                        found[code].add(str(table.row_ids(np.array([row]))[0]))
        return found


class _Rows:
    """Measures by place and slot or quarter, with shortfalls and excess floored at nothing per row."""

    def __init__(self, keys: Ints, values: dict[str, Ints]) -> None:
        """Take sorted keys (place × SHIFT + slot or quarter) and the measures of each, lacks settled."""
        floored = {name: np.maximum(values[name], 0) for name in FLOORED}
        whole = {**values, **floored, "over_collected": np.maximum(-values["shortfall"], 0)}
        self._keys, self._names, self._matrix = keys, tuple(whole), np.stack(list(whole.values()))
        self._known: dict[tuple[int, int], dict[str, int]] = {}

    def sum(self, code: int, first: int = 0) -> dict[str, int]:
        """Add up the rows of a place, from a slot or quarter on."""
        if (code, first) not in self._known:
            rows = slice(*np.searchsorted(self._keys, [code * SHIFT + first, (code + 1) * SHIFT]))
            self._known[code, first] = self._named(self._matrix[:, rows].sum(axis=1))
        return self._known[code, first]

    def each(self, code: int) -> dict[int, dict[str, int]]:
        """Give every row of a place by its slot or quarter."""
        first, last = np.searchsorted(self._keys, [code * SHIFT, (code + 1) * SHIFT]).tolist()
        return {int(self._keys[row]) % SHIFT: self._named(self._matrix[:, row]) for row in range(first, last)}

    def _named(self, measures: Ints) -> dict[str, int]:
        """Name measures, with the ends of each range in their order."""
        total = dict(zip(self._names, measures.tolist(), strict=True))
        for name in RANGES:
            ends = total[f"{name}_low"], total[name], total[f"{name}_high"]
            total[f"{name}_low"], total[f"{name}_high"] = min(ends), max(ends)
        return total


def _duties_begun(assessment: Assessment) -> dict[int, list[Stretch]]:
    """Give, by place, the stretches of duty that had begun by the day of the review, oldest first."""
    begun: dict[int, list[Interval]] = defaultdict(list)
    for interval in assessment.intervals:
        if interval.start.day <= assessment.run.facts.as_of_day:
            begun[interval.place].append(interval)
    return {code: stretches(intervals, code) for code, intervals in begun.items()}


def whole(parts: list[dict[str, int]]) -> dict[str, int]:
    """Add up the sums of places."""
    return {name: sum(part[name] for part in parts) for name in (*MEASURES, "over_collected")}
