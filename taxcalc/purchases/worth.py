"""Which documents are worth giving to the fulfiller, and where only registering would help, ranked by a year's tax.

What a document would have saved is the fulfiller's expected tax of the last four completed quarters or, on lines whose
charge is in the files, the smaller of the two. Samples are left out, because their tax is due. Tax of days on which the
seller had to register counts only for a number of that state. One multistate form is one action for all states that take
it; a state that takes both goes with the form that saves more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.duties import CAUSE
from taxcalc.lasting import lasting
from taxcalc.us.asked_for import MULTISTATE, OWN_NUMBER, STATE, asked_for
from taxcalc.us.fulfiller import OBLIGED

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.lasting import Lasting
    from taxcalc.us.asked_for import AskedFor

BINDING = tuple(word for word, number in CAUSE.items() if number in OBLIGED)


@dataclass(frozen=True)
class StateWorth:
    """What a document for one state is worth: minor units of the reporting currency over the last four quarters."""

    place: int
    saved: int
    lines: int
    lines_charged: int
    asks: AskedFor
    lasts: Lasting
    obliged: bool

    @property
    def rests_on(self) -> str:
        """Say whether the sum rests on what was charged, on what may be charged, or on both."""
        if not self.lines_charged:
            return "expected"
        return "charged" if self.lines_charged == self.lines else "both"


@dataclass(frozen=True)
class Action:
    """One thing to do: a form, what is needed first, and the states in which it helps, the largest first."""

    form: str
    needs: str
    states: tuple[StateWorth, ...]

    @property
    def saved(self) -> int:
        """Add up its states."""
        return sum(state.saved for state in self.states)


def us_cases(assessment: Assessment) -> npt.NDArray[np.bool_]:
    """Mark the cases in which a fulfiller's sale into a state was judged."""
    terms = assessment.run.terms
    judged = np.array([str(word).startswith("us_fulfiller") for word in terms.fulfiller.reason], bool)
    return np.asarray(judged & (terms.regime == places.US), dtype=np.bool_)


def state_worths(assessment: Assessment) -> list[StateWorth]:
    """Give every state in which a document would have saved something, by place code."""
    run, year = assessment.run, assessment.sums.year
    terms, day = run.terms, run.facts.as_of_day
    helped = us_cases(assessment) & ~terms.cases.sample & (year["saved"] != 0)
    bound = np.isin(terms.cases.state, OBLIGED)
    found = []
    for code in np.unique(terms.placed.place[helped]).tolist():
        obliged = run.duties.holding(code, day, *BINDING)
        asks = asked_for(code, day, obliged=obliged, facts=run.facts)
        if asks is None:
            continue
        here = helped & (terms.placed.place == code)
        if OWN_NUMBER not in asks.forms:
            here &= ~bound
        total = {name: int(year[name][here].sum()) for name in ("saved", "lines", "lines_charged")}
        if total["saved"] > 0:
            lasts = lasting(run.facts.tables["us/certificates"], code, day)
            found.append(StateWorth(code, **total, asks=asks, lasts=lasts, obliged=obliged))
    return sorted(found, key=lambda state: places.code(state.place))


def actions(worths: list[StateWorth]) -> list[Action]:
    """Put states together that one form with one need covers; the action that saves most comes first."""
    found: list[Action] = []
    for need in sorted({state.asks.needs for state in worths}):
        left = [state for state in worths if state.asks.needs == need]
        while left:
            form = _best_form(left)
            covered = [state for state in left if form in state.asks.forms]
            taken = covered if form in MULTISTATE else covered[:1]
            found.append(Action(form, need, tuple(sorted(taken, key=_largest_first))))
            left = [state for state in left if state not in taken]
    return sorted(found, key=lambda action: (-action.saved, action.form, _largest_first(action.states[0])))


def _best_form(left: list[StateWorth]) -> str:
    """Choose the multistate form that saves most in the states that are left; a state's own where none helps."""
    sums = {form: sum(s.saved for s in left if form in s.asks.forms) for form in MULTISTATE}
    best = max(MULTISTATE, key=lambda form: sums[form])
    if sums[best]:
        return best
    return STATE if any(STATE in state.asks.forms for state in left) else OWN_NUMBER


def _largest_first(state: StateWorth) -> tuple[int, str]:
    """Order states by what they save."""
    return -state.saved, places.code(state.place)


def strict_states(worths: list[StateWorth]) -> list[StateWorth]:
    """Give the states where only registering would help and nothing obliges to it, the largest first."""
    return sorted((state for state in worths if state.asks.strict), key=_largest_first)
