"""What a run rests on: the tables, the profile, the day it looks from, and a few answers derived from them once."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.lasting import lasting
from taxcalc.seller import Fulfiller, resident_presence
from taxcalc.stock_places import by_stock_rules

if TYPE_CHECKING:
    from datetime import date

    import numpy as np
    import numpy.typing as npt

    from taxcalc.seller import Certificate, Presence, Registration, Seller
    from taxcalc.tables.load import Tables

EURO = "EUR"

DISTANCE_SALES = "distance_sales"
"""Measure of eu/thresholds that holds the limit for cross-border sales to consumers."""

OPEN = 2**31 - 1
"""Last day of something without an end (int32)."""


@dataclass(frozen=True)
class Facts:
    """Everything a rule may look at besides the lines. `fulfillers` are the run's names, in code order."""

    tables: Tables
    seller: Seller
    as_of: date
    fulfillers: tuple[str, ...]
    first_day: int
    last_day: int
    first_order_day: int
    assumptions: list[str] = field(default_factory=list)

    @cached_property
    def as_of_day(self) -> int:
        """The day the review looks from, as a number."""
        return number(self.as_of)

    @cached_property
    def eu_states(self) -> npt.NDArray[np.bool_]:
        """Per place code: a member state, or Northern Ireland, which counts as one for goods."""
        return places.is_member_state()

    @cached_property
    def home(self) -> int:
        """Place code of the country the seller is established in."""
        return places.index(self.seller.country)

    @cached_property
    def established_member_states(self) -> tuple[int, ...]:
        """Place codes of the member states in which the seller has an establishment."""
        codes = sorted(
            {places.index(country) for country in (self.seller.country, *self.seller.established_in)}
        )
        return tuple(code for code in codes if self.eu_states[code])

    @cached_property
    def union_limit_row(self) -> int:
        """Row of eu/thresholds with the distance-sales limit on the day of the review; -1 where there is none.

        In the currency of the home state where its law states one, else in euros.
        """
        table = self.tables["eu/thresholds"]
        asked = (self.home, places.index("EU"))
        rows = (table.row(self.as_of_day, measure=DISTANCE_SALES, place=place) for place in asked)
        return next((row for row in rows if row >= 0), -1)

    @cached_property
    def union_currency(self) -> str:
        """Currency in which the distance-sales limit is walked."""
        return str(self.tables["eu/thresholds"]["currency"][self.union_limit_row]) or EURO

    def registered(self, place: str, day: int, *schemes: str) -> bool:
        """Tell whether the seller is registered at the place on the day, in one of the schemes."""
        return any(self.registrations_on(place, day, *schemes))

    def registrations_on(self, place: str, day: int, *schemes: str) -> list[Registration]:
        """Give the registrations for a place that hold on a day."""
        return [
            r
            for r in self.seller.registrations
            if r.place == place
            and (not schemes or r.scheme in schemes)
            and holds(r.from_day, r.until_day, day)
        ]

    def fulfiller(self, code: int) -> Fulfiller:
        """Give the profile of a fulfiller by its code in the run; one the profile does not name is unknown in all."""
        named = {fulfiller.id: fulfiller for fulfiller in self.seller.fulfillers}
        unknown = Fulfiller(self.fulfillers[code], (), "unknown", "fulfiller", "unset", "customer")
        return named.get(self.fulfillers[code], unknown)

    @cached_property
    def _presences(self) -> tuple[tuple[Presence, ...], tuple[Presence, ...]]:
        """Those of the profile and the one of the home region: the ones that bind, and stock that is none by rule."""
        resident = resident_presence(self.seller, to_day(self.first_order_day))
        every = (*self.seller.presences, resident) if resident else self.seller.presences
        return by_stock_rules(every, self.tables["us/stock_rules"])

    @property
    def presences(self) -> tuple[Presence, ...]:
        """Every physical presence that binds the seller."""
        return self._presences[0]

    @property
    def stock_not_counted(self) -> tuple[Presence, ...]:
        """Stock that the profile names where a row of us/stock_rules makes it no presence."""
        return self._presences[1]

    def certificates_on(self, fulfiller: int, day: int) -> list[Certificate]:
        """Give the documents the fulfiller holds on a day."""
        name = self.fulfillers[fulfiller]
        return [
            c for c in self.seller.certificates if c.fulfiller == name and holds(c.from_day, c.until_day, day)
        ]

    def last_day_of(self, certificate: Certificate, place: int) -> int | None:
        """Give the last day on which a document works in a state by the state's own rule; None where there is none.

        What the profile says of its end stands instead of the rule, which `certificates_on` looks at.
        """
        if certificate.until_day is not None:
            return None
        last = lasting(self.tables["us/certificates"], place, number(certificate.from_day)).last_day
        return None if last is None else number(last)

    def days_after_documents(self, place: int) -> set[int]:
        """Give the days on which documents for a state have run out by the state's own rule."""
        code = places.code(place)
        papers = [c for c in self.seller.certificates if c.place in (code, "US")] if code[:3] == "US-" else []
        last = (self.last_day_of(paper, place) for paper in papers)
        return {day + 1 for day in last if day is not None}

    def profile_days(self) -> set[int]:
        """Give every day on which the profile changes, so that no case stretches over one."""
        spans: list[tuple[date | None, date | None]] = []
        seller = self.seller
        spans.extend((r.from_day, r.until_day) for r in seller.registrations)
        spans.extend((p.from_day, p.until_day) for p in (*self.presences, *self.stock_not_counted))
        spans.extend((c.from_day, c.until_day) for c in seller.certificates)
        spans.extend((e.from_day, e.until_day) for e in seller.elections)
        for fulfiller in seller.fulfillers:
            if not isinstance(fulfiller.collects_in, str):
                spans.extend((place.from_day, place.until_day) for place in fulfiller.collects_in)
        starts = {number(start) for start, _ in spans if start is not None}
        ends = {number(end) + 1 for _, end in spans if end is not None}
        return starts | ends


def holds(start: date | None, end: date | None, day: int) -> bool:
    """Tell whether a day lies between two days, both inclusive; a missing one is open."""
    return (start is None or number(start) <= day) and (end is None or day <= number(end))
