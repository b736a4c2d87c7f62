"""What becomes of VAT that the fulfiller charges: how the seller may recover it, and on what condition.

Directive 2006/112/EC: only for taxed sales (art. 168, 169), with an invoice in order (art. 178); an exempt small business
recovers nothing (art. 289). Whoever is registered in the state deducts in its return there; the one-stop shops carry no
input VAT. A business of another member state without taxed sales there asks for a refund (Directive 2008/9/EC), but not of
VAT on a supply that may be exempt under art. 138 (its art. 4(b)). A business from outside the Union asks under Directive
86/560/EEC, which may hang on reciprocity; to use the Union one-stop shop it has to register in a state of dispatch. VAT
charged though it was not due is owed by the fulfiller (art. 203) and deductible by nobody: the invoice is to be corrected.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.eu.numbers import exempt_only, standard_states
from taxcalc.eu.place import Situation, member_state, of_fulfiller, rules_of
from taxcalc.regime import DUTY, Recovery
from taxcalc.routes import (
    AFTER_REGISTERING,
    BETWEEN_STATES,
    FROM_OUTSIDE,
    LOCAL_RETURN,
    MAY_BE_EXEMPT,
    OWN_USE,
    SMALL_BUSINESS,
)

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.terms import AllTerms

    Flags = npt.NDArray[np.bool_]

NOT_DUE = ("eu_fulfiller_number", "eu_fulfiller_export")
"""Reasons under which no VAT is expected because the fulfiller's sale is exempt; what it charged is to be corrected."""

AT_DISPATCH = (Situation.INTRA_COMMUNITY, Situation.DEEMED_SUPPLIER)
"""Sales of the seller's own that are placed where the goods leave, exempt or to the marketplace."""

LOCAL = (Situation.DOMESTIC, Situation.IMPORTED_FOR_SALE, Situation.LOCAL_AFTER_TRANSPORT)
"""Sales of the seller's own that are taxed where the goods arrive, by a registration there."""


def recovery(terms: AllTerms, lines: npt.NDArray[np.int64], facts: Facts) -> Recovery:
    """Answer per case: the first row that fits."""
    cases = terms.cases
    state = terms.billed_in
    registered, exempt, anywhere = _held(cases.day, state, facts)
    small = (terms.duty == DUTY["exempt_small_business"]) | exempt
    home = np.isin(state, facts.established_member_states)
    sells_there = _sells_there(terms, lines, facts)
    first = of_fulfiller(cases, facts, "transport_supply") == "first"
    may_be_exempt = first & (terms.fulfiller.reason == "eu_fulfiller_no_number")
    in_union = bool(facts.established_member_states)
    answers = (
        (cases.sample, OWN_USE),
        (small, SMALL_BUSINESS),
        (registered, LOCAL_RETURN),
        (home | sells_there, AFTER_REGISTERING),
        (may_be_exempt & in_union, MAY_BE_EXEMPT),
        (anywhere & in_union, BETWEEN_STATES),
        (_identified_elsewhere(cases.day, facts), FROM_OUTSIDE),
    )
    route = np.select([mask for mask, _ in answers], [word for _, word in answers], AFTER_REGISTERING)
    return Recovery(np.isin(terms.fulfiller.reason, NOT_DUE), route.astype(object))


def _held(
    day: npt.NDArray[np.int32], state: npt.NDArray[np.int16], facts: Facts
) -> tuple[Flags, Flags, Flags]:
    """Tell per case: registered in the state, only exempt everywhere, registered in any member state; all on its day."""
    distinct, back = distinct_rows((state, day))
    held = [(s in standard_states(d, facts), exempt_only(d, facts), bool(standard_states(d, facts)))
            for s, d in distinct]  # fmt: skip
    found = np.array(held, bool).reshape(-1, 3)[back]
    return found[:, 0], found[:, 1], found[:, 2]


def _sells_there(terms: AllTerms, lines: npt.NDArray[np.int64], facts: Facts) -> Flags:
    """Tell where the seller has sales of its own in the state whose VAT the fulfiller charges.

    Sales whose VAT the buyer owes (art. 194 to 197), which would leave the refund open, are not told apart.
    """
    sold = (terms.regime == places.EU) & ~terms.cases.sample & (lines > 0)
    arrival = member_state(rules_of(terms.cases.destination, facts), facts)
    on_arrival = sold & np.isin(terms.placed.situation, LOCAL)
    at_dispatch = sold & np.isin(terms.placed.situation, AT_DISPATCH)
    states = np.union1d(arrival[on_arrival], terms.billed_in[at_dispatch])
    return np.isin(terms.billed_in, states)


def _identified_elsewhere(day: npt.NDArray[np.int32], facts: Facts) -> Flags:
    """Tell on which days a seller from outside has the Union one-stop shop, so that it need not register for it here."""
    days, back = np.unique(day, return_inverse=True)
    held = [not facts.established_member_states and facts.registered("EU", int(d), "union_oss") for d in days]
    return np.array(held, bool)[back.reshape(-1)] if days.size else np.zeros(0, bool)
