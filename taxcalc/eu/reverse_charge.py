"""Article 194: where the seller itself may account for the VAT on a local sale of a fulfiller from elsewhere.

Rows of `eu/reverse_charge` say which member states use the option for plain goods and what the buyer must have there. A
row of the whole Union with `yes` (Directive (EU) 2025/516) holds also where the state has no option. That the fulfiller is
not established where it makes the goods is the rare case: it is taken to be established there, and this rule shows only
what would follow if it is not.
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
"""What the seller must be there; that a registered seller has a representative is not known and taken as possible."""


def reverse_charge_rows(cases: Cases, state: npt.NDArray[np.int16], facts: Facts) -> npt.NDArray[np.int32]:
    """Give per case the row under which the seller would account for the VAT, -1 where none is met."""
    distinct, back = distinct_rows((state, cases.day))
    return np.array([reverse_charge_row(s, d, facts) for s, d in distinct], np.int32)[back]


def reverse_charge_row(state: int, day: int, facts: Facts) -> int:
    """Give the row that a seller meets in a state on a day, whatever the fulfiller is; -1 where there is none."""
    table = facts.tables["eu/reverse_charge"]
    union = table.row(day, place="EU")
    own = table.row(day, place=state)
    if union >= 0 and table["ordinary_goods"][union] == "yes" and table["ordinary_goods"][own] != "yes":
        own = union
    if own < 0 or table["ordinary_goods"][own] not in USED:
        return -1
    established = state in facts.established_member_states
    registered = state in standard_states(day, facts)
    met = {ESTABLISHED: established, REGISTERED: registered, EITHER: established or registered, ANY: True}
    return own if met[BUYER[str(table["buyer"][own])]] else -1


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
