"""The small-business scheme: in which member state it may be used on a day, and in whose turnover a sale counts.

Directive 2006/112/EC art. 281-294 as set by Directive (EU) 2020/285: a seller established in a member state may be exempt
there within its national limit (art. 284(1)), and in other member states that take part, within their limit and the
Union's (art. 284(2)). Sellers outside the Union and in Northern Ireland are shut out. Turnover is what is supplied in a
member state, without VAT, exports and sales to businesses of other member states included (art. 288; rows
`turnover_without` and `turnover_located` of eu/scheme_rules). An exempt seller has no input VAT: the fulfiller's VAT is a cost.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import distinct_rows
from taxcalc.columns import NO_DAY
from taxcalc.eu.place import (
    DIGITAL,
    Situation,
    in_vat_territory,
    member_state,
    of_fulfiller,
    place,
    rules_of,
)
from taxcalc.facts import holds
from taxcalc.regime import NO_LIMIT

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases

    Flags = npt.NDArray[np.bool_]
    PlaceCodes = npt.NDArray[np.int16]

SCHEME = "small_business"
RULES, LIMITS, UNION_LIMIT = "eu/small_business_rules", "eu/small_business", "small_business_union_turnover"
NOT_USED, POSSIBLE, USED = 0, 1, 2
"""The scheme in a state on a day: not open or not chosen; open without an application, but the profile is silent; used."""

SUPPLIED = (
    Situation.DOMESTIC,
    Situation.BUSINESS_AT_DISPATCH,
    Situation.DISTANCE_WITHIN_LIMIT,
    Situation.DISTANCE,
    Situation.LOCAL_AFTER_TRANSPORT,
    Situation.INTRA_COMMUNITY,
)
"""Supplies located in a member state that the exemption there can cover. Imports, with or without IOSS, are outside it."""

COUNTED_ONLY = (Situation.IMPORTED_FOR_SALE,)
"""Supplies that are not exempt under the scheme here, and count for the turnover all the same."""


def rule_row(state: int, day: int, facts: Facts) -> int:
    """Find the row of eu/small_business_rules for all sales, or else for goods, in force on a day; -1 where none is."""
    table = facts.tables[RULES]
    rows = (table.row(day, place=state, sales=sales) for sales in ("all", "goods"))
    return next((row for row in rows if row >= 0), -1)


def takes_part(state: int, facts: Facts) -> bool:
    """Tell whether anything is held of the scheme in a state: not so for Northern Ireland and outside the Union."""
    table = facts.tables[RULES]
    return any(table.first_day(place=state, sales=sales) != NO_DAY for sales in ("all", "goods"))


def in_union(facts: Facts) -> bool:
    """Tell whether the seller is established in a member state; a fixed establishment there is not enough (art. 284)."""
    return bool(facts.eu_states[facts.home]) and takes_part(facts.home, facts)


def refusal(state: int, day: int, facts: Facts) -> str:
    """Say why a registration of the scheme in a state has no effect on a day: the id of a reason, "" where it has.

    Reasons: `outside` the seller, `no_scheme` in the state, `standard` registration there too, and for the scheme in
    another state `too_early` (before the Union's limit began), `not_open` and `identified_elsewhere`.
    """
    code, row = places.code(state), rule_row(state, day, facts)
    if not in_union(facts):
        return "outside"
    if not takes_part(state, facts) or (row >= 0 and facts.tables[RULES]["window"][row] == "no_scheme"):
        return "no_scheme"
    if facts.registered(code, day, "standard"):
        return "standard"
    if state == facts.home:
        return ""
    if facts.tables["eu/other_limits"].row(day, measure=UNION_LIMIT, place=places.index("EU")) < 0:
        return "too_early"
    table = facts.tables[LIMITS]
    open_row = table.row(day, place=state)
    if open_row < 0 or table["open_to_other_states"][open_row] != "yes":
        return "not_open"
    named = {r.identified_in for r in facts.registrations_on(code, day, SCHEME)} - {None}
    return "identified_elsewhere" if named - {facts.seller.country} else ""


def refusals(facts: Facts) -> list[tuple[int, str]]:
    """List the states for which the profile names the scheme, with each reason why it has no effect on a day of the run."""
    found: set[tuple[int, str]] = set()
    for r in facts.seller.registrations:
        if r.scheme == SCHEME and r.place in places.codes():
            state = places.index(r.place)
            days = (day for day in _days_of_change(state, facts) if holds(r.from_day, r.until_day, day))
            found.update((state, refusal(state, day, facts)) for day in days)
    return sorted(pair for pair in found if pair[1])


def use_on(state: int, day: int, facts: Facts) -> int:
    """Tell how the scheme stands in a state on a day: NOT_USED, POSSIBLE or USED.

    POSSIBLE is the home state of a seller whose profile names no registration of any kind there, where the exemption
    needs no application.
    """
    if not facts.eu_states[state] or refusal(state, day, facts):
        return NOT_USED
    if facts.registered(places.code(state), day, SCHEME):
        return USED
    row = rule_row(state, day, facts)
    by_itself = row >= 0 and not facts.tables[RULES]["on_request"][row]
    return POSSIBLE if state == facts.home and by_itself and not _known_at_home(day, facts) else NOT_USED


def _known_at_home(day: int, facts: Facts) -> bool:
    """Tell whether the profile names a registration for VAT by the home state, one-stop shops included."""
    home = facts.seller.country
    here = [
        r for r in facts.seller.registrations if home in (r.place, r.identified_in) and r.scheme != SCHEME
    ]
    return any(r in facts.registrations_on(r.place, day) for r in here)


def use_of(states: PlaceCodes, days: npt.NDArray[np.int32], facts: Facts) -> npt.NDArray[np.int8]:
    """Tell it for many states and days; NO_LIMIT as a state is not used."""
    if not in_union(facts):
        return np.zeros(states.size, np.int8)
    pairs, of_pair = distinct_rows((states, days))
    known = [NOT_USED if state < 0 else use_on(state, day, facts) for state, day in pairs]
    return np.array(known or [NOT_USED], np.int8)[of_pair]


def walked(facts: Facts) -> list[int]:
    """List the states whose limit is walked in this run: those where the scheme is used, or possible, on any day of it."""
    if not in_union(facts):
        return []
    named = {places.index(r.place) for r in facts.seller.registrations if r.scheme == SCHEME}
    return [state for state in sorted({facts.home, *named}) if _ever_used(state, facts)]


def _ever_used(state: int, facts: Facts) -> bool:
    """Tell whether the scheme is used, or possible, on any day of the run: it changes only where profile or tables do."""
    return any(use_on(state, day, facts) != NOT_USED for day in _days_of_change(state, facts))


def _days_of_change(state: int, facts: Facts) -> list[int]:
    """List the days of the run on which profile or tables may change how the scheme stands in a state, first and last too."""
    changes = {int(day) for name in (RULES, LIMITS) for day in facts.tables[name].change_days(state)}
    of_union = {int(day) for day in facts.tables["eu/other_limits"].change_days(places.index("EU"))}
    days = {facts.first_day, facts.as_of_day, *facts.profile_days(), *changes, *of_union}
    return sorted(day for day in days if facts.first_day <= day <= facts.as_of_day)


def abroad(facts: Facts) -> list[int]:
    """List the states other than home in which the scheme is used, so that the Union's limit is walked."""
    return [state for state in walked(facts) if state != facts.home]


def covered_state(placed_at: PlaceCodes, situation: npt.NDArray[np.int8], facts: Facts) -> PlaceCodes:
    """Give the member state whose exemption can cover each case, NO_LIMIT where none can."""
    inside = np.isin(situation, SUPPLIED)
    return np.where(inside, member_state(placed_at, facts), np.int16(NO_LIMIT)).astype(np.int16)


def turnover_state(cases: Cases, facts: Facts) -> tuple[PlaceCodes, PlaceCodes]:
    """Give the member state in whose turnover each case counts (NO_LIMIT: none), and the place whose VAT is in its price.

    The place of supply decides, so a distance sale counts at home while the EUR 10 000 limit keeps it there. Exports of
    goods count where they leave, unless the transport belongs to the fulfiller's sale.
    """
    placed = place(cases, facts)
    arrival, dispatch = rules_of(cases.destination, facts), rules_of(cases.ship_from, facts)
    exported = (placed.situation == Situation.EXPORT) & in_vat_territory(dispatch, facts)
    exported &= (cases.product_class != DIGITAL) & (of_fulfiller(cases, facts, "transport_supply") != "first")
    supplied = np.isin(placed.situation, (*SUPPLIED, *COUNTED_ONLY)) | _under_import_scheme(
        cases, placed.situation, facts
    )
    where = np.where(exported, member_state(dispatch, facts), member_state(placed.place, facts))
    counted = np.where(supplied | exported, where, np.int16(NO_LIMIT)).astype(np.int16)
    priced = np.where(supplied, placed.place, arrival).astype(np.int16)
    return counted, priced


def _under_import_scheme(cases: Cases, situation: npt.NDArray[np.int8], facts: Facts) -> Flags:
    """Tell which cases are distance sales of imported goods under IOSS, which are supplied on arrival (art. 33(c))."""
    days, back = np.unique(cases.day, return_inverse=True)
    held = np.array([facts.registered("EU", int(day), "ioss") for day in days] or [False], bool)
    return np.asarray((situation == Situation.IMPORT_LOW_VALUE) & held[back.reshape(-1)], dtype=np.bool_)
