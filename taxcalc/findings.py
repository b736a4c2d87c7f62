"""What needs attention: each finding is one sentence about one place or one fact, with its amount and the caution.

Urgency 1: act now; 2: look at it before the next return; 3: know it. The three shortfalls are findings of their own and are
never netted: not collected; collected, remittance not evidenced; collected without duty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.money import write_amount
from taxcalc.reasons import BY_ONE_STOP_SHOP, LOCAL_REGISTRATION, REASONS

if TYPE_CHECKING:
    from collections.abc import Callable

    from taxcalc.assessment import Assessment
    from taxcalc.duties import ThresholdRow
    from taxcalc.place_sums import PlaceSums


@dataclass(frozen=True)
class Finding:
    """One finding. `amount` is minor units of the reporting currency, None where none belongs to it."""

    kind: str
    urgency: int
    place: str
    text: str
    amount: int | None = None


def findings(assessment: Assessment, sums: PlaceSums) -> list[dict[str, Any]]:
    """Give all findings, most urgent and largest first, as the record shows them."""
    found = [finding for look in LOOKS for finding in look(assessment, sums)]
    found.sort(key=lambda f: (f.urgency, ORDER.index(f.kind), -(f.amount or 0), f.place, f.text))
    return [
        {
            "id": f"{finding.kind}:{finding.place}" if finding.place else finding.kind,
            "kind": finding.kind,
            "urgency": finding.urgency,
            "place": finding.place or None,
            "name": places.name(finding.place) if finding.place else None,
            "text": finding.text,
            "amount": None if finding.amount is None else write_amount(finding.amount, assessment.currency),
            "caution": CAUTION,
        }
        for finding in found
    ]


def past_duty(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Duty in the past without a registration: talk to a professional before registering."""
    found = []
    for code in sums.codes:
        duty = sums.duty(code)
        lacking = sums.history(code)["shortfall"]
        if duty and duty.cause != "registration" and lacking > 0 and not _registered(assessment, code):
            name = places.code(code)
            found.append(
                Finding(
                    "past_duty",
                    1,
                    name,
                    (
                        "Tax may have been due here in the past without a registration. Talk to a professional about a voluntary "
                        "disclosure before you register: registering first can close that way. The amount is what may not have been "
                        "collected since then."
                    ),
                    lacking,
                )
            )
    return found


def _registered(assessment: Assessment, code: int) -> bool:
    """Tell whether any registration that fits a place holds on the day of the review."""
    facts = assessment.run.facts
    here = [places.code(code), places.code(int(places.countries()[code]))]
    schemes = ("union_oss", "non_union_oss", "ioss") if places.regimes()[code] == places.EU else ()
    held = any(facts.registered(place, facts.as_of_day, "standard", "small_business") for place in here)
    return held or any(facts.registered("EU", facts.as_of_day, scheme) for scheme in schemes)


def crossed(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Thresholds that were crossed, are near, or should be watched."""
    _ = sums
    words: dict[str, tuple[int, str]] = {
        "crossed": (
            1,
            "The threshold was crossed{when}; you should collect{since}, unless you are registered already.",
        ),
        "near": (2, "{share} % of the threshold is reached ({measure})."),
        "watch": (3, "{share} % of the threshold is reached ({measure})."),
    }
    found = []
    for row in assessment.sorted_thresholds:
        if row.status in words:
            urgency, text = words[row.status]
            found.append(
                Finding(row.status, urgency, places.code(row.place), text.format(**_threshold_words(row)))
            )
    return found


def _threshold_words(row: ThresholdRow) -> dict[str, str]:
    """Fill the gaps of a sentence about a threshold."""
    from taxcalc.assessment import date_or_none  # noqa: PLC0415 - built on this module

    when = f" on {date_or_none(row.crossed.day)}" if row.crossed else ""
    since = f" since {date_or_none(row.duty_from)}" if row.duty_from is not None else ""
    measure = "number of sales" if row.measure == "transactions" else "amount of sales"
    return {"when": when, "since": since, "share": f"{row.share_tenths // 10}", "measure": measure}


def shortfalls(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """The three shortfalls of the period, one by one."""
    found = []
    for code in sums.codes:
        name, period, history = places.code(code), sums.period(code), sums.history(code)
        if period["shortfall"] > 0:
            found.append(
                Finding(
                    "not_collected",
                    1,
                    name,
                    "Less tax was collected in the period than should have been.",
                    period["shortfall"],
                )
            )
        if period["collected_without_duty"] > 0:
            found.append(
                Finding(
                    "collected_without_duty",
                    1,
                    name,
                    (
                        "Tax was collected here without a known duty. It must be paid over or given back; a professional knows which."
                    ),
                    period["collected_without_duty"],
                )
            )
        gap = history["collected_on_duty"] - sums.remitted(code)
        if history["collected_on_duty"] > 0 and gap > 0:
            found.append(
                Finding(
                    "remittance_not_evidenced",
                    2,
                    name,
                    (
                        "Tax collected here since the file begins is not shown as paid over. Add [[remitted]] to the profile if it was; "
                        "collected tax is held for the state."
                    ),
                    gap,
                )
            )
    _ = assessment
    return found


def unconfirmed(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Figures of the period that rest on facts from memory."""
    found = []
    for code in sums.codes:
        weakest = sums.weakest(code)
        if weakest.doubtful_tax:
            rows = ", ".join(weakest.doubtful_rows)
            found.append(
                Finding(
                    "unconfirmed",
                    2,
                    places.code(code),
                    (f"These figures rest on table rows from memory that nobody has confirmed: {rows}."),
                    weakest.doubtful_tax,
                )
            )
    doubtful = [row for row in assessment.sorted_thresholds if row.basis == 2 and row.status != "clear"]  # noqa: PLR2004 - unconfirmed
    text = (
        "The threshold's rules shown here rest in part on memory; check them before relying on dates: {rows}."
    )
    found.extend(
        Finding("unconfirmed", 2, places.code(row.place), text.format(rows=row.row_ids.replace(" ", ", ")))
        for row in doubtful
    )
    return list(dict.fromkeys(found))


def union(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """What sellers into the Union most often do not know: local registration, no EUR 10 000 relief, contradictions."""
    run = assessment.run
    facts, terms, by_case = run.facts, run.terms, assessment.sums.by_case
    found = []
    for reasons, kind, text in (
        (
            LOCAL_REGISTRATION,
            "local_registration",
            "Goods start (or are imported) and arrive here and you have no establishment here: this "
            "usually needs a local VAT registration from the first sale; the one-stop shop does not cover it.",
        ),
        (
            BY_ONE_STOP_SHOP,
            "one_stop_shop",
            "Sales to consumers here are taxed on arrival: they go into a Union one-stop-shop return, or a "
            "local registration.",
        ),
    ):
        cases = np.isin(terms.collect.reason, reasons) & (by_case["lines"] > 0)
        for code in np.unique(terms.placed.place[cases]).tolist():
            if not _registered(assessment, code):
                at = cases & (terms.placed.place == code)
                found.append(Finding(kind, 2, places.code(code), text, int(by_case["to_collect"][at].sum())))
    if any(f.kind == "one_stop_shop" for f in found) and not facts.established_member_states:
        found.append(
            Finding(
                "no_union_limit",
                3,
                "EU",
                (
                    "The EUR 10 000 limit does not help a seller established outside the Union: VAT of the state of arrival is due from "
                    "the first euro."
                ),
            )
        )
    _ = sums
    return [*found, *_one_stop_shop_contradiction(assessment)]


def _one_stop_shop_contradiction(assessment: Assessment) -> list[Finding]:
    """A Union one-stop-shop registration below the limit needs the choice to be taxed on arrival."""
    run = assessment.run
    day = run.facts.as_of_day
    below = [
        row
        for row in assessment.sorted_thresholds
        if row.place == places.index("EU") and row.duty_from is None
    ]
    chosen = run.duties.holding(places.index("EU"), day, "election", "threshold")
    if below and run.facts.registered("EU", day, "union_oss") and not chosen:
        return [
            Finding(
                "contradiction",
                2,
                "EU",
                (
                    "The profile has a Union one-stop-shop registration, but cross-border sales are below EUR 10 000 and no choice to be "
                    "taxed on arrival is named. Add [[election]] eu_tax_at_destination if you made it; it binds for two calendar years."
                ),
            )
        ]
    return []


def open_transport(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """The transport of the chain is left open: a matter for a professional, with the sum at stake."""
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    at = np.isin(terms.fulfiller.reason, ("eu_fulfiller_transport_open", "eu_fulfiller_no_number"))
    stake = int(by_case["fulfiller_tax_high"][at].sum())
    _ = sums
    if not stake:
        return []
    return [
        Finding(
            "transport_open",
            2,
            "EU",
            (
                "To which of the two sales the transport belongs decides what the fulfiller may charge and where you must register. That "
                "is a matter for a professional; the amount is the fulfiller's VAT at stake in the period."
            ),
            stake,
        )
    ]


def fulfiller_side(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Tax of the fulfiller that a document would have avoided, and documents to replace."""
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    found = []
    for code in sums.codes:
        period = sums.period(code)
        if period["fulfiller_tax_avoidable"] > 0:
            found.append(
                Finding(
                    "avoidable",
                    2,
                    places.code(code),
                    ("A document that could be had would have avoided this tax of the fulfiller."),
                    period["fulfiller_tax_avoidable"],
                )
            )
        stale = (
            (terms.placed.place == code)
            & (terms.fulfiller.reason == "us_fulfiller_replace_document")
            & (by_case["lines"] > 0)
        )
        if stale.any():
            found.append(
                Finding(
                    "replace_document",
                    2,
                    places.code(code),
                    REASONS["us_fulfiller_replace_document"].capitalize() + ".",
                    int(by_case["fulfiller_tax_high"][stale].sum()),
                )
            )
    return found


def below_threshold_rulings(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """States whose rulings make a drop-shipping seller collect below the threshold: flagged, never added."""
    table = assessment.run.facts.tables["us/resale_rules"]
    found = []
    for code in sums.codes:
        row = int(table.lookup(np.int32(assessment.run.facts.as_of_day), place=np.int16(code)))
        if (
            row >= 0
            and bool(table["seller_may_owe_below_threshold"][row])
            and sums.period(code)["lines"]
            and sums.duty(code) is None
        ):
            found.append(
                Finding(
                    "below_threshold_ruling",
                    2,
                    places.code(code),
                    (
                        "A ruling of this state made a drop-shipping seller collect below the threshold. No amount is added; ask a professional."
                    ),
                )
            )
    return found


def without_rules(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Sales to places for which nothing is held here, and lines whose place could not be read."""
    found = []
    for code in sums.codes:
        period = sums.period(code)
        unknown = code == places.index("unknown")
        if period["lines"] and (places.regimes()[code] >= places.ELSEWHERE or unknown):
            text = (
                "The place of these lines could not be told, so no tax was computed."
                if unknown
                else (
                    "No rules are held here for this place: what it asks of you is not computed. Ask a professional there."
                )
            )
            found.append(
                Finding(
                    "unknown_place" if unknown else "no_rules",
                    2 if unknown else 3,
                    places.code(code),
                    text,
                    period["sales"],
                )
            )
    _ = assessment
    return found


def data(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """What the files and the profile leave open."""
    run, counts = assessment.run, assessment.sums.counts
    found = []
    if run.intake.tie_out.rows_set_aside:
        found.append(
            Finding(
                "set_aside",
                2,
                "",
                f"{run.intake.tie_out.rows_set_aside} rows were set aside; the figures leave them out.",
            )
        )
    if counts["refunds_without_sale"]:
        found.append(
            Finding(
                "refunds_without_sale",
                3,
                "",
                f"Refunds without their sale in the files: {counts['refunds_without_sale']}.",
            )
        )
    if counts["near_quarter_end"]:
        found.append(
            Finding(
                "near_quarter_end",
                3,
                "",
                (
                    f"{counts['near_quarter_end']} lines of the last 14 days of the period carry no dispatch day; a later one could move them."
                ),
            )
        )
    if any(row.incomplete for row in assessment.threshold_rows):
        found.append(
            Finding(
                "history_begins_late",
                3,
                "",
                (
                    "The files begin inside a window that thresholds look at. Sales before them are not known: add [[prior_sales]] to the "
                    "profile; until then threshold values are lower bounds."
                ),
            )
        )
    before_law = (run.terms.collect.reason == "us_before_facilitator_law") & (
        assessment.sums.by_case["lines"] > 0
    )
    for code in np.unique(run.terms.placed.place[before_law]).tolist():
        found.append(
            Finding(
                "no_facilitator_law",
                2,
                places.code(code),
                REASONS["us_before_facilitator_law"].capitalize() + ".",
            )
        )
    _ = sums
    return found


ORDER = (
    "past_duty",
    "crossed",
    "not_collected",
    "collected_without_duty",
    "remittance_not_evidenced",
    "near",
    "local_registration",
    "one_stop_shop",
    "contradiction",
    "transport_open",
    "replace_document",
    "avoidable",
    "unconfirmed",
    "below_threshold_ruling",
    "no_facilitator_law",
    "unknown_place",
    "set_aside",
    "watch",
    "no_union_limit",
    "no_rules",
    "refunds_without_sale",
    "near_quarter_end",
    "history_begins_late",
)
"""Kinds in the order in which they are shown inside one urgency."""

LOOKS: tuple[Callable[[Assessment, PlaceSums], list[Finding]], ...] = (
    past_duty,
    crossed,
    shortfalls,
    unconfirmed,
    union,
    open_transport,
    fulfiller_side,
    below_threshold_rulings,
    without_rules,
    data,
)
