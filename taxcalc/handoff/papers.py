"""All sheets of a hand-off, in their order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc.handoff.effects import effects
from taxcalc.handoff.papers_dictionary import dictionary
from taxcalc.handoff.papers_fulfiller import credits_to_ask, documents, fulfiller_tax
from taxcalc.handoff.papers_lead import lead
from taxcalc.handoff.papers_period import elsewhere_period, eu_period, reasons, us_period
from taxcalc.handoff.papers_places import limits, quarters, since, summary
from taxcalc.handoff.papers_profile import assumptions, documents_given, questions, registrations
from taxcalc.handoff.papers_returns import local_returns, one_stop_shop
from taxcalc.handoff.papers_rules import evidence, exempt_buyers, rows_used, sample, set_aside
from taxcalc.handoff.since import changes_sheet

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.handoff.controls import Control
    from taxcalc.handoff.gathered import Gathered
    from taxcalc.handoff.sheet import Sheet
    from taxcalc.handoff.since import Since


def papers(
    assessment: Assessment,
    record: dict[str, Any],
    gathered: Gathered,
    checks: list[Control],
    found: Since | None,
) -> list[Sheet]:
    """Build every sheet; the lead sheet lists the others."""
    seller = assessment.run.seller
    others = [
        summary(record),
        since(record),
        quarters(record),
        limits(record),
        fulfiller_tax(record),
        credits_to_ask(record),
        documents(record),
        us_period(record, gathered),
        eu_period(record, gathered),
        one_stop_shop(record),
        reasons(record, gathered),
        elsewhere_period(record, gathered),
        local_returns(assessment, record, gathered),
        set_aside(record, assessment),
        assumptions(record, effects(assessment, record)),
        questions(record),
        documents_given(record, seller),
        registrations(record, seller),
        exempt_buyers(record, gathered),
        evidence(record, gathered),
        rows_used(record, assessment),
        changes_sheet(record, found),
        sample(record, gathered),
    ]
    first = lead(record, checks, others)
    others.append(dictionary(record, [first, *others]))
    return [lead(record, checks, others), *others]
