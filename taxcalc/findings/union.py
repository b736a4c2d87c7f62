"""What sellers into the Union most often do not know: registrations they need, sales outside the limit, contradictions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.at_the_door import ASKED
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.eu.election import ELECTION, bound_until
from taxcalc.eu.law import presumed_of_marketplace
from taxcalc.eu.place import DIGITAL, Situation, member_state, of_fulfiller, rules_of
from taxcalc.facts import DISTANCE_SALES, EURO, OPEN
from taxcalc.findings.finding import Finding
from taxcalc.money import write_money
from taxcalc.reasons import AFTER_TRANSPORT, BY_ONE_STOP_SHOP, LOCAL_REGISTRATION

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums

UNION = "EU"
ON_THE_SPOT = tuple(word for word in LOCAL_REGISTRATION if word != AFTER_TRANSPORT)
"""Sales that are local where goods start or are imported; `union_chain` tells of those that the transport makes local."""
IMPORTED = "eu_imported_for_sale"
HOW = {
    "eu_domestic_elsewhere": "are made and delivered here",
    "eu_business_at_dispatch": "are sent from here to businesses without a number of another member state",
    "eu_buyer_may_account": "are sold inside this state to businesses with a number of it",
    IMPORTED: "are imported before your sale and delivered here",
}
"""What happens in a place that asks for a registration on the spot, by reason."""

NO_SHOP = "the one-stop shop does not cover it"
SHOP_IF_IMPORTED_ELSEWHERE = (
    ", unless the goods are imported in another member state than that of arrival, "
    "which your profile does not say"
)
SENT_FROM_HERE = ("eu_domestic_elsewhere", "eu_business_at_dispatch", "eu_buyer_may_account")
"""Reasons of the few places where the fulfiller makes goods: what was sold there is said with them."""


def union(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find registrations that are needed, sales that no limit helps, and what contradicts the choice or the registration."""
    _ = sums
    by_shop = _by_one_stop_shop(assessment)
    return [
        *_on_the_spot(assessment),
        *by_shop,
        *(_no_limit(assessment) if by_shop else []),
        *_outside_the_limit(assessment),
        *_contradiction(assessment),
        *_still_bound(assessment),
        *_digital_by_marketplace(assessment),
        *_at_the_door(assessment),
        *_imported_by_seller(assessment),
        *_priced_without_vat(assessment),
    ]


def _unserved(assessment: Assessment, reasons: tuple[str, ...]) -> npt.NDArray[np.bool_]:
    """Tell which cases of the period stand under some reasons and are served by no registration."""
    run = assessment.run
    sold = assessment.sums.by_case["lines"] > 0
    return np.asarray(np.isin(run.terms.collect.reason, reasons) & sold & (run.served == OPEN), np.bool_)


def _on_the_spot(assessment: Assessment) -> list[Finding]:
    """Find member states where a seller who is not established there needs a registration that no scheme replaces."""
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    cases, found = _unserved(assessment, ON_THE_SPOT), []
    for code in np.unique(terms.placed.place[cases]).tolist():
        at = cases & (terms.placed.place == code)
        reasons = [reason for reason in HOW if (terms.collect.reason[at] == reason).any()]
        gaps = {"how": ", or ".join(HOW[reason] for reason in reasons), "sum": "", "shop": NO_SHOP}
        if IMPORTED in reasons:
            gaps["shop"] = NO_SHOP + SHOP_IF_IMPORTED_ELSEWHERE
        if set(reasons) <= set(SENT_FROM_HERE):
            gaps["sum"] = f" ({_money(assessment, at)} of sales in the period)"
        found.append(
            Finding("local_registration", places.code(code), int(by_case["to_collect"][at].sum()), gaps)
        )
    return found


def _by_one_stop_shop(assessment: Assessment) -> list[Finding]:
    """Find member states of arrival whose VAT can go through the one-stop shop."""
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    cases = _unserved(assessment, BY_ONE_STOP_SHOP)
    return [
        Finding(
            "one_stop_shop",
            places.code(code),
            int(by_case["to_collect"][cases & (terms.placed.place == code)].sum()),
        )
        for code in np.unique(terms.placed.place[cases]).tolist()
    ]


def _no_limit(assessment: Assessment) -> list[Finding]:
    """Say why the limit for cross-border sales helps a seller not at all: no establishment inside, or more than one."""
    facts = assessment.run.facts
    states = facts.established_member_states
    if not states:
        return [Finding("no_union_limit", UNION)]
    if states != (facts.home,):
        named = ", ".join(places.name(places.code(state)) for state in states)
        return [Finding("no_union_limit_established", UNION, None, {"states": named})]
    return []


def _outside_the_limit(assessment: Assessment) -> list[Finding]:
    """Find goods that a fulfiller sends from another member state than the seller's own: outside the limit."""
    run, by_case = assessment.run, assessment.sums.by_case
    facts, terms = run.facts, run.terms
    if facts.established_member_states != (facts.home,) or facts.union_limit_row < 0:
        return []
    goods = (terms.placed.situation == Situation.DISTANCE) & (terms.cases.product_class != DIGITAL)
    cases = goods & (terms.collect.reason == "eu_distance_sale") & (by_case["lines"] > 0)
    if not cases.any():
        return []
    dispatch = member_state(rules_of(terms.cases.ship_from, facts), facts)
    sites = [
        f"{places.name(places.code(code))} ({_money(assessment, cases & (dispatch == code))})"
        for code in np.unique(dispatch[cases]).tolist()
    ]
    gaps = {"sites": ", ".join(sites), "limit": _limit(assessment), "reading": _reading(assessment)}
    return [Finding("outside_union_limit", UNION, int(by_case["to_collect"][cases].sum()), gaps)]


def _reading(assessment: Assessment) -> str:
    """Say how sure it is that goods have to leave from home: by the law of the home state, or of the Union, on that day."""
    facts = assessment.run.facts
    table = facts.tables["eu/scheme_rules"]
    asked = {"subject": "distance_sales", "rule": "sent_from_home_only"}
    rows = [table.row(facts.as_of_day, place=place, **asked) for place in (facts.home, places.index(UNION))]
    row = next((row for row in rows if row >= 0), -1)
    if str(table["answer"][row]) == "read_differently":
        return " The law of the Union is read differently here; this is the cautious reading: ask a professional."
    return ""


def _contradiction(assessment: Assessment) -> list[Finding]:
    """Find a Union one-stop-shop registration below the limit without the choice to be taxed on arrival."""
    run, code = assessment.run, places.index(UNION)
    day = run.facts.as_of_day
    below = any(row.kind == DISTANCE_SALES and row.duty_from is None for row in assessment.sorted_thresholds)
    chosen = run.duties.holding(code, day, "election", "threshold")
    registered = run.facts.registered(UNION, day, "union_oss")
    if not (below and registered) or chosen:
        return []
    return [Finding("contradiction", UNION, None, {"limit": _limit(assessment)})]


def _still_bound(assessment: Assessment) -> list[Finding]:
    """Find a choice to be taxed on arrival that the profile ends before the law lets it end."""
    facts, found = assessment.run.facts, []
    for election in facts.seller.elections:
        if election.name == ELECTION and election.until_day is not None:
            last = bound_until(election, facts)
            if number(election.until_day) < last and last >= facts.first_order_day:
                gaps = {"until": election.until_day.isoformat(), "last": to_day(last).isoformat()}
                found.append(Finding("choice_binds", UNION, None, gaps))
    return found


def _digital_by_marketplace(assessment: Assessment) -> list[Finding]:
    """Find digital supplies through marketplaces whose VAT may be the marketplace's."""
    run, by_case = assessment.run, assessment.sums.by_case
    presumed = presumed_of_marketplace(run.terms.cases, run.terms.placed) & (run.terms.regime == places.EU)
    stake = int(by_case["to_collect"][presumed].sum())
    return [Finding("digital_by_marketplace", UNION, stake)] if stake else []


def _at_the_door(assessment: Assessment) -> list[Finding]:
    """Find parcels from outside the Union whose customers may be asked for tax and duty on delivery."""
    asked = [sums for (_, group), sums in assessment.run.at_the_door.sums.items() if group == ASKED]
    if not asked:
        return []
    due = sum(sums.vat + sums.duty + sums.fees for sums in asked)
    gaps = {"parcels": str(sum(sums.parcels for sums in asked)), "sum": write_money(due, EURO)}
    return [Finding("at_the_door", UNION, None, gaps)]


def _imported_by_seller(assessment: Assessment) -> list[Finding]:
    """Find goods that the seller imports itself by the profile: what the border asks of it is not computed."""
    run = assessment.run
    itself = of_fulfiller(run.terms.cases, run.facts, "importer") == "seller"
    cases = itself & (run.terms.collect.reason == IMPORTED) & (assessment.sums.by_case["lines"] > 0)
    return [Finding("seller_imports", UNION, None, {"sum": _money(assessment, cases)})] if cases.any() else []


def _priced_without_vat(assessment: Assessment) -> list[Finding]:
    """Find sales to consumers at prices without VAT on which nothing was collected, with both readings of what is missing."""
    parts, currency = assessment.run.union_prices.lacking.values(), assessment.currency
    if not parts:
        return []
    gaps = {
        name: write_money(sum(getattr(part, name) for part in parts), currency)
        for name in ("sales", "top", "out")
    }
    return [Finding("priced_without_vat", UNION, None, gaps)]


def _limit(assessment: Assessment) -> str:
    """Write the limit for cross-border sales in its own currency."""
    facts = assessment.run.facts
    amount = int(facts.tables["eu/thresholds"]["amount"][facts.union_limit_row])
    return write_money(amount, facts.union_currency)


def _money(assessment: Assessment, cases: npt.NDArray[np.bool_]) -> str:
    """Write the sales of some cases in the period."""
    sales = int(assessment.sums.by_case["sales"][cases].sum())
    return write_money(sales, assessment.currency)
