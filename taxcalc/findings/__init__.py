"""What needs attention, most urgent and largest first.

The three shortfalls are findings of their own and are never netted: not collected; collected, remittance not evidenced;
collected without duty.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.findings.chain import below_threshold_rulings, fulfiller_side, reports_of_fulfillers
from taxcalc.findings.data import data, without_rules
from taxcalc.findings.duty import past_duty, shortfalls, thresholds, unconfirmed, unmatched_payments
from taxcalc.findings.fees import fees_on_deliveries
from taxcalc.findings.finding import KINDS
from taxcalc.findings.purchases import charges, document_worth, documents_running_out, samples
from taxcalc.findings.registered import (
    dropped_counts,
    duty_before_files,
    marketplace_crossings,
    nil_returns,
    registered_not_charging,
    stock_not_counted,
    turnover_taxes,
)
from taxcalc.findings.representation import representatives
from taxcalc.findings.small_business import small_business
from taxcalc.findings.union import union
from taxcalc.findings.union_chain import (
    buyers_account,
    local_after_transport,
    not_coming_back,
    number_worth,
    open_transport,
    reverse_charges,
)
from taxcalc.money import write_amount

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.assessment import Assessment
    from taxcalc.findings.finding import Finding
    from taxcalc.place_sums import PlaceSums

LOOKS: tuple[Callable[[Assessment, PlaceSums], list[Finding]], ...] = (
    past_duty,
    thresholds,
    shortfalls,
    unmatched_payments,
    unconfirmed,
    union,
    small_business,
    open_transport,
    local_after_transport,
    representatives,
    reverse_charges,
    buyers_account,
    number_worth,
    not_coming_back,
    fulfiller_side,
    charges,
    samples,
    documents_running_out,
    document_worth,
    fees_on_deliveries,
    below_threshold_rulings,
    reports_of_fulfillers,
    stock_not_counted,
    registered_not_charging,
    nil_returns,
    duty_before_files,
    marketplace_crossings,
    dropped_counts,
    turnover_taxes,
    without_rules,
    data,
)


def findings(assessment: Assessment, sums: PlaceSums) -> list[dict[str, Any]]:
    """Give all findings as the record shows them: by urgency, kind, amount and place."""
    found = [finding for look in LOOKS for finding in look(assessment, sums)]
    kinds = list(KINDS)
    found.sort(key=lambda f: (f.urgency, kinds.index(f.kind), -(f.amount or 0), f.place, f.text))
    return [_shown(finding, assessment.currency) for finding in found]


def _shown(finding: Finding, currency: str) -> dict[str, Any]:
    """Write one finding."""
    return {
        "id": f"{finding.kind}:{finding.place}" if finding.place else finding.kind,
        "kind": finding.kind,
        "urgency": finding.urgency,
        "place": finding.place or None,
        "name": places.name(finding.place) if finding.place else None,
        "text": finding.text,
        "amount": None if finding.amount is None else write_amount(finding.amount, currency),
        "row_ids": finding.row_ids,
        "caution": CAUTION,
    }
