"""What else a seller should know of a place before it sells there, in sentences with the table rows they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.days import number
from taxcalc.destination.duty_there import answer, kind
from taxcalc.destination.waterfall import NOT_HELD
from taxcalc.eu.place import member_state
from taxcalc.eu.representation import IMPORTS, LOCAL, Answer, representation
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from taxcalc.destination.waterfall import Waterfall
    from taxcalc.tables.table import Table

Note = dict[str, Any]

OUTSIDE: Final = (
    "Whether the goods may be sold there at all: product safety, labels, age limits, trade marks.",
    "Packaging, electronic-waste and textile duties, which some countries ask from the first parcel.",
    "Customs classification, and customs duty but for the flat duty that the tables hold.",
    "Income taxes and taxes on turnover.",
    "What registering costs: returns, an agent, your time.",
)
PRACTICE: Final[Note] = {"basis": "unconfirmed"}
"""Proof of a sentence that is common practice without a source, or from memory."""

AT_THE_DOOR: Final = (
    "Import VAT is asked at the door, as a rule with the carrier's fee for presenting the parcel, which is not known here; "
    "customers often refuse such parcels."
)
VAT_ON_SELLER: Final = (
    "VAT is laid on the seller, who owes it out of the price whether or not it was charged (from memory)."
)
TAX_ON_CUSTOMER: Final = (
    "Sales tax is mostly laid on the customer and collected by the seller, who owes it where it was not collected; in some "
    "states it is laid on the seller itself (common practice, no source)."
)
STOCK_IN_STATE: Final = (
    "Goods made to order at a fulfiller's own site there are as a rule no presence of yours; stock that you own there mostly "
    "is, and would make you register at once (common practice, no source)."
)
SITE_IN_UNION: Final = (
    "Sent from there to customers there, the sale would be local: a registration on the spot from the first sale if you are "
    "not established there, and no one-stop shop covers it."
)
STOP_STATE: Final = (
    "Once registered you collect and file, also returns without sales, until you close the account with the state (common "
    "practice, no source)."
)
STOP_UNION: Final = (
    "A registration or one-stop shop goes on, with returns also for periods without sales, until you end it with the "
    "authority (common practice, no source)."
)
_ADVISER: Final = (
    "Have a licensed tax professional of that place confirm every figure here before you act on it."
)


def notes(now: Waterfall, on: date) -> list[Note]:
    """Give the notes by topic: customer, who bears it, representative, importer, site, stop."""
    code = places.index(now.line.place)
    regime = int(places.regimes()[code])
    return [
        {"topic": topic, "words": words, **proof}
        for topic, words, proof in (
            *_customer(now),
            *(_bears_it(now, code, on) if regime in (places.US, places.EU) else ()),
            *(_representative(now, code, on) if regime == places.EU else ()),
            *(_importer(now) if regime == places.EU else ()),
            *_site(now, regime),
            *(_stop(now, code, on) if regime in (places.US, places.EU) else ()),
            *(_facts_elsewhere(now, code, on) if regime not in (places.US, places.EU) else ()),
        )
    ]


def _customer(now: Waterfall) -> Iterator[tuple[str, str, Note]]:
    """Say what the customer meets."""
    if now.duty == "collect":
        words = (
            "The tax is inside the price; the customer pays nothing more."
            if now.tax_included
            else "Tax is added at checkout, on top of the price."
        )
    elif now.duty == "import_at_border":
        words = AT_THE_DOOR
    elif now.reason.startswith(NOT_HELD):
        words = "Tax, duty and a carrier's fee may be asked at the door: not known here."
    elif now.duty == "below_threshold":
        words = "No tax at checkout for now; the customer may owe use tax itself."
    else:
        words = "No tax is added by you."
    yield "customer", words, {}


def _bears_it(now: Waterfall, code: int, on: date) -> Iterator[tuple[str, str, Note]]:
    """Say whom the law lays the tax on."""
    if places.regimes()[code] == places.EU:
        yield (
            "bears_it",
            VAT_ON_SELLER,
            PRACTICE,
        )
        return
    table = now.assessment.run.facts.tables["us/turnover_taxes"]
    row = table.row(number(on), place=code)
    if row >= 0:
        yield "bears_it", f"{table['tax'][row]}: {table['note'][row]}", _proof(table, row)
    yield (
        "bears_it",
        TAX_ON_CUSTOMER,
        PRACTICE,
    )


def _representative(now: Waterfall, code: int, on: date) -> Iterator[tuple[str, str, Note]]:
    """Say whether a seller from outside the Union needs a representative or an intermediary for what it has to do there."""
    facts, wanted = now.assessment.run.facts, kind(now)
    if facts.established_member_states or wanted not in ("local", "ioss", "union_oss"):
        return
    of_site = int(now.assessment.run.terms.cases.ship_from[now.case])
    at = int(member_state(np.array([of_site if wanted == "union_oss" else code], np.int16), facts)[0])
    imports = wanted == "ioss"
    found = representation(
        places.index("EU") if imports else at, IMPORTS if imports else LOCAL, number(on), facts
    )
    who = (
        "An intermediary in the Union"
        if imports
        else f"A fiscal representative in {places.name(places.code(at))}"
    )
    liable = ", who is liable for the tax too" if found.liable == "yes" else ""
    proof = {"row": found.row_ids, "basis": found.basis}
    yield (
        "representative",
        f"{who}{liable}, is {REPRESENTED[found.answer]} for a seller from your country.",
        proof,
    )


REPRESENTED: Final = {
    Answer.REQUIRED: "needed",
    Answer.FREED: "not needed, by an agreement on mutual assistance,",
    Answer.NOT_ASKED: "not asked for",
    Answer.OPTIONAL: "optional",
    Answer.ON_NOTICE: "needed where the authority says so",
    Answer.IN_SOME_CASES: "needed in some cases",
    Answer.UNCLEAR: "perhaps needed (not clear)",
}


def _importer(now: Waterfall) -> Iterator[tuple[str, str, Note]]:
    """Say who is the importer by the profile, and whose number of the import scheme is used."""
    if now.duty != "import_at_border" and now.reason not in ("eu_ioss", "eu_imported_for_sale"):
        return
    facts = now.assessment.run.facts
    importer = facts.fulfiller(int(now.assessment.run.terms.cases.fulfiller[now.case])).importer
    who = {"customer": "The customer", "seller": "You", "fulfiller": "The fulfiller"}[importer]
    words = f"{who} is the importer of record, by your profile."
    if now.reason == "eu_ioss":
        words += " The parcel has to carry your own import-scheme number, never that of a marketplace or of the fulfiller."
    yield "importer", words, {}


def _site(now: Waterfall, regime: int) -> Iterator[tuple[str, str, Note]]:
    """Say from where it is sent, and whether sending from the place itself would make a duty."""
    run = now.assessment.run
    site = places.code(int(run.terms.cases.ship_from[now.case]))
    yield "site", f"Sent from {places.name(site)} ({site}).", {}
    if regime == places.US:
        yield (
            "site",
            STOCK_IN_STATE,
            PRACTICE,
        )
    elif regime == places.EU:
        yield (
            "site",
            SITE_IN_UNION,
            PRACTICE,
        )


def _stop(now: Waterfall, code: int, on: date) -> Iterator[tuple[str, str, Note]]:
    """Say how long a duty lasts and how to stop."""
    tables = now.assessment.run.facts.tables
    if places.regimes()[code] == places.US:
        table, words = tables["us/duty_ends"], tables["us/end_rules"]
        row = table.row(number(on), place=code)
        if row >= 0:
            at = words.rows(end_rule=str(table["end_rule"][row]))
            yield "stop", f"A duty by the limit lasts: {words['meaning'][at[0]]}", _proof(table, row)
        yield (
            "stop",
            STOP_STATE,
            PRACTICE,
        )
    elif answer(now) != "border":
        yield (
            "stop",
            STOP_UNION,
            PRACTICE,
        )


def _facts_elsewhere(now: Waterfall, code: int, on: date) -> Iterator[tuple[str, str, Note]]:
    """Quote dated facts of a country that no rule of the program reads: they are shown, never computed with."""
    tables, day = now.assessment.run.facts.tables, number(on)
    yield "no_rules", "No rules of this country are held: nothing is computed. Ask a professional there.", {}
    for name, words in _ELSEWHERE.items():
        table = tables[name]
        for row in table.rows(place=code).tolist():
            if int(table["valid_from"][row]) <= day and not table["ended"][row] and _newest(table, row, day):
                parts = [table.printed(column)[row] for column in words]
                said = " ".join(part.replace("_", " ") for part in parts if part not in ("", "*"))
                yield "facts", f"{said}. {table.printed('note')[row]}".strip(), _proof(table, row)


_ELSEWHERE: Final = {
    "elsewhere/rates": ("region", "tax", "product_class", "percent"),
    "elsewhere/thresholds": ("measure", "amount", "currency", "window"),
    "elsewhere/import_limits": ("measure", "amount", "currency", "per"),
    "elsewhere/rules": ("rule", "answer", "status"),
}


def _newest(table: Table, row: int, day: int) -> bool:
    """Tell whether no later row of the same key holds on the day."""
    same = [r for r, key in enumerate(table.keys) if key == table.keys[row]]
    days = [int(table["valid_from"][r]) for r in same if int(table["valid_from"][r]) <= day]
    return int(table["valid_from"][row]) == max(days)


def _proof(table: Table, row: int) -> Note:
    """Name the row and its basis."""
    at = np.array([row])
    return {"row": str(table.row_ids(at)[0]), "basis": BASES[int(table.basis(at)[0])]}


def checklist(now: Waterfall) -> list[str]:
    """List what to take to a professional."""
    items = [_ADVISER]
    found = answer(now)
    if found == "now":
        items.append("Ask how and how fast to register, and sell there only once that is done.")
    if found == "later":
        items.append(
            "Ask whether anything else there already makes you register: stock, staff, events, earlier sales."
        )
    if kind(now) == "local" and places.regimes()[places.index(now.line.place)] == places.EU:
        items.append(
            "Ask whether a registration on the spot can be avoided by another site or another contract with the fulfiller."
        )
    if now.fulfiller_tax["high"]:
        items.append(
            "Ask your fulfiller whether it collects there, and which document of yours it would take."
        )
    if now.duty == "import_at_border":
        items.append(
            "Ask the fulfiller who clears the parcel, what the carrier charges the customer, and who refunds refused ones."
        )
    items.append("Ask what has to be kept as proof: documents, export and transport papers, how long.")
    return items
