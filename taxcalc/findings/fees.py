"""Fees on deliveries, which are no tax and in no other figure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.findings.finding import Finding

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums


def fees_on_deliveries(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the fees that at least the high end takes as due; the amount is the expected one since the seller is bound."""
    _ = sums
    fees = assessment.run.fees
    totals, found = fees.sums(), []
    for seller in fees.sellers:
        expected, high = (totals[seller.place, seller.fee, "ever", end] for end in ("expected", "high"))
        if high[0]:
            first = min(
                span.first for mine, span in fees.spans if mine is seller and (span.sure or not expected[0])
            )
            ends = sorted({totals[seller.place, seller.fee, "ever", end][0] for end in ("low", "high")})
            orders = f"{' to '.join(map(str, ends))} orders"
            gaps = {"fee": seller.fee, "orders": orders, "since": to_day(first).isoformat()}
            found.append(Finding("delivery_fee", places.code(seller.place), expected[1], gaps))
    return found
