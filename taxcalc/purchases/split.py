"""What becomes of the fulfiller's expected tax in a year: avoidable, perhaps given back, or final cost; by whose tax it is.

Avoidable: a document that could be had that day brings it to nothing. Recoverable: the regime names a way on which it may
come back (`recovery` of each regime), and the last day to ask for it is not over. Final: the rest, samples among it. What
was charged although a document (or a VAT number) on file stops the tax is no expected tax; it stands apart, to be asked
back from the fulfiller.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import quarter_of
from taxcalc.purchases.claims import last_day_to_ask
from taxcalc.routes import BETWEEN_STATES, COMES_BACK, FROM_OUTSIDE, TOO_LATE
from taxcalc.terms import REGIMES

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.purchases.claims import LastDay
    from taxcalc.regime import Recovery

    Flags = npt.NDArray[np.bool_]

PARTS = ("avoidable", "recoverable", "final")
ASKED_FOR = (BETWEEN_STATES, FROM_OUTSIDE)
"""Routes of `eu/refund_procedures`, with a last day to ask after each calendar year."""


class Way(NamedTuple):
    """One way of one place: minor units that go it, and until when to ask where a day is held.

    `year` is the calendar year of the tax and `row` that of `eu/refund_procedures`, for ways with a last day a year
    (else 0 and -1).
    """

    route: str
    expected: int
    charged: int
    year: int
    ask_by: date | None
    row: int


class Split(NamedTuple):
    """The parts of one place, minor units of the reporting currency.

    `expected` and `charged` hold the three parts each; `charged_with_document` stands beside them. `ask_by` is the last day
    to ask for the tax of the first of the four quarters (None: not held). `ways` say how the recoverable part may come back
    and why the final one does not.
    """

    place: int
    expected: dict[str, int]
    charged: dict[str, int]
    charged_with_document: int
    ask_by: LastDay | None
    ways: tuple[Way, ...]


def splits(assessment: Assessment) -> list[Split]:
    """Split the fulfiller's tax of the last four completed quarters by place, the largest first."""
    run, year = assessment.run, assessment.sums.year
    taxed = (year["expected"] != 0) | (year["charged"] != 0)
    found: list[Split] = []
    for number, regime in enumerate(REGIMES[: places.EU + 1]):
        mine = taxed & (run.terms.billed_by == number)
        if mine.any():
            answer = regime.recovery(run.terms, year["sold"], run.facts)
            codes = np.unique(run.terms.billed_in[mine]).tolist()
            parts = (_split(assessment, answer, code, mine & (run.terms.billed_in == code)) for code in codes)
            found.extend(part for part in parts if part is not None)
    return sorted(found, key=lambda split: (-sum(split.expected.values()), places.code(split.place)))


def _split(assessment: Assessment, answer: Recovery, code: int, here: Flags) -> Split | None:
    """Split the tax of one place; None where nothing is left of it."""
    run, year = assessment.run, assessment.sums.year
    wrongly = max(int(year["charged"][here & answer.on_file].sum()), 0)
    here = here & ~answer.on_file
    avoidable = here & run.terms.avoidable
    expected, charged = dict.fromkeys(PARTS, 0), dict.fromkeys(PARTS, 0)
    expected["avoidable"], charged["avoidable"] = (_sum(year[name], avoidable) for name in SIDES)
    ways = _ways(assessment, answer, code, here & ~avoidable)
    for way in ways:
        part = "recoverable" if way.route in COMES_BACK else "final"
        expected[part] += way.expected
        charged[part] += way.charged
    if not (any(expected.values()) or any(charged.values()) or wrongly):
        return None
    by = last_day_to_ask(run.facts, code, quarter_of(to_day(run.frame.year.first)))
    return Split(code, expected, charged, wrongly, by, ways)


SIDES = ("expected", "charged")


def _sum(values: npt.NDArray[np.int64], cases: Flags) -> int:
    """Add up some cases, never less than nothing."""
    return max(int(values[cases].sum()), 0)


def _ways(assessment: Assessment, answer: Recovery, code: int, left: Flags) -> tuple[Way, ...]:
    """Give the ways that the rest goes, those with a last day to ask by calendar year; what is over is too late."""
    year, found = assessment.sums.year, list[Way]()
    for route in sorted(set(answer.route[left].tolist())):
        cases = left & (answer.route == route)
        whole = [_sum(year[name], cases) for name in SIDES]
        if route not in ASKED_FOR:
            found.append(Way(route, whole[0], whole[1], 0, None, -1))
            continue
        before = [
            min(_sum(year[f"{name}_before"], cases), total) for name, total in zip(SIDES, whole, strict=True)
        ]
        last = to_day(assessment.run.frame.year.last).year
        after = [total - part for total, part in zip(whole, before, strict=True)]
        for of_year, amounts in ((last - 1, before), (last, after)):
            found.append(_asked_for(assessment, code, route, amounts, of_year))
    return tuple(way for way in found if way.expected or way.charged)


def _asked_for(assessment: Assessment, code: int, route: str, amounts: list[int], year: int) -> Way:
    """Give the way of one calendar year's tax: by its procedure, or none because the last day to ask is over.

    The row of the state itself goes before that of the Union.
    """
    facts = assessment.run.facts
    table = facts.tables["eu/refund_procedures"]
    rows = [table.row(facts.as_of_day, place=place, route=route) for place in (code, "EU")]
    row = next((one for one in rows if one >= 0), -1)
    by = None if row < 0 else date(year + 1, int(table["last_month"][row]), int(table["last_day"][row]))
    late = by is not None and by < facts.as_of
    return Way(TOO_LATE if late else route, amounts[0], amounts[1], year, by, row)
