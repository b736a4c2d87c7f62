"""What the purchases from the fulfiller bring up: charges that do not fit, goods for oneself, the document worth most."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import first_of_quarter, number
from taxcalc.facts import OPEN
from taxcalc.findings.finding import Finding
from taxcalc.purchases.differences import by_place_and_kind, lost
from taxcalc.purchases.samples import sample_taxes
from taxcalc.purchases.worth import actions, state_worths
from taxcalc.us.asked_for import MULTIJURISDICTION, OWN_NUMBER, REGISTRATION, STATE, STREAMLINED
from taxcalc.us.documents import works

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums
    from taxcalc.seller import Certificate

FORMS = {
    STREAMLINED: "the Streamlined certificate",
    MULTIJURISDICTION: "the multijurisdiction resale certificate",
    STATE: "the state's own form",
    OWN_NUMBER: "a document with your number of the state itself",
}


def document_worth(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the document that would have saved most in a year, of those that need no new registration."""
    _ = sums
    ranked = [action for action in actions(state_worths(assessment)) if action.needs != REGISTRATION]
    if not ranked:
        return []
    best = ranked[0]
    names = [places.name(places.code(state.place)) for state in best.states]
    words = names[0] if len(names) == 1 else f"{len(names)} states"
    gaps = {"form": FORMS[best.form], "states": words}
    return [Finding("document_worth", "", best.saved, gaps)]


KINDS_OF_CHARGE = {
    "document_on_file": "charged_with_document",
    "credit_short": "credit_short",
    "more": "charged_more",
    "less": "charged_less",
    "not_charged": "charged_nothing",
    "credit_unsaid": "credit_unsaid",
}


def charges(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find charges of the fulfiller that documents, rates and rules do not explain; not what can no longer be asked back."""
    _ = sums
    found = []
    for code, kind, part in by_place_and_kind(assessment):
        amount = sum(row.amount for row in part) - lost(assessment, part)
        if amount:
            found.append(Finding(_kind_of_charge(code, kind), code, amount))
    return found


def _kind_of_charge(code: str, kind: str) -> str:
    """Name the finding; VAT on an exempt sale is corrected, not credited."""
    union = places.regimes()[places.index(code)] == places.EU
    return "vat_charged_on_exempt_sale" if union and kind == "document_on_file" else KINDS_OF_CHARGE[kind]


def samples(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find use tax that may be owed on the samples of the period, and samples of which the charge is not known."""
    _ = sums
    found = []
    for row in sample_taxes(assessment):
        if row.inside and row.expected:
            found.append(Finding("use_tax_on_samples", places.code(row.place), row.expected))
        elif row.inside:
            found.append(Finding("use_tax_unknown", places.code(row.place), row.high))
    return found


def documents_running_out(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find states with sales in the period whose last document ends by the end of the next quarter, or has ended.

    A document ends on the day the profile names, else by the state's own rule. Documents that the state does not take end
    nothing and stand in for none; each fulfiller of the period needs one of its own.
    """
    facts, as_of = assessment.run.facts, assessment.run.as_of
    soon = number(first_of_quarter(as_of, 2))
    found = []
    for code in sums.codes:
        last = _first_to_end(assessment, code) if places.regimes()[code] == places.US else None
        if last is not None and last < soon:
            ends = "ran out on" if last < facts.as_of_day else "runs out on"
            gaps = {"ends": ends, "day": str(to_day(last))}
            found.append(Finding("document_runs_out", places.code(code), None, gaps))
    return found


def _first_to_end(assessment: Assessment, code: int) -> int | None:
    """Give the day on which the first fulfiller with sales to a place is left without a document; None where none had one."""
    facts, cases = assessment.run.facts, assessment.run.terms.cases
    used = (cases.destination == code) & (assessment.sums.by_case["lines"] > 0)
    lasts = []
    for fulfiller in np.unique(cases.fulfiller[used]).tolist():
        papers = [
            paper
            for paper in facts.seller.certificates
            if paper.fulfiller == facts.fulfillers[fulfiller] and works(paper, code, facts.as_of_day, facts)
        ]
        lasts += [max(_last_day(assessment, paper, code) for paper in papers)] if papers else []
    return min(lasts, default=None)


def _last_day(assessment: Assessment, paper: Certificate, code: int) -> int:
    """Give the last day on which a document works at a place; OPEN where no day is held."""
    if paper.until_day is not None:
        return number(paper.until_day)
    last = assessment.run.facts.last_day_of(paper, code)
    return OPEN if last is None else last
