"""Lines → distinct cases: everything a rule looks at, packed into one whole number a line.

Thousands of cases stand for millions of lines. A case holds over a *period*: the days between two changes of any table
row or profile fact that concerns its place, so that one day of the period speaks for all. Case numbers follow from the
content alone, never from the order of the input.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.columns import NO_DAY, NO_PLACE, PRODUCT_CLASSES, TAX_INCLUDED_BY_PROFILE, Entry
from taxcalc.regime import Cases

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.spool import Lines

    Index = npt.NDArray[np.intp]

CAUSES, EXEMPTIONS = 8, 3
STATES = CAUSES * EXEMPTIONS
"""Radix of the duty state in a case number: its cause, and CAUSES times what became of a small-business exemption."""


@dataclass(frozen=True)
class Coding:
    """How a case is written as a number in this run. `used` are the destinations that occur (place codes)."""

    facts: Facts
    used: npt.NDArray[np.int16]
    dispatch: npt.NDArray[np.int16]
    zones: int

    @cached_property
    def periods(self) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int16], npt.NDArray[np.int32]]:
        """Lay out the periods: a grid place × day of period numbers, and place and first day of each period."""
        size = self.facts.last_day - self.facts.first_day + 1
        grid = np.full((len(places.codes()), size), -1, np.int32)
        owner: list[int] = []
        first: list[int] = []
        shared = self._shared_days()
        for place in self.used.tolist():
            changes = sorted({self.facts.first_day, *self._own_days(place), *shared})
            changes = [day for day in changes if self.facts.first_day <= day <= self.facts.last_day]
            ends = [*changes[1:], self.facts.last_day + 1]
            for begin, end in zip(changes, ends, strict=True):
                grid[place, begin - self.facts.first_day : end - self.facts.first_day] = len(first)
                owner.append(place)
                first.append(begin)
        return grid, np.array(owner, np.int16), np.array(first, np.int32)

    def _own_days(self, place: int) -> list[int]:
        """List the days on which a table changes for a place or for the country that it belongs to."""
        country = int(places.countries()[place])
        local = self.facts.tables.local
        own = local.change_days(place).tolist() if local is not None else []
        own += sorted(self.facts.days_after_documents(place))
        return own + [int(day) for code in {place, country} for day in self.facts.tables.change_days(code)]

    def _shared_days(self) -> set[int]:
        """List the days that concern every place: the profile's, those of dispatch and home, and of the Union."""
        treated_as = self.facts.tables["eu/territories"]["treated_as"]
        others = {places.index(str(code)) for code in set(treated_as.tolist()) - {""}}
        codes = {*self.dispatch.tolist(), self.facts.home, places.index("EU"), *others}
        of_tables = {int(day) for code in codes for day in self.facts.tables.change_days(code)}
        return of_tables | self.facts.profile_days()

    @property
    def radices(self) -> tuple[int, ...]:
        """Number of values of each part.

        Period, dispatch, class, channel, buyer, number, sample, limit, zone, fulfiller, order and tax point apart.
        """
        count = len(places.codes())
        return (
            self.periods[1].size,
            count,
            len(PRODUCT_CLASSES),
            2,
            3,
            count + 1,
            2,
            2,
            self.zones,
            len(self.facts.fulfillers),
            2,
        )

    def keys(self, parts: tuple[npt.NDArray[Any], ...]) -> Ints:
        """Pack the parts of each line into one number (mixed radix)."""
        key = parts[0].astype(np.int64)
        for radix, part in zip(self.radices[1:], parts[1:], strict=True):
            key *= radix
            key += part
        return key

    def cases(self, keys: Ints, state: npt.NDArray[np.int8] | None = None) -> Cases:
        """Unpack distinct numbers into the cases they stand for; `state` are numbers below STATES."""
        duty = np.zeros(keys.size, np.int8) if state is None else state
        left = keys.copy()
        parts: list[Ints] = []
        for radix in self.radices[:0:-1]:
            left, part = np.divmod(left, radix)
            parts.append(part)
        apart, fulfiller, zone, limit, sample, number, buyer, channel, product_class, ship_from = parts
        _, owner, first = self.periods
        return Cases(
            destination=owner[left],
            ship_from=ship_from.astype(np.int16),
            product_class=product_class.astype(np.int8),
            channel=channel.astype(np.int8),
            buyer=buyer.astype(np.int8),
            buyer_number=(number - 1).astype(np.int16),
            fulfiller=fulfiller.astype(np.int16),
            zone=zone.astype(np.int16),
            sample=sample.astype(bool),
            over_limit=limit.astype(bool),
            ordered_apart=apart.astype(bool),
            day=first[left],
            state=duty % CAUSES,
            exemption=duty // CAUSES,
        )


@dataclass(frozen=True)
class Settled:
    """What the profile settles for each line.

    Where it started, whether prices contain tax, the day its rules are of (the tax point), the day of its order, by which
    thresholds bind (both of a refund without its sale: the day of that sale), and its fulfiller by the position of the name
    in `Facts.fulfillers`.
    """

    ship_from: npt.NDArray[np.int16]
    included: npt.NDArray[np.bool_]
    rule_day: npt.NDArray[np.int32]
    duty_day: npt.NDArray[np.int32]
    fulfiller: npt.NDArray[np.int16]
    assumed_dispatch: int


class Defaults:
    """The profile's answers for lines that leave something open, by place code."""

    def __init__(self, facts: Facts, fulfillers: list[str]) -> None:
        """Prepare the answers once for all places; `fulfillers` are the names as the lines number them."""
        self.fulfiller = np.array([facts.fulfillers.index(name) for name in fulfillers] or [0], np.int16)
        count = len(places.codes())
        codes = places.codes()
        countries = places.countries()
        self.included = np.array(
            [
                facts.seller.includes_tax(codes[countries[i]] if countries[i] > 0 else codes[i])
                for i in range(count)
            ],
            bool,
        )
        self.dispatch = np.stack(
            [_dispatch_by_destination(facts, code) for code in range(max(len(facts.fulfillers), 1))]
        )

    def settle(self, lines: Lines) -> Settled:
        """Fill in the open answers of some lines."""
        destination = lines["destination"]
        fulfiller = self.fulfiller[lines["fulfiller"]]
        open_dispatch = lines["ship_from"] == NO_PLACE
        dispatch = lines["ship_from"]
        if open_dispatch.any():
            by_profile = self.dispatch[fulfiller, destination]
            dispatch = np.where(open_dispatch, by_profile, dispatch).astype(np.int16)
        said = lines["tax_included"]
        included = np.where(said == TAX_INCLUDED_BY_PROFILE, self.included[destination], said == 1)
        unmatched = (lines["entry"] == Entry.REFUND) & (lines["original_day"] != NO_DAY)
        rule_day, duty_day = lines["tax_day"], lines["day"]
        if unmatched.any():
            rule_day = np.where(unmatched, lines["original_day"], rule_day)
            duty_day = np.where(unmatched, lines["original_day"], duty_day)
        return Settled(dispatch, included, rule_day, duty_day, fulfiller, int(open_dispatch.sum()))


def _dispatch_by_destination(facts: Facts, fulfiller: int) -> npt.NDArray[np.int16]:
    """Choose the site for each destination: in its country, else in its customs union, else the first one.

    The home country stands in where the profile names no site at all.
    """
    sites = [places.index(site) for site in facts.fulfiller(fulfiller).ship_from if site in places.codes()]
    countries, states = places.countries(), facts.eu_states
    territories = facts.tables["eu/territories"]
    in_union = states | states[countries]
    in_union[territories["place"][:-1][territories["customs_territory"][:-1]]] = True
    fallback = sites[0] if sites else facts.home
    chosen = np.full(len(places.codes()), fallback, np.int16)
    for site in reversed(sites):
        if states[site] or states[countries[site]]:
            chosen[in_union] = site
    for site in reversed(sites):
        chosen[countries == countries[site]] = site
    return chosen
