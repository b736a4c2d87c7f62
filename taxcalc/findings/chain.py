"""What the chain of two sales brings up: documents, rulings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.findings.finding import Finding
from taxcalc.retail_base import COVERED, OFFSET, on_retail_price

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums

FREED_BY_DOCUMENT = (
    "us_fulfiller_document",
    "us_fulfiller_document_to_check",
    "us_fulfiller_replace_document",
)


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


def reports_of_fulfillers(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find states that free the fulfiller of a seller without their number only if it reports who bought and who received.

    A fact of the fulfiller's, in no file of the seller: said where such a document stood in the period, with no figure.
    """
    run, by_case = assessment.run, assessment.sums.by_case
    table, day = run.facts.tables["us/resale_rules"], run.facts.as_of_day
    held = np.isin(run.terms.fulfiller.reason, FREED_BY_DOCUMENT) & (by_case["lines"] > 0)
    where = set(run.terms.placed.place[held].tolist())
    found = []
    for code in sums.codes:
        row, place = table.row(day, place=code), places.code(code)
        asks = row >= 0 and bool(table["fulfiller_reports_buyers"][row])
        if asks and code in where and not run.facts.registered(place, day, "standard"):
            ids = str(table.row_ids(np.array([row]))[0])
            found.append(Finding("fulfiller_has_to_report", place, row_ids=ids))
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
