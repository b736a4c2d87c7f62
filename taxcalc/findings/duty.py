"""Duties, thresholds, the three shortfalls and unconfirmed facts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import day, number
from taxcalc.findings.finding import Finding
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.duties import ThresholdRow
    from taxcalc.place_sums import PlaceSums

UNCONFIRMED = BASES.index("unconfirmed")


def past_duty(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find duties in the past without a registration, or before it."""
    found = []
    for code in sums.codes:
        duty, lacking = sums.duty(code), sums.history(code)["shortfall"]
        if duty is None or duty.cause == "registration" or lacking <= 0:
            continue
        since = registered_since(assessment, code)
        if since is None:
            found.append(Finding("past_duty", places.code(code), lacking))
        elif since > duty.start.day:
            found.append(Finding("duty_before_registration", places.code(code), lacking))
    return found


def registered_since(assessment: Assessment, code: int) -> int | None:
    """Give the first day of the registrations that fit a place and hold on the day of the review, None without one.

    A place of the Union is also served by the one-stop shops.
    """
    facts = assessment.run.facts
    here = [places.code(code), places.code(int(places.countries()[code]))]
    held = [
        r
        for place in here
        for r in facts.registrations_on(place, facts.as_of_day, "standard", "small_business")
    ]
    if places.regimes()[code] == places.EU:
        held += facts.registrations_on("EU", facts.as_of_day, "union_oss", "non_union_oss", "ioss")
    return min((number(r.from_day) for r in held), default=None)


def thresholds(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find thresholds that were crossed, are near, or should be watched."""
    _ = sums
    rows = [row for row in assessment.sorted_thresholds if row.status != "clear"]
    return [Finding(row.status, places.code(row.place), None, _gaps(row)) for row in rows]


def _gaps(row: ThresholdRow) -> dict[str, str]:
    """Fill the gaps of a sentence about a threshold."""
    return {
        "when": f" on {day(row.crossed.day)}" if row.crossed else "",
        "since": f" since {day(row.duty_from)}" if row.duty_from is not None else "",
        "share": f"{row.share_tenths // 10}",
        "measure": "number of sales" if row.measure == "transactions" else "amount of sales",
    }


def shortfalls(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the three shortfalls, one by one."""
    _ = assessment
    found = []
    for code in sums.codes:
        name, period = places.code(code), sums.period(code)
        found += [
            Finding(kind, name, amount)
            for kind, amount in (
                ("not_collected", period["shortfall"]),
                ("collected_without_duty", period["collected_without_duty"]),
            )
            if amount > 0
        ]
    return [*found, *_not_evidenced(sums)]


def _not_evidenced(sums: PlaceSums) -> list[Finding]:
    """Find tax collected under a duty that the profile does not show as paid over.

    What was paid through the Union's one-stop shops is not given by member state, so it is held against all of them.
    """
    gaps = {code: sums.history(code)["collected_on_duty"] - sums.remitted(code) for code in sums.codes}
    gaps = {code: gap for code, gap in gaps.items() if gap > 0}
    by_shop = sums.remitted_to_union
    if by_shop:
        union = [code for code in gaps if places.regimes()[code] == places.EU]
        left = sum(gaps.pop(code) for code in union) - by_shop
        gaps |= {places.index("EU"): left} if left > 0 else {}
    return [Finding("remittance_not_evidenced", places.code(code), gap) for code, gap in gaps.items()]


def unconfirmed(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find figures of the period, and thresholds not clear, that rest on facts from memory."""
    found = []
    for code in sums.codes:
        weakest = sums.weakest(code)
        if weakest.doubtful_tax:
            rows = {"rows": ", ".join(weakest.doubtful_rows)}
            found.append(Finding("unconfirmed", places.code(code), weakest.doubtful_tax, rows))
    shown: dict[int, ThresholdRow] = {}
    for row in assessment.sorted_thresholds:
        if row.basis == UNCONFIRMED and row.status != "clear":
            shown.setdefault(row.place, row)
    for code, row in shown.items():
        rows = {"rows": row.row_ids.replace(" ", ", ")}
        found.append(Finding("unconfirmed_threshold", places.code(code), None, rows))
    return found
