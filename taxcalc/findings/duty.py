"""Duties, thresholds, the three shortfalls and unconfirmed facts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import day
from taxcalc.facts import OPEN
from taxcalc.findings.finding import Finding
from taxcalc.regime import DUTY
from taxcalc.remitted import not_evidenced, unmatched
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.duties import ThresholdRow
    from taxcalc.place_sums import PlaceSums

UNCONFIRMED = BASES.index("unconfirmed")
GENERAL = ("economic_nexus", "distance_sales")
"""Kinds of thresholds with the words used here; those of the small-business scheme have words of their own."""
AT_THE_BORDER = (
    " Parcels came here from outside the Union, whose customers may be asked for import VAT on delivery, whatever you "
    "charged them."
)


def past_duty(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find duties in the past without a registration, or before it, and what a registered seller lacks from before.

    Where a registration serves a part of the sales of a place, each part is named with its own lack.
    """
    found = []
    for code in sums.codes:
        duty, history, period = sums.duty(code), sums.history(code), sums.period(code)
        lacking, earlier = history["shortfall"], history["shortfall"] - period["shortfall"]
        if duty is None or lacking <= 0:
            continue
        since = registered_since(assessment, code)
        if duty.first.cause != "registration":
            unserved = lacking if since is None else min(history["shortfall_unserved"], lacking)
            if unserved > 0:
                found.append(Finding("past_duty", places.code(code), unserved))
                lacking -= unserved
                earlier = min(earlier, lacking)
            if since is not None and since > duty.first.start.day and lacking > 0:
                found.append(Finding("duty_before_registration", places.code(code), lacking))
                continue
        if earlier > 0:
            found.append(Finding("not_collected_earlier", places.code(code), earlier))
    return found


def registered_since(assessment: Assessment, code: int) -> int | None:
    """Give the day from which registrations held on the day of the review serve the sales of a place that they can serve.

    None where they serve none of its taxed sales.
    """
    terms, since = assessment.run.terms, assessment.run.served
    taxed = (terms.duty == DUTY["collect"]) | (terms.duty == DUTY["exempt_goods"])
    served = taxed & (terms.placed.place == code) & (since < OPEN)
    return int(since[served].max()) if served.any() else None


def thresholds(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find thresholds that were crossed, are near, or should be watched."""
    _ = sums
    rows = [row for row in assessment.sorted_thresholds if row.kind in GENERAL and row.status != "clear"]
    return [Finding(_kind(assessment, row), places.code(row.place), None, _gaps(row)) for row in rows]


def _kind(assessment: Assessment, row: ThresholdRow) -> str:
    """Name what a threshold asks for: a crossed one may bind, bind later, bind nobody, or find the seller registered."""
    facts = assessment.run.facts
    if row.status != "crossed":
        return row.status
    if row.duty_from is None:
        return "crossed_without_duty"
    if facts.registered(places.code(row.place), facts.as_of_day, "standard", "union_oss"):
        return "crossed_registered"
    return "crossed_ahead" if row.duty_from > facts.as_of_day else "crossed"


def _gaps(row: ThresholdRow) -> dict[str, str]:
    """Fill the gaps of a sentence about a threshold."""
    return {
        "when": f" on {day(row.crossed.day)}" if row.crossed else "",
        "since": str(day(row.duty_from)) if row.duty_from is not None else "",
        "share": f"{row.share_tenths // 10}",
        "measure": "number of sales" if row.measure == "transactions" else "amount of sales",
    }


def shortfalls(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the three shortfalls, one by one."""
    found: list[Finding] = []
    terms, lines = assessment.run.terms, assessment.sums.by_case["lines"]
    imported = set(terms.placed.place[(terms.duty == DUTY["import_at_border"]) & (lines > 0)].tolist())
    for code in sums.codes:
        name, period = places.code(code), sums.period(code)
        lacking, without = period["shortfall"], period["collected_without_duty"]
        found += [Finding("not_collected", name, lacking)] if lacking > 0 else []
        gaps = {"border": AT_THE_BORDER if code in imported else ""}
        found += [Finding("collected_without_duty", name, without, gaps)] if without > 0 else []
    not_paid = not_evidenced(assessment, sums)
    return [
        *found,
        *(Finding("remittance_not_evidenced", places.code(code), gap) for code, gap in not_paid.items()),
    ]


def unmatched_payments(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find what the profile shows as paid over for days in which no sale of the files stands under a duty."""
    return [
        Finding("payment_unmatched", places.code(code), amount)
        for code, amount in unmatched(assessment, sums).items()
    ]


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
