"""Where a line is taxed, and why there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.eu.place import Situation
from taxcalc.explain import words
from taxcalc.explain.line import Step
from taxcalc.tables.table import Table
from taxcalc.terms import REGIMES

if TYPE_CHECKING:
    from taxcalc.explain.line import OneLine

LAW: Final = ("eu/place_of_supply", "eu/territories")
"""Tables whose rows say where a sale is taxed."""
KINDS: Final = {
    "domestic": "because the goods start and arrive in the same member state",
    "distance_within_limit": "a sale to a consumer across a border, for which the Union-wide limit decides",
    "distance": "where the goods arrive, because they cross a border to a consumer",
    "intra_community": "where the goods start, because a business of another member state buys them",
    "import_low_value": "an import of a consignment within the limit of the import scheme",
    "import_high_value": "an import of a consignment above the limit of the import scheme",
    "imported_for_sale": "where the goods arrive, because they are imported before your sale",
    "export": "from which the goods leave the VAT territory of the Union",
    "deemed_supplier": "where the marketplace is taken to have bought and sold the goods",
    "local_after_transport": "where the goods arrive, because the transport is the fulfiller's",
    "service_to_business": "where the business that buys a digital supply is",
    "business_at_dispatch": "where the goods start, because the buyer's number is of that very state",
    "after_export": "to which the fulfiller's sale takes the goods before yours",
    "service_outside": "outside the Union, where the buyer of a digital supply is",
    "outside": "neither from nor to the VAT territory of the Union",
}
"""Why there, by the kind of supply; kinds that have no words here are explained by their reason alone."""
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


def _law(line: OneLine) -> list[str]:
    """Write the articles that the rows of the law name, where the tables hold them."""
    found = []
    for table, row, _ in line.used(line.terms.collect, *LAW):
        if isinstance(table, Table) and "law" in table.names:
            found.append(table.printed("law")[row])
    return [law for law in dict.fromkeys(found) if law]


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
        kind = KINDS.get(situation_of(line) or "", "")
        says.append(f"Place of the sale: {words.place(taxed)}{f', {kind}' if kind else ''}.")
        says += [f"The law: {law}." for law in _law(line)]
    if regime != "eu":
        says += [f"The goods leave the Union. The law there: {law}." for law in _law(line)]
    return Step("place", says, line.ledger.cite(*line.used(line.terms.collect, *LAW)))
