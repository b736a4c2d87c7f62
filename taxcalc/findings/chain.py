"""What the chain of two sales and the Union bring up: registrations, transport, documents, rulings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.eu.place import of_fulfiller
from taxcalc.facts import DISTANCE_SALES, OPEN
from taxcalc.findings.finding import Finding
from taxcalc.reasons import BY_ONE_STOP_SHOP, LOCAL_REGISTRATION
from taxcalc.retail_base import COVERED, OFFSET, on_retail_price

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums


def union(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find what sellers into the Union most often do not know: registrations they need, no relief, contradictions."""
    _ = sums
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    found = []
    for reasons, kind in ((LOCAL_REGISTRATION, "local_registration"), (BY_ONE_STOP_SHOP, "one_stop_shop")):
        of_kind = np.isin(terms.collect.reason, reasons) & (by_case["lines"] > 0)
        cases = of_kind & (assessment.run.served == OPEN)
        for code in np.unique(terms.placed.place[cases]).tolist():
            at = cases & (terms.placed.place == code)
            found.append(Finding(kind, places.code(code), int(by_case["to_collect"][at].sum())))
    outside = not assessment.run.facts.established_member_states
    if outside and any(finding.kind == "one_stop_shop" for finding in found):
        found.append(Finding("no_union_limit", "EU"))
    return [*found, *_one_stop_shop_contradiction(assessment)]


def _one_stop_shop_contradiction(assessment: Assessment) -> list[Finding]:
    """Find a Union one-stop-shop registration below the limit without the choice to be taxed on arrival."""
    run, code = assessment.run, places.index("EU")
    day = run.facts.as_of_day
    below = any(row.kind == DISTANCE_SALES and row.duty_from is None for row in assessment.sorted_thresholds)
    chosen = run.duties.holding(code, day, "election", "threshold")
    registered = run.facts.registered("EU", day, "union_oss")
    return [Finding("contradiction", "EU")] if below and registered and not chosen else []


def open_transport(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the sum that hangs on which of the two sales the transport belongs to.

    Where the fulfiller has no number of the seller nothing hangs on it now; the choice is open all the same.
    """
    _ = sums
    run, by_case = assessment.run, assessment.sums.by_case
    terms = run.terms
    unset = of_fulfiller(terms.cases, run.facts, "transport_supply") == "unset"
    stake = int(by_case["fulfiller_tax_high"][terms.fulfiller.reason == "eu_fulfiller_transport_open"].sum())
    without = unset & (terms.fulfiller.reason == "eu_fulfiller_no_number") & (by_case["lines"] > 0)
    return [
        *([Finding("transport_open", "EU", stake)] if stake else []),
        *([Finding("transport_open_no_number", "EU")] if without.any() else []),
    ]


def fulfiller_side(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find tax of the fulfiller that a document would have avoided, documents to replace, and tax that may be set off."""
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    to_replace = (terms.fulfiller.reason == "us_fulfiller_replace_document") & (by_case["lines"] > 0)
    on_retail, covered = (on_retail_price(assessment, duty) for duty in (OFFSET, COVERED))
    found = [
        Finding("covered_by_fulfiller", places.code(code), part["fulfiller_tax_charged"])
        for code, part in covered.items()
    ]
    for code in sums.codes:
        charged = on_retail[code]["fulfiller_tax_charged"] if code in on_retail else 0
        if charged > 0:
            found.append(Finding("possible_offset", places.code(code), charged))
        avoidable = sums.period(code)["fulfiller_tax_avoidable"]
        if avoidable > 0:
            found.append(Finding("avoidable", places.code(code), avoidable))
        stale = to_replace & (terms.placed.place == code)
        if stale.any():
            stake = int(by_case["fulfiller_tax_high"][stale].sum())
            found.append(Finding("replace_document", places.code(code), stake))
    return found


def below_threshold_rulings(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find states whose rulings make a drop-shipping seller collect below the threshold: flagged, never added."""
    table = assessment.run.facts.tables["us/resale_rules"]
    found = []
    for code in sums.codes:
        row = table.row(assessment.run.facts.as_of_day, place=code)
        ruled = row >= 0 and bool(table["seller_may_owe_below_threshold"][row])
        if ruled and sums.period(code)["lines"] and sums.duty(code) is None:
            found.append(Finding("below_threshold_ruling", places.code(code)))
    return found
