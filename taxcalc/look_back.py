"""Look-back: what each quarter since duty began lacks, and the part that a voluntary disclosure usually starts from.

A quarter's lack is never below nothing, so that no quarter and no place pays for another; the whole is the sum of the
quarters shown. How far back a state usually looks stands in `us/voluntary_disclosure`, else what is usual stands in
`us/practice`: a fact of practice, no right. Sums are kept by quarter: the quarter in which a look-back begins is whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.assessment import date_or_none
from taxcalc.caution import CAUTION
from taxcalc.days import MONTHS_A_YEAR, number, plus_months, quarter_name, quarter_of
from taxcalc.findings.duty import registered_since
from taxcalc.money import write_amount
from taxcalc.own_rows import own_among
from taxcalc.regime import DUTY
from taxcalc.tables.fields import NO_VALUE
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums
    from taxcalc.tables.load import Tables

ENDS: Final = ("low", "expected", "high")
SUFFIX: Final = {"low": "_low", "expected": "", "high": "_high"}
COUNTRY: Final = "US"
"""Place of the rows that hold for every state without its own."""

PRACTICE: Final = (
    "A fact of practice, no right: the state decides how far back it looks, and may look back further."
)
COLLECTED_TAX: Final = {
    "no_waiver": "Tax that was collected and kept is outside: no waiver, however old.",
    "unlimited_with_penalty": "Tax that was collected and kept is outside: no limit in years, and a penalty on it.",
    "not_stated": "What holds for tax that was collected and kept was not read.",
}
REGISTERED: Final = "You are registered here, and a registration or a return filed usually closes this way: ask a professional."

Quarters = dict[int, dict[str, int]]


@dataclass(frozen=True)
class Window:
    """How far back a state usually looks: by how many years at least and at most, and where that stands.

    `from_january`: the years are calendar years, and the one that runs comes on top.
    """

    years: tuple[int, int]
    from_january: bool
    own_rule: bool
    rows: tuple[str, ...]
    sources: tuple[str, ...]
    basis: int
    collected_tax: str

    def first_days(self, as_of: date) -> tuple[date, date]:
        """Give the first day looked at with the fewest years, and with the most."""
        end = as_of.replace(month=1, day=1) if self.from_january else as_of
        least, most = (plus_months(end, -years * MONTHS_A_YEAR) for years in self.years)
        return least, most


def look_back(assessment: Assessment, sums: PlaceSums) -> list[dict[str, Any]]:
    """Give the look-back of every place with a duty and a lack, in the order of the place codes."""
    return [
        _place(assessment, sums, code, quarters)
        for code in sums.codes
        if (quarters := lacking_quarters(sums, code))
    ]


def lacking_quarters(sums: PlaceSums, code: int) -> Quarters:
    """Give the quarters of a place in which something was to collect or collected under a duty; none without a lack."""
    if sums.first_duty(code) is None:
        return {}
    bound = {
        quarter: part
        for quarter, part in sums.quarters(code).items()
        if part["to_collect_low"]
        or part["to_collect_high"]
        or part["shortfall_high"]
        or part["collected_on_duty"]
    }
    return bound if any(part["shortfall_high"] for part in bound.values()) else {}


def _place(assessment: Assessment, sums: PlaceSums, code: int, quarters: Quarters) -> dict[str, Any]:
    """Build the part of one place."""
    currency, first = assessment.currency, sums.first_duty(code)
    return {
        "place": places.code(code),
        "name": places.name(places.code(code)),
        "duty_from": date_or_none(first.first.start.day) if first else None,
        "quarters": [_quarter(quarter, part, currency) for quarter, part in quarters.items()],
        "collected": write_amount(sum(part["collected_on_duty"] for part in quarters.values()), currency),
        "shortfall": _range({end: _lack(quarters, end) for end in ENDS}, currency),
        "disclosure": _disclosure(assessment, code, quarters),
        "basis": BASES[_basis(assessment, code)],
        "caution": CAUTION,
    }


def _basis(assessment: Assessment, code: int) -> int:
    """Give the weakest basis of what was to collect under a duty at a place, in the whole history."""
    terms = assessment.run.terms
    bound = (terms.placed.place == code) & (terms.duty == DUTY["collect"])
    return int(terms.collect.basis[bound].max(initial=0))


def _quarter(quarter: int, part: dict[str, int], currency: str) -> dict[str, Any]:
    """Build the part of one quarter."""
    ranges = {
        name: _range({end: part[name + SUFFIX[end]] for end in ENDS}, currency)
        for name in ("to_collect", "shortfall")
    }
    return {
        "quarter": quarter_name(quarter),
        "to_collect": ranges["to_collect"],
        "collected": write_amount(part["collected_on_duty"], currency),
        "shortfall": ranges["shortfall"],
        "caution": CAUTION,
    }


def _range(ends: dict[str, int], currency: str) -> dict[str, str]:
    """Write a range."""
    return {end: write_amount(ends[end], currency) for end in ENDS}


def _lack(quarters: Quarters, end: str, since: int = 0) -> int:
    """Add up one end of the lack of the quarters from one on."""
    return sum(part["shortfall" + SUFFIX[end]] for quarter, part in quarters.items() if quarter >= since)


def _disclosure(assessment: Assessment, code: int, quarters: Quarters) -> dict[str, Any] | None:
    """Give what a voluntary disclosure would start from; None where no look-back is held, as outside the United States.

    Where the years are a range, low goes with the fewest, expected and high with the most.
    """
    if places.regimes()[code] != places.US:
        return None
    window = usual_window(assessment.run.facts.tables, code, assessment.run.as_of)
    if window is None:
        return None
    fewest, most = window.first_days(assessment.run.as_of)
    since = {"low": quarter_of(fewest), **dict.fromkeys(("expected", "high"), quarter_of(most))}
    registered = registered_since(assessment, code) is not None
    return {
        "years": {"least": window.years[0], "most": window.years[1]},
        "plus_current_year": window.from_january,
        "from": most.isoformat(),
        "from_quarter": quarter_name(quarter_of(most)),
        "rule": "state" if window.own_rule else "usual",
        "shortfall": _range({end: _lack(quarters, end, since[end]) for end in ENDS}, assessment.currency),
        "words": [PRACTICE, *([REGISTERED] if registered else []), COLLECTED_TAX[window.collected_tax]],
        "basis": BASES[window.basis],
        "row_ids": " ".join(window.rows),
        "sources": list(window.sources),
        "own_rows": own_among(" ".join(window.rows)),
        "caution": CAUTION,
    }


def usual_window(tables: Tables, code: int, as_of: date) -> Window | None:
    """Find how far back a state usually looks on a day: by its own row, else by what is usual; None where neither is held.

    `us/voluntary_disclosure` (a state's `years`, the current year on top where it says so), `us/practice`.
    """
    table, day = tables["us/voluntary_disclosure"], number(as_of)
    row = _first(table.row(day, place=code), table.row(day, place=COUNTRY))
    ids = (str(table.row_ids(np.array([row]))[0]),) if row >= 0 else ()
    sources = tuple(table.sources(np.array([row])))
    collected_tax, own = str(table["collected_tax"][row]) or "not_stated", int(table["years"][row])
    if row >= 0 and own != NO_VALUE:
        from_january, basis = bool(table["plus_current_year"][row]), table.basis(np.array([row]), "years")
        return Window(
            years=(own, own),
            from_january=from_january,
            own_rule=True,
            rows=ids,
            sources=sources,
            basis=int(basis[0]),
            collected_tax=collected_tax,
        )
    table, asked = tables["us/practice"], {"practice": "look_back_years"}
    usual = np.array([_first(table.row(day, place=code, **asked), table.row(day, place=COUNTRY, **asked))])
    if usual[0] < 0:
        return None
    return Window(
        years=(int(table["least"][usual[0]]), int(table["most"][usual[0]])),
        from_january=False,
        own_rule=False,
        rows=(*ids, str(table.row_ids(usual)[0])),
        sources=(*sources, *table.sources(usual)),
        basis=int(table.basis(usual)[0]),
        collected_tax=collected_tax,
    )


def _first(own: int, common: int) -> int:
    """Give the row of the state, else that of all states."""
    return own if own >= 0 else common


def by_quarter(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Add up what the places of the look-back lack, by quarter, oldest first; `rows` is the look-back of the record.

    No lack is below nothing, so no place pays for another; the sum of the highs is an outer bound.
    """
    found: dict[str, dict[str, Any]] = {}
    for quarter, lack in ((one["quarter"], one["shortfall"]) for row in rows for one in row["quarters"]):
        so_far = found.setdefault(quarter, {"places": 0, **dict.fromkeys(ENDS, Decimal(0))})
        so_far["places"] += any(Decimal(amount) for amount in lack.values())
        for end in ENDS:
            so_far[end] += Decimal(lack[end])
    return [
        {
            "quarter": quarter,
            "places": sums["places"],
            "shortfall": {end: str(sums[end]) for end in ENDS},
            "caution": CAUTION,
        }
        for quarter, sums in sorted(found.items())
    ]
