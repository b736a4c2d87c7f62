"""The rate of a line and its parts, and where each part comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from taxcalc.explain import words
from taxcalc.explain.line import Step
from taxcalc.explain.rows import name_of
from taxcalc.explain.where import regime_of

if TYPE_CHECKING:
    from taxcalc.explain.line import OneLine
    from taxcalc.explain.rows import Used
    from taxcalc.terms import Terms

TABLES: Final = (
    "us/state_rates",
    "us/local_rates",
    "us/flat_rates",
    "us/local",
    "us/streamlined_states",
    "eu/rates",
)
LOCAL_FROM: Final = {
    "us/flat_rates": "the flat rate that replaces state and local rates for sellers from elsewhere",
    "us/local": "the rate of the ZIP code or ZIP+4, from files of the state that you added",
    "us/streamlined_states": "the lowest rate of the ZIP code, which this state lets apply",
    "us/local_rates": "the state's average, weighted by population: the very address is not looked up, and the range "
    "goes from what is due everywhere to the highest local rate",
}
"""Where the local rate comes from, by the table behind it; the first that is there."""
BY_ORIGIN: Final = "that of your own place of business, from which the goods start; where in the state that is, is not known here"
NO_LOCAL: Final = "because no local tax is held for this state"


def rate(line: OneLine, terms: Terms) -> Step:
    """Say the rate of one side of a line."""
    used = line.used(terms, *TABLES)
    tables = {name_of(table) for table, _, _ in used}
    ends = {end: line.rules(terms, end) for end in ("low", "expected", "high")}
    state = [int(ends[end].state_ppm[0]) for end in ("low", "expected", "high")]
    if "eu/rates" in tables or regime_of(line) == "eu":
        says = [f"VAT rate: {_spread(state)}."]
    else:
        local = [int(ends[end].local_ppm[0]) for end in ("low", "expected", "high")]
        says = [
            f"State rate: {_spread(state)}.",
            words.sentence(f"Local rate: {_spread(local)}{_because(_source(used, local))}"),
            f"Together {words.percent(state[1] + local[1])}, added before the one rounding.",
        ]
    return Step("rate", says, line.ledger.cite(*used))


def _source(used: list[Used], local: list[int]) -> str:
    """Say where the local rate comes from, by the rows behind it."""
    if any("sourcing_in_state" in columns for _, _, columns in used):
        return BY_ORIGIN
    tables = {name_of(table) for table, _, _ in used}
    return next((said for name, said in LOCAL_FROM.items() if name in tables), "") if any(local) else NO_LOCAL


def _because(source: str) -> str:
    """Say where the local rate comes from."""
    return f", {source}" if source else ""


def _spread(values: list[int]) -> str:
    """Write a rate with its range."""
    low, expected, high = min(values), values[1], max(values)
    if low == high:
        return words.percent(expected)
    return f"{words.percent(expected)} expected ({words.percent(low)} to {words.percent(high)})"
