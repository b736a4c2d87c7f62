"""What the fulfiller may charge the seller in VAT: two supplies in a chain, one transport.

Directive 2006/112/EC: only one of the two supplies carries the transport (art. 36a). If it is the fulfiller's and the
seller gave a VAT number of a member state other than that of dispatch, the supply can be exempt (art. 138); else the
VAT of the state of dispatch is due. Where the profile leaves the transport open, both outcomes are in the range and the
adverse one is expected; that is a matter for a professional. A number's form is not its validity.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.eu.place import in_vat_territory, member_state, of_fulfiller, rules_of
from taxcalc.eu.rates import ppm, rate_rows, vat_rules
from taxcalc.regime import WHOLESALE, Evidence, FulfillerTerms

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed

CURRENCY = "EUR"
FORM = "vat_number"
FREE, FREE_IF_PROVEN, EITHER, FULL = 0, 1, 2, 3
"""Outcomes: nothing; nothing expected, all at the high end; both outcomes, all expected; all."""


def fulfiller(cases: Cases, placed: Placed, facts: Facts) -> FulfillerTerms:
    """Answer per case: VAT of the state of dispatch, an exempt supply, or both outcomes."""
    _ = placed
    dispatch = rules_of(cases.ship_from, facts)
    outcome, reason, avoidable = _outcomes(cases, dispatch, facts)
    rows = rate_rows(dispatch, cases.product_class, cases.day, facts)
    rate = ppm(rows, facts)
    same = np.full(cases.size, WHOLESALE, np.int8)
    return FulfillerTerms(
        reason=reason,
        low=vat_rules(rate, outcome == FULL),
        expected=vat_rules(rate, outcome >= EITHER),
        high=vat_rules(rate, outcome >= FREE_IF_PROVEN),
        base_low=same,
        base_expected=same,
        base_high=same,
        markup_ppm=np.zeros(cases.size, np.int64),
        avoidable=avoidable & (outcome >= EITHER),
        limit_currency=CURRENCY,
        evidence=Evidence(
            ((facts.tables["eu/rates"], np.where(outcome > FREE, rows, np.int32(-1)), ("percent",)),)
        ),
    )


def _outcomes(
    cases: Cases,
    dispatch: npt.NDArray[np.int16],
    facts: Facts,
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.object_], npt.NDArray[np.bool_]]:
    """Find the outcome, its reason and whether a number held that day would have avoided the charge."""
    arrival = rules_of(cases.destination, facts)
    leaves_inside, arrives_inside = in_vat_territory(dispatch, facts), in_vat_territory(arrival, facts)
    state = member_state(dispatch, facts)
    stays = leaves_inside & arrives_inside & (state == member_state(arrival, facts))
    moves = leaves_inside & arrives_inside & ~stays
    given, held = _numbers(cases, state, facts)
    carries = of_fulfiller(cases, facts, "transport_supply")
    by_seller = _sent_by_resident_seller(cases, state, facts)
    answers = (
        (~leaves_inside, FREE, "eu_fulfiller_outside"),
        (~arrives_inside & by_seller, FULL, "eu_fulfiller_export_by_seller"),
        (~arrives_inside, FREE_IF_PROVEN, "eu_fulfiller_export"),
        (stays, FULL, "eu_fulfiller_same_state"),
        (moves & (carries == "second"), FULL, "eu_fulfiller_transport_second"),
        (moves & ~given, FULL, "eu_fulfiller_no_number"),
        (moves & (carries == "first"), FREE_IF_PROVEN, "eu_fulfiller_number"),
        (moves, EITHER, "eu_fulfiller_transport_open"),
    )
    masks = [mask for mask, _, _ in answers]
    outcome = np.select(masks, [code for _, code, _ in answers], FREE).astype(np.int8)
    reason = np.select(masks, [word for _, _, word in answers], "eu_fulfiller_outside").astype(object)
    return outcome, reason, moves & ~given & held & (carries == "first") & ~cases.sample


def _sent_by_resident_seller(
    cases: Cases, state: npt.NDArray[np.int16], facts: Facts
) -> npt.NDArray[np.bool_]:
    """Tell where a seller established in the state of dispatch arranges the export itself (art. 146(1)(b) not met)."""
    resident = np.isin(state, facts.established_member_states)
    arranged: npt.NDArray[np.bool_] = of_fulfiller(cases, facts, "transport_arranged_by") == "seller"
    return resident & arranged


def _numbers(
    cases: Cases,
    state: npt.NDArray[np.int16],
    facts: Facts,
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Tell per case whether the fulfiller has a VAT number of another member state than dispatch.

    And whether the seller held one that it could have given.
    """
    distinct, back = distinct_rows((state, cases.day, cases.fulfiller))
    given = [_given(s, d, f, facts) for s, d, f in distinct]
    held = [_held(s, d, facts) for s, d, _ in distinct]
    return np.array(given, bool)[back], np.array(held, bool)[back]


def _given(state: int, day: int, fulfiller_code: int, facts: Facts) -> bool:
    """Look for a VAT number of another member state among the documents given to the fulfiller."""
    return any(
        c.form == FORM
        and c.number_of in places.codes()
        and facts.eu_states[places.index(c.number_of)]
        and places.index(c.number_of) != state
        for c in facts.certificates_on(fulfiller_code, day)
        if c.number_of
    )


def _held(state: int, day: int, facts: Facts) -> bool:
    """Look for a standard VAT registration of another member state."""
    return any(
        r.scheme == "standard"
        and r.place in places.codes()
        and facts.eu_states[places.index(r.place)]
        and places.index(r.place) != state
        and facts.registered(r.place, day, "standard")
        for r in facts.seller.registrations
    )
