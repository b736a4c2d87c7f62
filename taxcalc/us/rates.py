"""State and local rates per case, with the range that an unknown locality leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.facts import holds
from taxcalc.zone_numbers import local_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.money import Ints
    from taxcalc.regime import Cases
    from taxcalc.seller import Presence
    from taxcalc.tables.rows import Rows

FLAT_RATE = "flat_rate"


@dataclass(frozen=True)
class Rates:
    """Rates per case in parts per million: the state part, and the local part low, expected and high.

    `known` tells where a row of the state holds on the day; elsewhere the rates are 0 and mean nothing.
    """

    state: Ints
    local_low: Ints
    local: Ints
    local_high: Ints
    known: npt.NDArray[np.bool_]
    used: tuple[tuple[Rows, npt.NDArray[np.int32], tuple[str, ...]], ...]

    @property
    def none(self) -> npt.NDArray[np.bool_]:
        """Places without any sales tax."""
        return (self.state <= 0) & (self.local_high <= 0)


def _known(values: npt.NDArray[np.generic], rows: npt.NDArray[np.int32]) -> Ints:
    """Take the values of rows, 0 where there is no row."""
    return np.where(rows >= 0, values[rows].astype(np.int64), 0)


def average_rates(cases: Cases, facts: Facts) -> Rates:
    """Give the state rate and the local rates as averages: low is what is due everywhere, high the highest.

    The expected local rate is the population-weighted average, and never below what is due everywhere: in New Jersey the
    average is lowered by half rates that one county's shops charge.
    """
    states, locals_ = facts.tables["us/state_rates"], facts.tables["us/local_rates"]
    state_rows = states.lookup(cases.day, place=cases.destination)
    local_rows = locals_.lookup(cases.day, place=cases.destination)
    average = _known(locals_["average_percent"], local_rows)
    lowest = _known(locals_["lowest_percent"], local_rows)
    average = np.maximum(average, lowest)
    highest = np.maximum(_known(locals_["highest_percent"], local_rows), average)
    used = (
        (states, state_rows, ("state_percent",)),
        (locals_, local_rows, ("average_percent", "highest_percent")),
    )
    return Rates(_known(states["state_percent"], state_rows), lowest, average, highest, state_rows >= 0, used)


def rates_on_arrival(cases: Cases, facts: Facts) -> Rates:
    """Give the rates where the parcel arrives: of its ZIP+4 or ZIP code where the user's store has them, else averages.

    A ZIP+4 has one rate. A ZIP code has a range; expected is the lowest where the state's law makes the lowest combined
    rate of a ZIP code apply (Streamlined Agreement section 305, rows of us/streamlined_states), else the rate that a row
    of the store gives for the ZIP code itself, else the average of the state as far as it lies in the range.
    """
    rates = average_rates(cases, facts)
    local = facts.tables.local
    if local is None:
        return rates
    rows = local.rows(cases.destination, local_of(facts.tables, cases.destination, cases.zone), cases.day)
    found = rates.known & (rows >= 0)
    rows = np.where(found, rows, np.int32(-1))
    low, said, high = (local.column(name, rows) - rates.state for name in ("low", "said", "high"))
    several = found & (low != high)
    laws = facts.tables["us/streamlined_states"]
    law_rows = laws.lookup(cases.day, place=cases.destination)
    lowest = several & (law_rows >= 0) & laws["lowest_rate_in_zip"][law_rows]
    stated = several & ~lowest & (local.column("said", rows) >= 0)
    expected = np.select([lowest, stated], [low, said], np.clip(rates.local, low, high))
    by_average = several & ~lowest & ~stated
    averages, average_rows, columns = rates.used[1]
    used = (
        rates.used[0],
        (averages, np.where(found & ~by_average, np.int32(-1), average_rows), columns),
        (local, rows, ()),
        (laws, np.where(lowest, law_rows, np.int32(-1)), ("lowest_rate_in_zip",)),
    )
    return Rates(
        rates.state,
        np.where(found, low, rates.local_low),
        np.where(found, expected, rates.local),
        np.where(found, high, rates.local_high),
        rates.known,
        used,
    )


def seller_rates(cases: Cases, facts: Facts) -> Rates:
    """Give the rates the seller itself charges: a flat rate where the law or the seller's election brings one.

    A flat rate replaces state and local rates of remote sellers; an election works from its day only.
    """
    rates = _by_origin(rates_on_arrival(cases, facts), cases, facts)
    table, rows = facts.tables["us/flat_rates"], flat_rows(cases, facts)
    flat = rows >= 0
    local = np.where(flat, table["flat_percent"][rows].astype(np.int64) - rates.state, rates.local)
    low, high = np.where(flat, local, rates.local_low), np.where(flat, local, rates.local_high)
    used = tuple((t, np.where(flat, np.int32(-1), r), columns) for t, r, columns in rates.used)
    return Rates(rates.state, low, local, high, rates.known, (*used, (table, rows, ("flat_percent",))))


def flat_rows(cases: Cases, facts: Facts) -> npt.NDArray[np.int32]:
    """Find the row of us/flat_rates by which the seller itself charges in each case, -1 where by none."""
    table = facts.tables["us/flat_rates"]
    rows = table.lookup(cases.day, place=cases.destination)
    by_law = (table["by"][rows] == "law") & ~_present(cases, facts)
    chosen = (table["by"][rows] == "election") & _elected(cases, facts)
    return np.where((rows >= 0) & (by_law | chosen), rows, np.int32(-1))


def _by_origin(rates: Rates, cases: Cases, facts: Facts) -> Rates:
    """Leave the local rate of the ZIP code where a state takes that of the seller's own place of business.

    That is so for a seller inside a state of origin sourcing whose goods start there too (`sourcing_in_state` of
    us/state_rates). Which locality the seller sits in is not known here, so the whole range of the state is left.
    """
    from_origin = sent_by_origin(cases, facts)
    if not from_origin.any():
        return rates
    averages = average_rates(cases, facts)
    state_rows, local_rows = averages.used[0][1], averages.used[1][1]
    states, locals_ = averages.used[0][0], averages.used[1][0]

    def where(mask: npt.NDArray[np.bool_], rows: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
        return np.where(mask, rows, np.int32(-1))

    used = (
        *((table, where(~from_origin, rows), columns) for table, rows, columns in rates.used),
        (states, where(from_origin, state_rows), ("state_percent", "sourcing_in_state")),
        (locals_, where(from_origin, local_rows), ("average_percent", "highest_percent")),
    )
    return Rates(
        rates.state,
        np.where(from_origin, averages.local_low, rates.local_low),
        np.where(from_origin, averages.local, rates.local),
        np.where(from_origin, averages.local_high, rates.local_high),
        rates.known,
        used,
    )


def sent_by_origin(cases: Cases, facts: Facts) -> npt.NDArray[np.bool_]:
    """Tell where the seller is in a state of origin sourcing and the goods start in that state."""
    table = facts.tables["us/state_rates"]
    rows = table.lookup(cases.day, place=cases.destination)
    inside = (cases.ship_from == cases.destination) & (table["sourcing_in_state"][rows] == "origin")
    found: npt.NDArray[np.bool_] = inside & (rows >= 0) & _present(cases, facts)
    return found


def _elected(cases: Cases, facts: Facts) -> npt.NDArray[np.bool_]:
    """Tell where the seller's election of the flat rate holds on the day of the case."""
    chosen = np.zeros(cases.size, bool)
    for election in facts.seller.elections:
        if election.name == FLAT_RATE and election.place:
            here = cases.destination == places.index(election.place)
            days = [holds(election.from_day, election.until_day, int(day)) for day in cases.day[here]]
            chosen[here] |= np.array(days, bool)
    return chosen


def _present(cases: Cases, facts: Facts) -> npt.NDArray[np.bool_]:
    """Tell where the seller is physically present, so that no remote-seller rate applies."""
    return within_presences(cases, facts.presences)


def within_presences(cases: Cases, presences: Iterable[Presence]) -> npt.NDArray[np.bool_]:
    """Tell which cases are sent to the place of one of some presences on a day on which it holds."""
    found = np.zeros(cases.size, bool)
    for presence in presences:
        if presence.place in places.codes():
            here = cases.destination == places.index(presence.place)
            found[here] |= np.array(
                [holds(presence.from_day, presence.until_day, int(d)) for d in cases.day[here]], bool
            )
    return found
