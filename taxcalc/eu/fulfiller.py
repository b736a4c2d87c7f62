"""What the fulfiller may charge the seller in VAT: two supplies in a chain, one transport.

Directive 2006/112/EC: only one of the two supplies carries the transport (art. 36a). If it is the fulfiller's and the
seller gave a VAT number of a member state other than that of dispatch, the supply can be exempt (art. 138); else the
VAT of the state of dispatch is due. Where a marketplace is the deemed supplier, the transport is its sale's (art. 36b).
Where the profile leaves the transport open, both outcomes are in the range and the adverse one is expected; that is a
matter for a professional. A number's form is not its validity. A sale to an exempt small business without a number may be
a distance sale of the fulfiller, taxed on arrival (art. 3(1), 14(4), 33(a)).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc.arrow import distinct_rows
from taxcalc.eu.numbers import Given, exempt_only, numbers_given
from taxcalc.eu.place import Situation, in_vat_territory, member_state, of_fulfiller, rules_of
from taxcalc.eu.rates import ppm, rate_rows, vat_rules
from taxcalc.eu.reverse_charge import COLUMNS, registered_elsewhere_only, reverse_charge_rows
from taxcalc.regime import WHOLESALE, Evidence, FulfillerTerms

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed

    Flags = npt.NDArray[np.bool_]

CURRENCY = "EUR"
FREE, FREE_IF_PROVEN, EITHER, FULL = 0, 1, 2, 3
"""Outcomes: nothing; nothing expected, all at the high end; both outcomes, all expected; all."""

BY_REVERSE_CHARGE = "eu_fulfiller_reverse_charge"
EXEMPT_SELLER = "eu_fulfiller_exempt_seller"


class Outcome(NamedTuple):
    """Outcome and reason per case, whether a number held that day would have avoided the charge, and rows of art. 194."""

    code: npt.NDArray[np.int8]
    reason: npt.NDArray[np.object_]
    avoidable: Flags
    reverse: npt.NDArray[np.int32]


def fulfiller(cases: Cases, placed: Placed, facts: Facts) -> FulfillerTerms:
    """Answer per case: VAT of the state of dispatch, an exempt supply, or both outcomes."""
    dispatch = rules_of(cases.ship_from, facts)
    deemed = placed.situation == Situation.DEEMED_SUPPLIER
    outcome = _outcomes(cases, dispatch, deemed, facts)
    rows = rate_rows(dispatch, cases.product_class, cases.day, facts)
    on_arrival = np.where(outcome.reason == EXEMPT_SELLER, rules_of(cases.destination, facts), dispatch)
    arrival = rate_rows(on_arrival, cases.product_class, cases.day, facts)
    rate, there = ppm(rows, facts), ppm(arrival, facts)
    same = np.full(cases.size, WHOLESALE, np.int8)
    inside = in_vat_territory(dispatch, facts)
    rates, reverse = facts.tables["eu/rates"], facts.tables["eu/reverse_charge"]
    none, taxed = np.int32(-1), outcome.code > FREE
    return FulfillerTerms(
        place=np.where(inside, member_state(dispatch, facts), placed.place).astype(np.int16),
        reason=outcome.reason,
        low=vat_rules(np.minimum(rate, there), outcome.code == FULL),
        expected=vat_rules(rate, outcome.code >= EITHER),
        high=vat_rules(np.maximum(rate, there), outcome.code >= FREE_IF_PROVEN),
        base_low=same,
        base_expected=same,
        base_high=same,
        markup_ppm=np.zeros(cases.size, np.int64),
        avoidable=outcome.avoidable & (outcome.code >= EITHER),
        limit_currency=CURRENCY,
        evidence=Evidence(
            (
                (rates, np.where(taxed, rows, none), ("percent",)),
                (rates, np.where(taxed & (arrival != rows), arrival, none), ("percent",)),
                (reverse, outcome.reverse, COLUMNS),
            )
        ),
    )


def _outcomes(cases: Cases, dispatch: npt.NDArray[np.int16], deemed: Flags, facts: Facts) -> Outcome:
    """Find the outcome of each case: the first row that fits.

    Goods for the seller itself are sold once, so that sale carries the transport.
    """
    arrival = rules_of(cases.destination, facts)
    leaves_inside, arrives_inside = in_vat_territory(dispatch, facts), in_vat_territory(arrival, facts)
    state = member_state(dispatch, facts)
    stays = leaves_inside & arrives_inside & (state == member_state(arrival, facts))
    moves = leaves_inside & arrives_inside & ~stays
    given, held = numbers_given(cases, state, facts)
    no_number = given == Given.NONE
    carries = np.where(cases.sample, "first", of_fulfiller(cases, facts, "transport_supply"))
    second = moves & (carries == "second")
    by_seller = _sent_by_resident_seller(cases, state, facts)
    reverse = reverse_charge_rows(cases, state, facts)
    reversed_ = (stays | second) & (reverse >= 0) & registered_elsewhere_only(cases, state, facts)
    answers = (
        (~leaves_inside, FREE, "eu_fulfiller_outside"),
        (~arrives_inside & by_seller, FULL, "eu_fulfiller_export_by_seller"),
        (~arrives_inside, FREE_IF_PROVEN, "eu_fulfiller_export"),
        (reversed_, EITHER, BY_REVERSE_CHARGE),
        (stays, FULL, "eu_fulfiller_same_state"),
        (moves & deemed, FULL, "eu_fulfiller_deemed_supplier"),
        (second, FULL, "eu_fulfiller_transport_second"),
        (moves & no_number & _exempt_from_elsewhere(cases, state, facts), FULL, EXEMPT_SELLER),
        (moves & no_number, FULL, "eu_fulfiller_no_number"),
        (moves & (given == Given.UNCLEAR), EITHER, "eu_fulfiller_number_unclear"),
        (moves & (carries == "first"), FREE_IF_PROVEN, "eu_fulfiller_number"),
        (moves, EITHER, "eu_fulfiller_transport_open"),
    )
    masks = [mask for mask, _, _ in answers]
    outcome = np.select(masks, [code for _, code, _ in answers], FREE).astype(np.int8)
    reason = np.select(masks, [word for _, _, word in answers], "eu_fulfiller_outside").astype(object)
    avoidable = (reason == "eu_fulfiller_no_number") & held & (carries == "first") & ~cases.sample
    return Outcome(outcome, reason, avoidable, np.where(reason == BY_REVERSE_CHARGE, reverse, np.int32(-1)))


def _sent_by_resident_seller(cases: Cases, state: npt.NDArray[np.int16], facts: Facts) -> Flags:
    """Tell where a seller established in the state of dispatch arranges the export itself (art. 146(1)(b) not met)."""
    resident = np.isin(state, facts.established_member_states)
    arranged: Flags = of_fulfiller(cases, facts, "transport_arranged_by") == "seller"
    return resident & arranged


def _exempt_from_elsewhere(cases: Cases, state: npt.NDArray[np.int16], facts: Facts) -> Flags:
    """Tell where the seller is only an exempt small business, established in another member state than that of dispatch."""
    elsewhere = ~np.isin(state, facts.established_member_states)
    days, back = distinct_rows((cases.day,))
    exempt: Flags = np.array([exempt_only(day, facts) for (day,) in days], bool)[back]
    return np.asarray(elsewhere & exempt, dtype=np.bool_)
