"""What the record shows of invoices that do not fit: what was charged against what may be charged."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import number, quarter_days, quarter_name
from taxcalc.money import write_amount
from taxcalc.purchases.compared import DIFFERENCES, Difference, differences
from taxcalc.purchases.split import ask_by
from taxcalc.terms import regime_name

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment


def by_place_and_kind(assessment: Assessment) -> list[tuple[str, str, list[Difference]]]:
    """Give place, kind and the sums behind them by quarter, in the order of kinds and places.

    The whole history counts for what was charged with a document on file, which can be asked back; the other kinds are
    those of the period reviewed. What a refund took back whole is left out.
    """
    rows = [
        row for row in differences(assessment.sums.compared) if row.inside or row.kind == "document_on_file"
    ]

    def order(row: Difference) -> tuple[int, str]:
        return DIFFERENCES.index(row.kind), places.code(row.place)

    grouped = [
        (code, DIFFERENCES[kind], list(part))
        for (kind, code), part in groupby(sorted(rows, key=order), key=order)
    ]
    return [(code, kind, part) for code, kind, part in grouped if sum(row.amount for row in part) > 0]


def charged_against_expected(assessment: Assessment) -> dict[str, Any]:
    """Give the part `charged_against_expected` of the record: by kind and place, with quarters; amounts decimal texts."""
    return {
        "charged_against_expected": [
            {
                "place": code,
                "name": places.name(code),
                "regime": regime_name(places.index(code)),
                "kind": kind,
                "amount": write_amount(sum(row.amount for row in part), assessment.currency),
                "lines": sum(row.lines for row in part),
                "quarters": _quarters(assessment, part),
                "caution": CAUTION,
            }
            for code, kind, part in by_place_and_kind(assessment)
        ]
    }


def _quarters(assessment: Assessment, part: list[Difference]) -> list[dict[str, Any]]:
    """Write the sums of each quarter; `ask_by` is the last day to ask the state for a refund, where one is held."""
    found = []
    for quarter, rows in groupby(part, key=lambda row: row.quarter):
        of_quarter = list(rows)
        name = quarter_name(quarter)
        by = ask_by(assessment.run.facts, of_quarter[0].place, number(quarter_days(name)[0]))
        found.append(
            {
                "quarter": name,
                "amount": write_amount(sum(row.amount for row in of_quarter), assessment.currency),
                "lines": sum(row.lines for row in of_quarter),
                "ask_by": by.isoformat()
                if by and of_quarter[0].kind in ("document_on_file", "more")
                else None,
                "caution": CAUTION,
            }
        )
    return found
