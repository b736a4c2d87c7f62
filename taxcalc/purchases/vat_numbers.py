"""What giving the fulfiller a VAT number would have saved in a year: sales to other member states that it could exempt.

The fulfiller's sale is exempt where it carries the transport to another member state and the seller gave a VAT number of a
member state other than that of dispatch (Directive 2006/112/EC art. 138). Counted is VAT of dispatch on sales for which no
such number was given; goods for oneself, exempt small businesses (who would owe VAT on arrival and deduct none) and, unless
a number was at hand and the transport is the fulfiller's, VAT that the seller deducts on a return there, or would deduct on
the day of the review, are left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.eu.numbers import holds_another, standard_states
from taxcalc.eu.place import of_fulfiller
from taxcalc.eu.recovery import recovery
from taxcalc.routes import LOCAL_RETURN, SMALL_BUSINESS

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment

FORM = "vat_number"
NOTHING, NUMBER = "nothing", "vat_number_elsewhere"
TRANSPORT, NUMBER_AND_TRANSPORT = "transport", "vat_number_elsewhere_and_transport"


class NumberWorth(NamedTuple):
    """What a number is worth for goods that leave one member state; minor units of the reporting currency."""

    place: int
    saved: int
    lines: int
    lines_charged: int

    @property
    def rests_on(self) -> str:
        """Say whether the sum rests on what was charged, on what may be charged, or on both."""
        if not self.lines_charged:
            return "expected"
        return "charged" if self.lines_charged == self.lines else "both"


class GivingNumber(NamedTuple):
    """One thing to do: what is needed first, and the states of dispatch in which it helps, the largest first."""

    needs: str
    states: tuple[NumberWorth, ...]

    @property
    def saved(self) -> int:
        """Add up its states."""
        return sum(state.saved for state in self.states)


def giving_numbers(assessment: Assessment) -> list[GivingNumber]:
    """Give what is worth doing, the largest first."""
    year = assessment.sums.year
    helped, needs = _helped(assessment)
    found = []
    for need in sorted(set(needs[helped].tolist())):
        worths = []
        for code in np.unique(assessment.run.terms.billed_in[helped & (needs == need)]).tolist():
            here = helped & (needs == need) & (assessment.run.terms.billed_in == code)
            sums = (int(year[name][here].sum()) for name in ("saved", "lines", "lines_charged"))
            worths.append(NumberWorth(code, *sums))
        worths = [worth for worth in worths if worth.saved > 0]
        if worths:
            worths.sort(key=lambda worth: (-worth.saved, places.code(worth.place)))
            found.append(GivingNumber(need, tuple(worths)))
    return sorted(found, key=lambda one: (-one.saved, one.needs))


def _helped(assessment: Assessment) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.object_]]:
    """Mark the cases in which a number would have helped, and say per case what is needed first on the day of the review."""
    run, year = assessment.run, assessment.sums.year
    terms, facts = run.terms, run.facts
    without = (terms.fulfiller.reason == "eu_fulfiller_no_number") & ~terms.cases.sample
    if not without.any():
        return without, np.full(without.size, "", object)
    route = recovery(terms, year["sold"], facts).route
    deducted = (route == LOCAL_RETURN) | np.isin(terms.billed_in, standard_states(facts.as_of_day, facts))
    worth = terms.avoidable | ~deducted
    helped = without & worth & (route != SMALL_BUSINESS) & (year["saved"] != 0)
    states = np.unique(terms.billed_in[helped]).tolist()
    at_hand = [code for code in states if holds_another(code, facts.as_of_day, facts)]
    held = np.isin(terms.billed_in, at_hand)
    first = of_fulfiller(terms.cases, facts, "transport_supply") == "first"
    needs = np.select([held & first, held, first], [NOTHING, TRANSPORT, NUMBER], NUMBER_AND_TRANSPORT).astype(
        object
    )
    return helped, needs
