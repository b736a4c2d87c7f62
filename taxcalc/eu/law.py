"""The rows of the law behind each answer of the Union: the article of the situation, and the rules of the limit.

A case carries them with the rows of its rates, so that every figure leads to the article that it rests on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Channel
from taxcalc.duties import CAUSE
from taxcalc.eu.place import DIGITAL, Situation, member_state, rules_of, situations
from taxcalc.regime import Evidence

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed
    from taxcalc.tables.load import Table

    Flags = npt.NDArray[np.bool_]
    Used = tuple[Table, npt.NDArray[np.int32], tuple[str, ...]]

UNION = "EU"
NONE = np.int32(-1)
PROOF = ("taxed", "pays")
"""Columns of eu/place_of_supply that an answer rests on."""


def law(cases: Cases, placed: Placed, facts: Facts) -> tuple[Used, ...]:
    """Give rows of eu/place_of_supply and eu/scheme_rules for each case, as evidence.

    Distance sales also carry the rule that decides about the limit: who has it, that goods have to leave from home, what
    crossing does, the choice to be taxed on arrival.
    """
    distance = np.isin(placed.situation, (Situation.DISTANCE, Situation.DISTANCE_WITHIN_LIMIT))
    within = placed.situation == Situation.DISTANCE_WITHIN_LIMIT
    beyond = placed.situation == Situation.DISTANCE
    one_state = facts.established_member_states == (facts.home,)
    crossed = within & (cases.state == CAUSE["threshold"])
    chosen = within & (cases.state == CAUSE["election"])
    decides = (
        (distance & (not one_state), "established_in_one_state_only"),
        (beyond & one_state, "sent_from_home_only"),
        (within & (cases.state == 0), "what_counts"),
        (crossed, "effect_when_crossed"),
        (chosen, "option_for_destination"),
        (presumed_of_marketplace(cases, placed), "digital_by_marketplace"),
    )
    return (_situation(cases, placed, facts), *(_rule(cases, rule, mask, facts) for mask, rule in decides))


def leaving(cases: Cases, facts: Facts) -> Evidence:
    """Give the rows of eu/place_of_supply behind goods that leave the Union for a place with other rules.

    Digital supplies have none: they leave nothing.
    """
    at = situations(cases, rules_of(cases.destination, facts), rules_of(cases.ship_from, facts), facts)
    table = facts.tables["eu/place_of_supply"]
    rows = table.lookup(cases.day, place=_union(cases.size), situation=_names(at))
    exported = np.isin(at, (Situation.EXPORT, Situation.AFTER_EXPORT))
    return Evidence(((table, np.where(exported, rows, NONE), PROOF),))


def presumed_of_marketplace(cases: Cases, placed: Placed) -> Flags:
    """Tell which digital supplies to consumers a marketplace is presumed to make itself (Regulation 282/2011 art. 9a).

    Unless the seller is named as the supplier and the terms say so, which is not known.
    """
    sold = np.isin(
        placed.situation, (Situation.DOMESTIC, Situation.DISTANCE, Situation.DISTANCE_WITHIN_LIMIT)
    )
    digital = (cases.product_class == DIGITAL) & (cases.channel == Channel.MARKETPLACE)
    return np.asarray(sold & digital & (cases.buyer_number <= 0), np.bool_)


def _situation(cases: Cases, placed: Placed, facts: Facts) -> Used:
    """Find the row of each case's situation: the member state's own, else the Union's."""
    table = facts.tables["eu/place_of_supply"]
    names = _names(placed.situation)
    state = member_state(rules_of(cases.destination, facts), facts)
    own = table.lookup(cases.day, place=state, situation=names)
    union = table.lookup(cases.day, place=_union(cases.size), situation=names)
    return table, np.where(own >= 0, own, union), PROOF


def _names(situation: npt.NDArray[np.int8]) -> npt.NDArray[np.object_]:
    """Give situations as the table names them."""
    names = [each.name.lower() for each in Situation]
    return np.array(names, object)[situation]


def _rule(cases: Cases, rule: str, applies: Flags, facts: Facts) -> Used:
    """Find the row of one rule of distance sales, of the home state where it has its own, else of the Union."""
    table = facts.tables["eu/scheme_rules"]
    asked = {
        "subject": np.full(cases.size, "distance_sales", object),
        "rule": np.full(cases.size, rule, object),
    }
    home = table.lookup(cases.day, place=np.full(cases.size, facts.home, np.int16), **asked)
    union = table.lookup(cases.day, place=_union(cases.size), **asked)
    return table, np.where(applies, np.where(home >= 0, home, union), NONE), ()


def _union(size: int) -> npt.NDArray[np.int16]:
    """Give the place of the Union's own rows."""
    return np.full(size, places.index(UNION), np.int16)
