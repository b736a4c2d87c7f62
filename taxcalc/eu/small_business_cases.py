"""The small-business exemption per case: whether it holds, may hold, or is over, and the table rows that say so.

An exempt seller's sale to a business of another member state is exempt under the scheme too, not under art. 138: the
buyer has no acquisition (Directive 2006/112/EC art. 139(1); row `businesses_of_other_states` of eu/scheme_rules).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.eu.place import Situation, member_state, rules_of
from taxcalc.eu.small_business import (
    LIMITS,
    NOT_USED,
    POSSIBLE,
    RULES,
    SCHEME,
    UNION_LIMIT,
    USED,
    covered_state,
    rule_row,
    use_of,
)
from taxcalc.eu.small_business_rules import COLUMNS
from taxcalc.regime import DUTY, HOLDS, IN_DOUBT, OVER

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed
    from taxcalc.tables.table import Table

    Flags = npt.NDArray[np.bool_]
    Rows = tuple[Table, npt.NDArray[np.int32], tuple[str, ...]]

SMALL_IN_DOUBT, SMALL_OVER, SMALL_POSSIBLE = (
    "eu_small_business_in_doubt",
    "eu_small_business_over",
    "eu_small_business_possible",
)
"""Reasons of sales that are taxed, though an exemption held before, may still hold, or may be had. A sale that is at home
only by the EUR 10 000 limit keeps that as its reason where an exemption is merely possible.
"""


class Exempt:
    """The exemption of each case: `holds`, `doubted` and `over` where the scheme is used, `possible` where it may be."""

    def __init__(self, cases: Cases, placed: Placed, facts: Facts) -> None:
        """Look at the place of supply, the day and what became of the exemption by then."""
        self._cases, self._placed = cases, placed
        self._state = covered_state(placed.place, placed.situation, facts)
        self._use = use_of(self._state, cases.day, facts)
        used, to_business = self._use == USED, placed.situation == Situation.INTRA_COMMUNITY
        self.holds: Flags = used & (cases.exemption == HOLDS)
        self.doubted: Flags = used & (cases.exemption == IN_DOUBT) & ~to_business
        self.over: Flags = used & (cases.exemption == OVER) & ~to_business
        self.possible: Flags = (self._use == POSSIBLE) & (cases.exemption != OVER) & ~to_business

    @property
    def open_end(self) -> Flags:
        """Cases that may be exempt after all where they are taxed: no tax at the low end."""
        return self.doubted | self.possible

    def used_on_arrival(self, facts: Facts) -> Flags:
        """Cases that arrive in a member state where the scheme is used as well."""
        arrival = member_state(rules_of(self._cases.destination, facts), facts)
        return np.asarray(use_of(arrival, self._cases.day, facts) == USED, np.bool_)

    def rows(
        self, duty: npt.NDArray[np.int8], reason: npt.NDArray[np.object_], facts: Facts
    ) -> tuple[Rows, ...]:
        """Name the rows behind each case that the scheme decides."""
        taxed = duty == DUTY["collect"]
        decides = (duty == DUTY["exempt_small_business"]) | (taxed & self.open_end) | (reason == SMALL_OVER)
        abroad = decides & (self._state != facts.home)
        to_business = decides & (self._placed.situation == Situation.INTRA_COMMUNITY)
        union = np.full(decides.size, places.index("EU"), np.int16)
        days, tables = self._cases.day, facts.tables
        of_union = tables["eu/other_limits"].lookup(days, measure=UNION_LIMIT, place=union)
        opened = tables[LIMITS].lookup(days, place=self._state)
        business = tables["eu/scheme_rules"].lookup(
            days, place=union, subject=SCHEME, rule="businesses_of_other_states"
        )
        none = np.int32(-1)
        return (
            (tables[RULES], np.where(decides, self._rule_rows(facts), none), COLUMNS),
            (tables["eu/other_limits"], np.where(abroad, of_union, none), ("amount",)),
            (tables[LIMITS], np.where(abroad, opened, none), ("open_to_other_states",)),
            (tables["eu/scheme_rules"], np.where(to_business, business, none), ("answer",)),
        )

    def _rule_rows(self, facts: Facts) -> npt.NDArray[np.int32]:
        """Find the row of the national limit for each case in which the scheme is used or possible."""
        at = np.flatnonzero(self._use != NOT_USED)
        found = np.full(self._use.size, -1, np.int32)
        found[at] = [rule_row(int(self._state[i]), int(self._cases.day[i]), facts) for i in at]
        return found
