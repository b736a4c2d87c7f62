"""What the purchases from the fulfiller bring up: charges that do not fit, goods for oneself, the document worth most."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import quarter_name
from taxcalc.findings.finding import Finding
from taxcalc.purchases.differences import by_place_and_kind
from taxcalc.purchases.samples import sample_taxes
from taxcalc.purchases.worth import actions, state_worths
from taxcalc.us.asked_for import MULTIJURISDICTION, OWN_NUMBER, REGISTRATION, STATE, STREAMLINED

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums

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
    "more": "charged_more",
    "less": "charged_less",
    "not_charged": "charged_nothing",
}


def charges(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find charges of the fulfiller that the document on file, or the rates and rules held, do not explain."""
    _ = sums
    found = []
    for code, kind, part in by_place_and_kind(assessment):
        quarters = ", ".join(dict.fromkeys(quarter_name(row.quarter) for row in part))
        gaps = {"lines": str(sum(row.lines for row in part)), "quarters": quarters}
        found.append(Finding(KINDS_OF_CHARGE[kind], code, sum(row.amount for row in part), gaps))
    return found


def samples(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find use tax that may be owed on the samples of the period, and samples of which the charge is not known."""
    _ = sums
    found = []
    for row in sample_taxes(assessment):
        if row.inside:
            kind, amount = (
                ("use_tax_on_samples", row.expected) if row.expected else ("use_tax_unknown", row.high)
            )
            found.append(Finding(kind, places.code(row.place), amount, {"lines": str(row.lines)}))
    return found
