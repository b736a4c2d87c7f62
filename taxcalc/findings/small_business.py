"""What the small-business scheme brings up: limits near or passed, registrations without effect, and what it cannot do."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.days import day
from taxcalc.eu.small_business import NOT_USED, RULES, SCHEME, refusals, rule_row, use_on
from taxcalc.eu.small_business_cases import Exempt
from taxcalc.eu.small_business_rules import CEILING, LIMIT, UNION
from taxcalc.findings.finding import Finding
from taxcalc.findings.small_business_words import EFFECT, UNION_EFFECT, UNKNOWN_EFFECT, WHY_REFUSED
from taxcalc.money import write_money
from taxcalc.regime import DUTY
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.duties import ThresholdRow
    from taxcalc.facts import Facts
    from taxcalc.place_sums import PlaceSums

KINDS = (LIMIT, CEILING, UNION)


def small_business(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find everything that concerns the scheme."""
    facts = assessment.run.facts
    refused = [
        Finding("small_refused", places.code(state), None, {"why": WHY_REFUSED[why]})
        for state, why in refusals(facts)
    ]
    return [
        *_limits(assessment),
        *refused,
        *_beside_shops(facts),
        *_silent_profile(assessment),
        *_no_input_vat(assessment, sums),
    ]


def _limits(assessment: Assessment) -> list[Finding]:
    """Find limits passed, near or to be watched: of two limits of a state, the upper one only once the lower is passed.

    Once the Union's limit is passed, what is left of the limits of other states no longer matters.
    """
    rows = [row for row in assessment.sorted_thresholds if row.kind in KINDS and row.status != "clear"]
    passed = {(row.place, row.kind) for row in rows if row.status == "crossed"}
    facts = assessment.run.facts
    union_passed = (places.index("EU"), UNION) in passed
    told = [
        row
        for row in rows
        if not (row.kind == LIMIT and (row.place, CEILING) in passed)
        and not (row.kind == CEILING and (row.place, LIMIT) not in passed)
        and not (union_passed and row.kind != UNION and row.place != facts.home)
    ]
    return [Finding(_kind(row, facts.as_of_day), places.code(row.place), None, _gaps(row)) for row in told]


def _kind(row: ThresholdRow, as_of: int) -> str:
    """Name what a limit asks for."""
    if row.status != "crossed":
        return f"small_{row.status}"
    return "small_crossed_ahead" if row.duty_from is not None and row.duty_from > as_of else "small_crossed"


def _gaps(row: ThresholdRow) -> dict[str, str]:
    """Fill the gaps of a sentence about a limit."""
    effect = UNION_EFFECT if row.kind == UNION else EFFECT.get(row.effect, UNKNOWN_EFFECT)
    since = row.duty_from
    return {
        "limit": write_money(row.limit, row.currency),
        "where": " in every member state but your own" if row.kind == UNION else "",
        "share": f"{row.share_tenths // 10}",
        "effect": effect,
        "when": f" on {day(row.crossed.day)}" if row.crossed else "",
        "since": "then" if since is None else str(day(since)),
        "before": "then" if since is None else str(day(since - 1)),
    }


def _beside_shops(facts: Facts) -> list[Finding]:
    """Find the scheme at home beside a one-stop shop on the day of the review."""
    at = facts.as_of_day
    if not facts.registered(facts.seller.country, at, SCHEME) or use_on(facts.home, at, facts) == NOT_USED:
        return []
    found = [Finding("small_oss", "EU")] if facts.registered("EU", at, "union_oss") else []
    table = facts.tables["eu/scheme_rules"]
    row = table.row(at, place=places.index("EU"), subject="ioss", rule="beside_small_business")
    if row >= 0 and table["answer"][row] == "no" and facts.registered("EU", at, "ioss"):
        since = str(day(int(table["valid_from"][row])))
        found.append(Finding("small_ioss", "EU", None, {"since": since}))
    return found


def _silent_profile(assessment: Assessment) -> list[Finding]:
    """Find a home state whose scheme may hold, or could be applied for, where the profile names no registration there."""
    facts, home = assessment.run.facts, places.code(assessment.run.facts.home)
    row = rule_row(facts.home, facts.as_of_day, facts)
    table = facts.tables[RULES]
    if row < 0 or table["amount"][row] == NO_VALUE:
        return []
    gaps = {"limit": write_money(int(table["amount"][row]), str(table["currency"][row]))}
    terms = assessment.run.terms
    taxed = (terms.duty == DUTY["collect"]) & (terms.regime == places.EU)
    possible = taxed & Exempt(terms.cases, terms.placed, facts).possible
    if possible.any():
        in_period = int(assessment.sums.by_case["to_collect"][possible].sum())
        return [Finding("small_possible", home, in_period or None, gaps)]
    sold = any(row.place == facts.home and row.kind in KINDS for row in assessment.threshold_rows)
    silent = not any(home in (r.place, r.identified_in) for r in facts.seller.registrations)
    on_request = bool(table["on_request"][row]) and silent and not sold
    return [Finding("small_on_request", home, None, gaps)] if on_request else []


def _no_input_vat(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the fulfiller's VAT on exempt sales of the period, which the seller bears (art. 289)."""
    _ = sums
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    exempt = (terms.duty == DUTY["exempt_small_business"]) & (by_case["lines"] > 0)
    found = []
    for code in np.unique(terms.placed.place[exempt]).tolist():
        cost = int(by_case["fulfiller_tax"][exempt & (terms.placed.place == code)].sum())
        if cost > 0:
            found.append(Finding("small_no_input_vat", places.code(code), cost))
    return found
