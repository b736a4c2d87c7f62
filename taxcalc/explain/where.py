"""Where a line is taxed, and why there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.eu.place import Situation
from taxcalc.explain import words
from taxcalc.explain.line import Step
from taxcalc.reasons import REASONS
from taxcalc.terms import REGIMES

if TYPE_CHECKING:
    from taxcalc.explain.line import OneLine

LAW: Final = ("eu/place_of_supply", "eu/territories")
"""Tables whose rows say where a sale is taxed."""
RULES: Final = {
    "us": "United States: sales and use tax",
    "eu": "European Union: VAT",
    "elsewhere": "no rules are held for it",
}


def regime_of(line: OneLine) -> str:
    """Name the regime that answers for a line."""
    return REGIMES[int(line.of_case(line.terms.regime))].name


def situation_of(line: OneLine) -> str | None:
    """Name the kind of supply in the Union, as its rules number it; None elsewhere."""
    number = int(line.of_case(line.terms.placed.situation))
    return Situation(number).name.lower() if regime_of(line) == "eu" and number else None


def where(line: OneLine) -> Step:
    """Say where the line is taxed and why."""
    destination, taxed = line["destination"], int(line.of_case(line.terms.placed.place))
    regime = regime_of(line)
    says = [f"The parcel arrives in {words.place(destination)} ({RULES[regime]})."]
    if taxed == places.index("unknown"):
        says = ["The country of arrival is known, its state is not: nothing can be computed for it."]
    elif regime == "us":
        says.append(f"A sale into a state is taxed where the parcel arrives: {words.place(taxed)}.")
    elif regime == "eu":
        reason = REASONS[str(line.of_case(line.terms.collect.reason))]
        kind = (situation_of(line) or "none").replace("_", " ")
        says.append(f"Place of the sale: {words.place(taxed)}. Kind of supply: {kind}; {reason}.")
    return Step("place", says, line.ledger.cite(*line.used(line.terms.collect, *LAW)))
