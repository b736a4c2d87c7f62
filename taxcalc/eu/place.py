"""Where a sale in or into the Union is taxed: one row a situation; the article of each stands in eu/place_of_supply.

Dispatch and arrival in one member state: there, and so is a digital supply where the seller is established. Dispatch from
one member state to a consumer in another: the state of arrival, or the seller's own state below the EUR 10 000 limit. To a
business: with a number of another member state than that of dispatch exempt at dispatch, with a number of the very state of
dispatch taxed there. A digital supply to a business with a number of a state where the seller is not established: the
buyer's state, where the buyer accounts for it; Northern Ireland is inside for goods only. From outside the Union: an
import, by whoever imports. To a place outside the VAT
territory: an export, or a sale abroad where the transport is the fulfiller's. A facilitator is the deemed supplier of
imports up to EUR 150 and of goods of sellers not established in the Union.
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
NORTHERN_IRELAND = "XI"


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
    BUSINESS_AT_DISPATCH = 13
    AFTER_EXPORT = 14
    SERVICE_OUTSIDE = 15


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
    at_dispatch = np.isin(situation, (Situation.INTRA_COMMUNITY, Situation.BUSINESS_AT_DISPATCH))
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
    digital = cases.product_class == DIGITAL
    arrives_inside, leaves_inside = in_vat_territory(arrival, facts), in_vat_territory(dispatch, facts)
    arrives_inside &= ~(digital & (arrival == places.index(NORTHERN_IRELAND)))
    states = member_state(arrival, facts), member_state(dispatch, facts)
    same_state = (states[0] == states[1]) & arrives_inside & leaves_inside
    moves = arrives_inside & leaves_inside & ~same_state
    comes_in = arrives_inside & ~leaves_inside
    business = cases.buyer_number > 0
    of_dispatch = business & (cases.buyer_number == states[1])
    service_to_business = business & ~np.isin(cases.buyer_number, facts.established_member_states)
    service_at_home = digital & np.isin(states[0], facts.established_member_states)
    first_supply = of_fulfiller(cases, facts, "transport_supply") == "first"
    within_limit = within_limit_seller(facts, states[0])
    sent_from_home = states[1] == facts.home
    rows = (
        (~arrives_inside & digital, Situation.SERVICE_OUTSIDE),
        (~arrives_inside & leaves_inside & first_supply, Situation.AFTER_EXPORT),
        (~arrives_inside & leaves_inside, Situation.EXPORT),
        (~arrives_inside, Situation.OUTSIDE),
        (_facilitated(cases, leaves_inside, comes_in, facts), Situation.DEEMED_SUPPLIER),
        (digital & service_to_business, Situation.SERVICE_TO_BUSINESS),
        (service_at_home, Situation.DOMESTIC),
        (digital & within_limit, Situation.DISTANCE_WITHIN_LIMIT),
        (digital, Situation.DISTANCE),
        (same_state, Situation.DOMESTIC),
        (moves & first_supply, Situation.LOCAL_AFTER_TRANSPORT),
        (moves & of_dispatch, Situation.BUSINESS_AT_DISPATCH),
        (moves & business, Situation.INTRA_COMMUNITY),
        (moves & within_limit & sent_from_home, Situation.DISTANCE_WITHIN_LIMIT),
        (moves, Situation.DISTANCE),
        (comes_in & _imported_first(cases, facts), Situation.IMPORTED_FOR_SALE),
        (comes_in & cases.over_limit, Situation.IMPORT_HIGH_VALUE),
        (comes_in, Situation.IMPORT_LOW_VALUE),
    )
    return np.select([mask for mask, _ in rows], [int(s) for _, s in rows], int(Situation.NONE)).astype(
        np.int8
    )


def _facilitated(cases: Cases, leaves_inside: Flags, comes_in: Flags, facts: Facts) -> Flags:
    """Tell which goods a facilitator is deemed to have bought and sold to a consumer.

    Imports up to the limit, whoever the seller is, and goods inside the Union of sellers not established in it; a sale of
    an established seller through a marketplace stays its own.
    """
    goods_to_consumer = (cases.product_class != DIGITAL) & (cases.buyer_number <= 0)
    of_outsider = leaves_inside & (len(facts.established_member_states) == 0)
    low_value_import = comes_in & ~cases.over_limit
    marketplace = cases.channel == Channel.MARKETPLACE
    return np.asarray(marketplace & goods_to_consumer & (of_outsider | low_value_import), np.bool_)


def _imported_first(cases: Cases, facts: Facts) -> Flags:
    """Tell which goods the seller or the fulfiller imports before the sale.

    A seller that imports consumers' parcels up to the limit under its own import scheme makes distance sales of imported
    goods all the same.
    """
    importer = of_fulfiller(cases, facts, "importer")
    by_scheme = ~cases.over_limit & (cases.buyer_number <= 0) & scheme_held(cases.day, facts, "EU", "ioss")
    return np.asarray((importer == "fulfiller") | ((importer == "seller") & ~by_scheme), np.bool_)


def scheme_held(day: npt.NDArray[np.int32], facts: Facts, place: str, scheme: str) -> Flags:
    """Tell for each day whether a registration of a scheme holds."""
    days, back = np.unique(day, return_inverse=True)
    held = np.array([facts.registered(place, int(each), scheme) for each in days], bool)
    return held[back.reshape(-1)] if days.size else np.zeros(0, bool)


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
