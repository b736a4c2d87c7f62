"""What hangs on the transport in the Union, and what a VAT number or the fulfiller's establishment would change."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.eu.collect import BY_BUYER
from taxcalc.eu.fulfiller import BY_REVERSE_CHARGE
from taxcalc.eu.numbers import dispatch_number_given
from taxcalc.eu.place import Situation, of_fulfiller
from taxcalc.eu.reverse_charge import COLUMNS, buyer_accounts_rows, reverse_charge_row
from taxcalc.facts import OPEN
from taxcalc.findings.finding import Finding
from taxcalc.purchases.split import splits
from taxcalc.purchases.vat_numbers import giving_numbers
from taxcalc.reasons import AFTER_TRANSPORT
from taxcalc.routes import AFTER_REGISTERING, MAY_BE_EXEMPT, SMALL_BUSINESS, TOO_LATE
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.facts import Facts
    from taxcalc.place_sums import PlaceSums

    Flags = npt.NDArray[np.bool_]

FROM_MEMORY = " This rests on memory: check it first."
OPEN_TRANSPORT = "eu_fulfiller_transport_open"
WITHOUT = ("eu_fulfiller_no_number", "eu_fulfiller_exempt_seller")
MOVED = (Situation.DISTANCE, Situation.DISTANCE_WITHIN_LIMIT, Situation.INTRA_COMMUNITY)
LOCAL_SALE = (
    *("eu_fulfiller_same_state", "eu_fulfiller_transport_second", "eu_fulfiller_deemed_supplier"),
    BY_REVERSE_CHARGE,
)
LACKS = {
    "establishment": "not be established here",
    "establishment_and_number": "be neither established nor registered here",
    "establishment_and_representative": "be neither established nor represented here",
}
SENT_BY = {"seller": "seller", "fulfiller": "fulfiller", "customer": "buyer"}
WHOSE = {"fulfiller_to_seller": "the fulfiller's sale", "seller_to_buyer": "your own sale"}


def open_transport(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find the sums that hang on which of the two sales the transport belongs to, on both sides of the chain.

    Where the fulfiller has no number of the seller nothing hangs on it now for its own charge; the choice is open all the
    same.
    """
    _ = sums
    run, by_case = assessment.run, assessment.sums.by_case
    terms = run.terms
    unset = of_fulfiller(terms.cases, run.facts, "transport_supply") == "unset"
    some = unset & (by_case["lines"] > 0) & ~terms.cases.sample
    hangs = some & (terms.fulfiller.reason == OPEN_TRANSPORT)
    stake = int(by_case["fulfiller_tax_high"][hangs].sum())
    without = some & np.isin(terms.fulfiller.reason, WITHOUT)
    found = [Finding("transport_open", "EU", stake, {"points": _points(assessment, hangs)})] if stake else []
    if without.any():
        points = _points(assessment, without)
        found.append(Finding("transport_open_no_number", "EU", None, {"points": points}))
    return [
        *found,
        *_own_sales_at_stake(assessment, some & np.isin(terms.fulfiller.reason, (OPEN_TRANSPORT, *WITHOUT))),
    ]


def _points(assessment: Assessment, cases: Flags) -> str:
    """Say to which sale the rows of `eu/transport` point, by who sends the goods and the number given."""
    facts, terms = assessment.run.facts, assessment.run.terms
    table = facts.tables["eu/transport"]
    named = set()
    for at in np.flatnonzero(cases).tolist():
        day, code = int(terms.cases.day[at]), int(terms.cases.fulfiller[at])
        sender = SENT_BY[facts.fulfiller(code).transport_arranged_by]
        given = dispatch_number_given(int(terms.billed_in[at]), day, code, facts)
        row = table.row(day, sent_by=sender, number_of_dispatch_given=given)
        named |= {WHOSE[str(table["belongs_to"][row])]} if row >= 0 else set()
    if len(named) != 1:
        return "differs with who sends the goods and which number was given"
    return f"points to {named.pop()}, which is not certain"


def _own_sales_at_stake(assessment: Assessment, unset: Flags) -> list[Finding]:
    """Find the seller's own sales that would become domestic sales on arrival, where it is not registered or at home."""
    run, by_case = assessment.run, assessment.sums.by_case
    terms = run.terms
    moved = unset & np.isin(terms.placed.situation, MOVED)
    found = []
    for code in np.unique(terms.cases.destination[moved]).tolist():
        name = places.code(code)
        served = run.facts.registered(name, run.facts.as_of_day, "standard")
        if served or code in run.facts.established_member_states:
            continue
        stake = int(by_case["to_collect_high"][moved & (terms.cases.destination == code)].sum())
        if stake > 0:
            found.append(Finding("transport_open_own_sales", name, stake))
    return found


def local_after_transport(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find own sales that the choice about the transport makes domestic on arrival, where no registration serves them."""
    _ = sums
    run, by_case = assessment.run, assessment.sums.by_case
    terms = run.terms
    local = (terms.collect.reason == AFTER_TRANSPORT) & (by_case["lines"] > 0)
    local &= run.served == OPEN
    codes = np.unique(terms.placed.place[local]).tolist()
    at_stake = {
        code: int(by_case["to_collect"][local & (terms.placed.place == code)].sum()) for code in codes
    }
    return [Finding("local_after_transport", places.code(code), stake) for code, stake in at_stake.items()]


def reverse_charges(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find local sales of the fulfiller on which the seller would owe the VAT, were the fulfiller not established there."""
    _ = sums
    run, by_case = assessment.run, assessment.sums.by_case
    terms, facts = run.terms, run.facts
    table = facts.tables["eu/reverse_charge"]
    unknown = np.isin(
        terms.cases.fulfiller,
        [n for n in range(len(facts.fulfillers)) if facts.fulfiller(n).collects_in == "unknown"],
    )
    local = np.isin(terms.fulfiller.reason, LOCAL_SALE) & (
        unknown | (terms.fulfiller.reason == BY_REVERSE_CHARGE)
    )
    local &= by_case["lines"] > 0
    found = []
    for code in np.unique(terms.billed_in[local]).tolist():
        row = reverse_charge_row(code, facts.as_of_day, facts)
        stake = int(by_case["fulfiller_tax_high"][local & (terms.billed_in == code)].sum())
        if row < 0 or stake <= 0:
            continue
        lacks = LACKS.get(str(table["supplier"][row]), "meet the conditions of this state's rule")
        gaps = {"lacks": lacks, **_law_of(row, facts)}
        row_ids = str(table.row_ids(np.array([row]))[0])
        found.append(Finding("reverse_charge", places.code(code), stake, gaps, row_ids))
    return found


def _law_of(row: int, facts: Facts) -> dict[str, str]:
    """Name the law of a row of `eu/reverse_charge`, and say where it rests on memory."""
    table = facts.tables["eu/reverse_charge"]
    doubtful = BASES[int(table.basis(np.array([row]), *COLUMNS)[0])] == "unconfirmed"
    return {
        "law": str(table["law"][row]) or "Directive 2006/112/EC art. 194",
        "doubt": FROM_MEMORY if doubtful or table["ordinary_goods"][row] == "unclear" else "",
    }


def buyers_account(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find own local sales to businesses whose VAT the buyer may have to account for (art. 194)."""
    _ = sums
    run, by_case = assessment.run, assessment.sums.by_case
    terms, facts, found = run.terms, run.facts, []
    cases = (terms.collect.reason == BY_BUYER) & (by_case["lines"] > 0)
    for code in np.unique(terms.placed.place[cases]).tolist():
        at = np.flatnonzero(cases & (terms.placed.place == code))
        rows = buyer_accounts_rows(terms.cases.take(at), np.full(at.size, code, np.int16), facts)
        row = int(rows.max())
        row_ids = str(facts.tables["eu/reverse_charge"].row_ids(np.array([row]))[0])
        stake = int(by_case["to_collect"][at].sum())
        found.append(Finding("buyer_may_account", places.code(code), stake, _law_of(row, facts), row_ids))
    return found


NOT_COMING_BACK = {
    AFTER_REGISTERING: "vat_after_registering",
    SMALL_BUSINESS: "vat_of_small_business",
    MAY_BE_EXEMPT: "vat_not_refunded",
    TOO_LATE: "vat_too_late",
}

NEEDS = {
    "nothing": "nothing, you have one",
    "vat_number_elsewhere": "a VAT registration in such a state",
    "transport": "a professional's word that the transport belongs to the fulfiller's sale",
    "vat_number_elsewhere_and_transport": "a VAT registration in such a state, and a professional's word that the transport "
    "belongs to the fulfiller's sale",
}


def number_worth(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find what giving the fulfiller a VAT number would have saved in a year."""
    _ = sums
    found = []
    for one in giving_numbers(assessment):
        names = [places.name(places.code(state.place)) for state in one.states]
        gaps = {"states": " or ".join(names), "needs": NEEDS[one.needs]}
        found.append(Finding("vat_number_worth", "", one.saved, gaps))
    return found


def not_coming_back(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find VAT of the last four quarters that stays a cost, or does so without a registration."""
    _ = sums
    found = []
    for split in splits(assessment):
        for route, kind in NOT_COMING_BACK.items():
            amount = sum(way.expected for way in split.ways if way.route == route)
            if amount:
                found.append(Finding(kind, places.code(split.place), amount))
    return found
