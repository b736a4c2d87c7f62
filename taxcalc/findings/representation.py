"""Registrations that a seller needs in the Union, and whether it needs a representative (or an intermediary) for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.eu.numbers import standard_states
from taxcalc.eu.place import Situation, member_state
from taxcalc.eu.representation import IMPORTS, LOCAL, Answer, representation
from taxcalc.facts import OPEN
from taxcalc.findings.finding import Finding
from taxcalc.findings.union_chain import FROM_MEMORY
from taxcalc.reasons import LOCAL_REGISTRATION

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.eu.representation import Representation
    from taxcalc.place_sums import PlaceSums

WORDS = {
    Answer.REQUIRED: "To register here a seller established in {country} needs a fiscal representative{liable}.",
    Answer.FREED: "A seller established in {country} needs no fiscal representative to register here (mutual assistance in "
    "tax matters); it may appoint one.",
    Answer.NOT_ASKED: "This state asks a seller from outside the Union for no fiscal representative: you register yourself.",
    Answer.OPTIONAL: "A seller established in the Union needs no fiscal representative to register here; it may appoint one.",
    Answer.ON_NOTICE: "A seller established in {country} needs a fiscal representative here only if the tax office asks for one"
    "{liable}.",
    Answer.IN_SOME_CASES: "A seller established in {country} needs a fiscal representative here in some cases only: ask the tax "
    "office.",
    Answer.UNCLEAR: "Whether a seller established in {country} needs a fiscal representative to register here is not known.",
}
INTERMEDIARY = {
    Answer.REQUIRED: "For the import one-stop shop a seller established in {country} needs an intermediary established in the "
    "Union{liable}.",
    Answer.FREED: "For goods sent from {country} itself a seller established there needs no intermediary for the import one-stop "
    "shop; for goods sent from elsewhere it does.",
    Answer.OPTIONAL: "For the import one-stop shop a seller established in the Union needs no intermediary; it may appoint one.",
}
LIABLE = {"yes": ", who is liable for the VAT too", "no": ", who is not liable for the VAT"}
IMPORT_SITUATIONS = (Situation.IMPORT_LOW_VALUE,)


def representatives(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find, for each member state in which a registration is needed, whether a representative is; and for imports."""
    _ = sums
    facts = assessment.run.facts
    found = [*_where_goods_leave(assessment), *_exempt_sales(assessment)]
    needed = sorted({*_needed_on_arrival(assessment), *(places.index(one.place) for one in found)})
    for code in needed:
        answer = representation(code, LOCAL, facts.as_of_day, facts)
        gaps = _gaps(assessment, answer, WORDS)
        found.append(Finding("fiscal_representative", places.code(code), None, gaps, answer.row_ids))
    return [*found, *_intermediary(assessment)]


def _needed_on_arrival(assessment: Assessment) -> list[int]:
    """Give the states with sales of the period that ask for a registration on the spot, and have none."""
    run = assessment.run
    local = np.isin(run.terms.collect.reason, LOCAL_REGISTRATION) & (assessment.sums.by_case["lines"] > 0)
    found: list[int] = np.unique(run.terms.placed.place[local & (run.served == OPEN)]).tolist()
    return found


def _where_goods_leave(assessment: Assessment) -> list[Finding]:
    """Find the states of dispatch in which a seller from outside could register for the Union one-stop shop."""
    run, by_case = assessment.run, assessment.sums.by_case
    facts, terms = run.facts, run.terms
    if facts.established_member_states or facts.registered("EU", facts.as_of_day, "union_oss"):
        return []
    moved = (terms.placed.situation == Situation.DISTANCE) & (terms.billed_by == places.EU)
    moved &= (by_case["lines"] > 0) & facts.eu_states[terms.billed_in]
    found = []
    for code in np.unique(terms.billed_in[moved]).tolist():
        name = places.code(code)
        if code not in standard_states(facts.as_of_day, facts):
            stake = int(by_case["to_collect"][moved & (terms.billed_in == code)].sum())
            found.append(Finding("register_where_goods_leave", name, stake))
    return found


def _exempt_sales(assessment: Assessment) -> list[Finding]:
    """Find the states from which exempt sales to businesses leave although the seller has no number there (art. 138)."""
    run, by_case = assessment.run, assessment.sums.by_case
    terms, facts = run.terms, run.facts
    exempt = (terms.collect.reason == "eu_intra_community") & (by_case["lines"] > 0)
    found = []
    for code in np.unique(terms.placed.place[exempt]).tolist():
        state = int(member_state(np.array([code], np.int16), facts)[0])
        if state not in standard_states(facts.as_of_day, facts):
            stake = int(by_case["to_collect_high"][exempt & (terms.placed.place == code)].sum())
            found.append(Finding("exempt_sales_from_here", places.code(state), stake))
    return found


def _intermediary(assessment: Assessment) -> list[Finding]:
    """Find whether the import scheme asks for an intermediary, where low-value imports were sold in the period."""
    run = assessment.run
    imports = np.isin(run.terms.placed.situation, IMPORT_SITUATIONS) & (run.terms.regime == places.EU)
    if not (imports & (assessment.sums.by_case["lines"] > 0)).any():
        return []
    answer = representation(places.index("EU"), IMPORTS, run.facts.as_of_day, run.facts)
    words = {**WORDS, **INTERMEDIARY}
    return [Finding("import_intermediary", "EU", None, _gaps(assessment, answer, words), answer.row_ids)]


def _gaps(assessment: Assessment, found: Representation, words: dict[Answer, str]) -> dict[str, str]:
    """Fill the sentence, with its law, and say where it rests on memory."""
    gaps = {
        "country": places.name(assessment.run.seller.country),
        "liable": LIABLE.get(found.liable, ""),
    }
    law = f" ({found.law})" if found.law else ""
    sentence = words[found.answer].format(**gaps).removesuffix(".")
    doubt = FROM_MEMORY if found.basis == "unconfirmed" else ""
    return {"words": f"{sentence}{law}.", "doubt": doubt}
