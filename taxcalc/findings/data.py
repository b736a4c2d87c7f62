"""What the files and the profile leave open."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.days import number
from taxcalc.findings.finding import Finding

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums

AMOUNT_OF = {"refunds_above_sale": "refunded_beyond_sale"}
"""Where the amount stands that belongs to a count."""

FACILITATORS = {
    "us_before_facilitator_law": "no_facilitator_law",
    "us_facilitator_by_election": "facilitator_by_election",
}
"""What is found where a sale through a marketplace is the seller's own, by the reason."""


def without_rules(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find sales to places for which nothing is held here, and lines whose place could not be read."""
    _ = assessment
    found = []
    for code in sums.codes:
        period = sums.period(code)
        unknown = code == places.index("unknown")
        if period["lines"] and (unknown or places.regimes()[code] >= places.ELSEWHERE):
            kind = "unknown_place" if unknown else "no_rules"
            found.append(Finding(kind, places.code(code), period["sales"]))
    return found


def data(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find what the files leave open: rows set aside, refunds without a sale, days that could fall elsewhere."""
    _ = sums
    run = assessment.run
    counts = {**assessment.sums.counts, "set_aside": run.intake.tie_out.rows_set_aside}
    found = [
        Finding(kind, "", counts.get(AMOUNT_OF.get(kind, "")), {"count": str(counts[kind])})
        for kind in (
            "set_aside",
            "fulfiller_price_unknown",
            "refunds_above_sale",
            "refunds_without_sale",
            "near_quarter_end",
            "near_rate_change",
            "near_holiday",
        )
        if counts[kind]
    ]
    if run.period[1] > run.as_of:
        found.append(
            Finding("period_not_over", "", None, {"last": str(run.period[1]), "as_of": str(run.as_of)})
        )
    if any(row.incomplete for row in assessment.threshold_rows):
        found.append(Finding("history_begins_late"))
    found += [Finding("prior_sales_overlap", place) for place in _reaching_into_files(assessment)]
    for reason, kind in FACILITATORS.items():
        cases = (run.terms.collect.reason == reason) & (assessment.sums.by_case["lines"] > 0)
        codes = np.unique(run.terms.placed.place[cases]).tolist()
        found += [Finding(kind, places.code(code)) for code in codes]
    return found


def _reaching_into_files(assessment: Assessment) -> list[str]:
    """List the places whose sales before the files, by the profile, end on or after their first order in the files."""
    ends: dict[str, int] = {}
    for prior in assessment.run.seller.prior_sales:
        ends[prior.place] = max(ends.get(prior.place, 0), number(prior.until_day))
    first = {place: assessment.run.totals.of(places.index(place)).day for place in sorted(ends)}
    return [place for place, days in first.items() if days.size and int(days.min()) <= ends[place]]
