"""What the record shows of samples: the use tax that may be owed on goods the seller ordered for itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import quarter_name
from taxcalc.money import write_amount
from taxcalc.purchases.own_use import SLOTS

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment

ENDS = ("low", "expected", "high")


class SampleTax(NamedTuple):
    """Use tax of one place and slot: place code, quarter number, whether in the period, lines, and the three ends."""

    place: int
    quarter: int
    inside: bool
    lines: int
    low: int
    expected: int
    high: int


def sample_taxes(assessment: Assessment) -> list[SampleTax]:
    """Give the sums by place code and quarter; what is nothing even at the high end is left out."""
    sums = assessment.sums.own_use
    rows = zip(*(column.tolist() for column in sums), strict=True)
    found = [
        SampleTax(key // SLOTS, key % SLOTS // 2, bool(key % 2), *rest) for key, *rest in rows if rest[-1] > 0
    ]
    return sorted(found, key=lambda row: (places.code(row.place), row.quarter, row.inside))


def use_tax_on_samples(assessment: Assessment) -> dict[str, Any]:
    """Give the part `use_tax_on_samples` of the record: by place, the period, the whole history and its quarters."""
    rows = sample_taxes(assessment)
    codes = list(dict.fromkeys(row.place for row in rows))
    return {
        "use_tax_on_samples": [
            _place(assessment, code, [row for row in rows if row.place == code]) for code in codes
        ]
    }


def _place(assessment: Assessment, code: int, rows: list[SampleTax]) -> dict[str, Any]:
    """Write one place."""
    currency = assessment.currency
    inside = [row for row in rows if row.inside]
    quarters = list(dict.fromkeys(row.quarter for row in rows))
    return {
        "place": places.code(code),
        "name": places.name(places.code(code)),
        "lines": sum(row.lines for row in inside),
        "use_tax": _ends(inside, currency),
        "use_tax_of_history": _ends(rows, currency),
        "quarters": [
            {
                "quarter": quarter_name(quarter),
                "lines": sum(row.lines for row in rows if row.quarter == quarter),
                "use_tax": _ends([row for row in rows if row.quarter == quarter], currency),
                "caution": CAUTION,
            }
            for quarter in quarters
        ],
        "caution": CAUTION,
    }


def _ends(rows: list[SampleTax], currency: str) -> dict[str, str]:
    """Write the three ends."""
    return {end: write_amount(sum(getattr(row, end) for row in rows), currency) for end in ENDS}
