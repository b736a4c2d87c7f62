"""Article 194: where a buyer may account for the VAT on a local sale of somebody from elsewhere, on both sides of the chain.

Rows of `eu/reverse_charge` say which member states use the option for plain goods and what the buyer must have there. A
row of the whole Union with `yes` (Directive (EU) 2025/516) holds also where the state has no option. That the fulfiller is
not established where it makes the goods is the rare case: it is taken to be established there, and this rule shows only
what would follow if it is not. The seller's own local sales to businesses are the other side: there the seller is the one
from elsewhere, and its buyer may have to account for the VAT.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.eu.numbers import standard_states
from taxcalc.facts import holds

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases

USED = ("yes", "conditional", "unclear")
COLUMNS = ("ordinary_goods", "supplier", "buyer")
ESTABLISHED, REGISTERED, EITHER, ANY = range(4)
BUYER = {
    "number": REGISTERED,
    "establishment": ESTABLISHED,
    "establishment_or_number": EITHER,
    "establishment_or_representative": EITHER,
    "business": ANY,
    "unknown": EITHER,
}
"""What the buyer must be there; that a registered seller has a representative is not known and taken as possible."""


def reverse_charge_rows(cases: Cases, state: npt.NDArray[np.int16], facts: Facts) -> npt.NDArray[np.int32]:
    """Give per case the row under which the seller would account for the VAT, -1 where none is met."""
    distinct, back = distinct_rows((state, cases.day))
    return np.array([reverse_charge_row(s, d, facts) for s, d in distinct], np.int32)[back]


def reverse_charge_row(state: int, day: int, facts: Facts) -> int:
    """Give the row that a seller meets in a state on a day, whatever the fulfiller is; -1 where there is none."""
    table, own = facts.tables["eu/reverse_charge"], _row_used(state, day, facts)
    if own < 0:
        return -1
    established = state in facts.established_member_states
    registered = state in standard_states(day, facts)
    met = {ESTABLISHED: established, REGISTERED: registered, EITHER: established or registered, ANY: True}
    return own if met[BUYER[str(table["buyer"][own])]] else -1


def _row_used(state: int, day: int, facts: Facts) -> int:
    """Give the row of a state that uses the option on a day, or that of the Union where it binds all; -1 where none does."""
    table = facts.tables["eu/reverse_charge"]
    union = table.row(day, place="EU")
    own = table.row(day, place=state)
    if union >= 0 and table["ordinary_goods"][union] == "yes" and table["ordinary_goods"][own] != "yes":
        own = union
    return own if own >= 0 and table["ordinary_goods"][own] in USED else -1


def buyer_accounts_rows(cases: Cases, state: npt.NDArray[np.int16], facts: Facts) -> npt.NDArray[np.int32]:
    """Give per case the row under which a business with a number of the state would account for the seller's VAT; -1: none.

    The seller must not be established there and, where the row says so, not registered there either. Whether the buyer is
    established there, as some rows ask, is not known and taken as possible.
    """
    asked = (cases.buyer_number == state) & ~np.isin(state, facts.established_member_states)
    at = np.flatnonzero(asked)
    found = np.full(state.size, -1, np.int32)
    if at.size:
        distinct, back = distinct_rows((state[at], cases.day[at]))
        found[at] = np.array([_seller_from_elsewhere(s, d, facts) for s, d in distinct], np.int32)[back]
    return found


def _seller_from_elsewhere(state: int, day: int, facts: Facts) -> int:
    """Give the row under which the seller's business customers in a state account for its VAT on a day; -1: none."""
    row = _row_used(state, day, facts)
    unregistered_only = str(facts.tables["eu/reverse_charge"]["supplier"][row]) == "establishment_and_number"
    return -1 if unregistered_only and state in standard_states(day, facts) else row


def registered_elsewhere_only(
    cases: Cases, state: npt.NDArray[np.int16], facts: Facts
) -> npt.NDArray[np.bool_]:
    """Tell where the profile lists the member states in which the fulfiller collects, and the state is not one of them.

    A list without any member state (states of the United States alone) says nothing of the Union.
    """
    distinct, back = distinct_rows((state, cases.day, cases.fulfiller))
    return np.array([_left_out(s, d, f, facts) for s, d, f in distinct], bool)[back]


def _left_out(state: int, day: int, fulfiller_code: int, facts: Facts) -> bool:
    """Look at one state, day and fulfiller."""
    listed = facts.fulfiller(fulfiller_code).collects_in
    if isinstance(listed, str):
        return False
    inside = [one for one in listed if facts.eu_states[places.index(one.place)] or one.place == "EU"]
    here = {places.code(state), "EU"}
    return bool(inside) and not any(
        one.place in here and holds(one.from_day, one.until_day, day) for one in inside
    )
