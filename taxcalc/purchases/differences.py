"""What the record shows of invoices that do not fit: what was charged against what may be charged."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.days import quarter_name
from taxcalc.money import write_amount
from taxcalc.purchases.claims import NOT_HELD, last_day_to_ask
from taxcalc.purchases.compared import DIFFERENCES, Difference, differences
from taxcalc.terms import regime_name

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment

OF_ALL_TIMES = ("document_on_file", "credit_short")
"""Kinds that can be asked back whatever the period, as long as the state's limit allows it."""
ASKED_BACK = (*OF_ALL_TIMES, "more")


def by_place_and_kind(assessment: Assessment) -> list[tuple[str, str, list[Difference]]]:
    """Give place, kind and the sums behind them by quarter, in the order of kinds and places.

    The whole history counts for what can be asked back; the other kinds are those of the period reviewed.
    """
    rows = [row for row in differences(assessment.sums.compared) if row.inside or row.kind in OF_ALL_TIMES]

    def order(row: Difference) -> tuple[int, str]:
        return DIFFERENCES.index(row.kind), places.code(row.place)

    grouped = groupby(sorted(rows, key=order), key=order)
    return [(code, DIFFERENCES[kind], list(part)) for (kind, code), part in grouped]


def lost(assessment: Assessment, part: list[Difference]) -> int:
    """Add up what can no longer be asked back, because its state's last day has passed (minor units): a final cost."""
    return sum(row.amount for row in part if _too_late(assessment, row))


def _too_late(assessment: Assessment, row: Difference) -> bool:
    """Tell whether it is too late to ask for one sum; not where no limit is held, or nothing is to be asked for."""
    last = last_day_to_ask(assessment.run.facts, row.place, row.quarter)
    return row.kind in ASKED_BACK and last is not None and last.passed(assessment.run.as_of)


def charged_against_expected(assessment: Assessment) -> dict[str, Any]:
    """Give the part `charged_against_expected` of the record: by kind and place, with quarters; amounts decimal texts.

    `too_late` is the part of the amount for which the last day to ask has passed.
    """
    return {
        "charged_against_expected": [
            {
                "place": code,
                "name": places.name(code),
                "regime": regime_name(places.index(code)),
                "kind": kind,
                "amount": write_amount(sum(row.amount for row in part), assessment.currency),
                "too_late": write_amount(lost(assessment, part), assessment.currency),
                "lines": sum(row.lines for row in part),
                "quarters": _quarters(assessment, part),
                "caution": CAUTION,
            }
            for code, kind, part in by_place_and_kind(assessment)
        ]
    }


def _quarters(assessment: Assessment, part: list[Difference]) -> list[dict[str, Any]]:
    """Write the sums of each quarter, with the last day to ask where the kind can be asked back."""
    found = []
    for quarter, rows in groupby(part, key=lambda row: row.quarter):
        each = list(rows)
        last = last_day_to_ask(assessment.run.facts, each[0].place, quarter)
        found.append(
            {
                "quarter": quarter_name(quarter),
                "amount": write_amount(sum(row.amount for row in each), assessment.currency),
                "lines": sum(row.lines for row in each),
                **(last.shown() if last and each[0].kind in ASKED_BACK else NOT_HELD),
                "too_late": _too_late(assessment, each[0]),
                "caution": CAUTION,
            }
        )
    return found
