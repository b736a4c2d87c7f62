"""Where a sale in or into the Union is taxed: one row a situation, each with its article.

Articles are of Directive 2006/112/EC. Dispatch and arrival in one member state: there (art. 31, 32). Dispatch from one
member state to a consumer in another: the state of arrival (art. 33(a)), or the seller's own state below the
EUR 10 000 limit (art. 59c). To a business with a number of another member state: exempt at dispatch (art. 138). A digital
supply to a business with a number of a state where the seller is not established: the buyer's state, where the buyer
accounts for it (art. 44, 196). From outside the Union: import (art. 33(b), 143(1)(ca)). To a place outside the VAT
territory (art. 6, 146): export. A facilitator is the deemed supplier of imports up to EUR 150 and of goods of sellers not
established in the Union (art. 14a).
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import PRODUCT_CLASSES, Channel
from taxcalc.regime import NO_LIMIT, Placed

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases

    Flags = npt.NDArray[np.bool_]
    PlaceCodes = npt.NDArray[np.int16]

DIGITAL = PRODUCT_CLASSES.index("digital")


class Situation(IntEnum):
    """What kind of supply a case is; `Placed.situation`."""

    NONE = 0
    DOMESTIC = 1
    DISTANCE_WITHIN_LIMIT = 2
    DISTANCE = 3
    INTRA_COMMUNITY = 4
    IMPORT_LOW_VALUE = 5
    IMPORT_HIGH_VALUE = 6
    IMPORTED_FOR_SALE = 7
    EXPORT = 8
    DEEMED_SUPPLIER = 9
    LOCAL_AFTER_TRANSPORT = 10
    OUTSIDE = 11
    SERVICE_TO_BUSINESS = 12


def place(cases: Cases, facts: Facts) -> Placed:
    """Answer per case. `limit_place` is the Union for sales that count for (and live under) the EUR 10 000 limit.

    With the duty known (`cases.state` above 0 on a sale under the limit: crossed, or taxed at destination by choice)
    such a sale moves from the home state to the state of arrival.
    """
    union = places.index("EU")
    arrival, dispatch = rules_of(cases.destination, facts), rules_of(cases.ship_from, facts)
    situation = situations(cases, arrival, dispatch, facts)
    within = situation == Situation.DISTANCE_WITHIN_LIMIT
    at_home = within & (cases.state == 0)
    at_dispatch = situation == Situation.INTRA_COMMUNITY
    home = facts.home if within.any() else 0
    where = np.where(at_home, np.int16(home), np.where(at_dispatch, dispatch, arrival)).astype(np.int16)
    limit_place = np.where(within, np.int16(union), np.int16(NO_LIMIT)).astype(np.int16)
    return Placed(where, situation, limit_place, np.ones(cases.size, bool))


def rules_of(codes: PlaceCodes, facts: Facts) -> PlaceCodes:
    """Give the place whose VAT rules hold at each place: Monaco counts as France (art. 7)."""
    table = facts.tables["eu/territories"]
    as_other = np.arange(len(places.codes()), dtype=np.int16)
    for row in np.flatnonzero(table["treatment"][:-1] == "as_other"):
        as_other[table["place"][row]] = places.index(str(table["treated_as"][row]))
    return as_other[codes]


def in_vat_territory(codes: PlaceCodes, facts: Facts) -> Flags:
    """Tell which places belong to the VAT territory of the Union for goods.

    Member states, Northern Ireland and special territories with own rates; not the territories of art. 6.
    """
    table = facts.tables["eu/territories"]
    inside = facts.eu_states.copy()
    for row in range(table.size):
        inside[table["place"][row]] = table["treatment"][row] in ("inside", "own_rates", "as_other") and (
            table["treatment"][row] != "as_other"
            or bool(facts.eu_states[places.index(str(table["treated_as"][row]))])
        )
    return inside[codes]


def member_state(codes: PlaceCodes, facts: Facts) -> PlaceCodes:
    """Give the member state that each place of the VAT territory belongs to (Madeira → Portugal)."""
    country = places.countries()[codes]
    return np.where(facts.eu_states[codes], codes, country).astype(np.int16)


def situations(cases: Cases, arrival: PlaceCodes, dispatch: PlaceCodes, facts: Facts) -> npt.NDArray[np.int8]:
    """Name the situation of each case: the first row that fits."""
    arrives_inside, leaves_inside = in_vat_territory(arrival, facts), in_vat_territory(dispatch, facts)
    states = member_state(arrival, facts), member_state(dispatch, facts)
    same_state = (states[0] == states[1]) & arrives_inside & leaves_inside
    digital = cases.product_class == DIGITAL
    marketplace = cases.channel == Channel.MARKETPLACE
    outsider = len(facts.established_member_states) == 0
    business = (cases.buyer_number > 0) & (cases.buyer_number != states[1])
    elsewhere = ~np.isin(cases.buyer_number, facts.established_member_states)
    service_to_business = (cases.buyer_number > 0) & elsewhere
    importer = of_fulfiller(cases, facts, "importer")
    moves = arrives_inside & leaves_inside & ~same_state
    comes_in = arrives_inside & ~leaves_inside
    consumer = cases.buyer_number <= 0
    low_value_import = comes_in & ~cases.over_limit
    facilitated = marketplace & ~digital & consumer & ((outsider & leaves_inside) | low_value_import)
    first_supply = of_fulfiller(cases, facts, "transport_supply") == "first"
    rows = (
        (~arrives_inside & (leaves_inside | digital), Situation.EXPORT),
        (~arrives_inside, Situation.OUTSIDE),
        (facilitated, Situation.DEEMED_SUPPLIER),
        (digital & service_to_business, Situation.SERVICE_TO_BUSINESS),
        (digital & within_limit_seller(facts, states[0]), Situation.DISTANCE_WITHIN_LIMIT),
        (digital, Situation.DISTANCE),
        (same_state, Situation.DOMESTIC),
        (moves & first_supply, Situation.LOCAL_AFTER_TRANSPORT),
        (moves & business, Situation.INTRA_COMMUNITY),
        (
            moves & within_limit_seller(facts, states[0]) & (states[1] == facts.home),
            Situation.DISTANCE_WITHIN_LIMIT,
        ),
        (moves, Situation.DISTANCE),
        (comes_in & (importer != "customer"), Situation.IMPORTED_FOR_SALE),
        (comes_in & cases.over_limit, Situation.IMPORT_HIGH_VALUE),
        (comes_in, Situation.IMPORT_LOW_VALUE),
    )
    return np.select([mask for mask, _ in rows], [int(s) for _, s in rows], int(Situation.NONE)).astype(
        np.int8
    )


def within_limit_seller(facts: Facts, arrival_state: PlaceCodes) -> Flags:
    """Tell where the EUR 10 000 limit can help: a seller established in one member state only, selling into another.

    Goods must also leave from that state: explicit from 2027 and in some national law before; until then the cautious
    reading (see `eu/thresholds`).
    """
    states = facts.established_member_states
    one = len(states) == 1 and states[0] == facts.home and facts.union_limit_row >= 0
    return np.asarray((arrival_state != facts.home) & one, dtype=np.bool_)


def of_fulfiller(cases: Cases, facts: Facts, name: str) -> npt.NDArray[np.object_]:
    """Give a fact of each case's fulfiller."""
    found = np.full(cases.size, "", object)
    for code in np.unique(cases.fulfiller):
        found[cases.fulfiller == code] = getattr(facts.fulfiller(int(code)), name)
    return found
