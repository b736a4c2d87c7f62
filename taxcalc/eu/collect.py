"""What the seller should collect in VAT: per situation, from the first sale or once the limit is crossed.

The article of each situation is a row of eu/place_of_supply, which every case carries (`taxcalc.eu.law`). A business
buyer's number proves form only: a sale to it is expected to be free, with the full VAT as the high end. A local sale to a
business is expected to be taxed, without tax at the low end where its state may make the buyer account for it (art. 194).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.columns import Buyer
from taxcalc.eu.law import law, presumed_of_marketplace
from taxcalc.eu.place import (
    DIGITAL,
    NORTHERN_IRELAND,
    Situation,
    member_state,
    of_fulfiller,
    rules_of,
    scheme_held,
)
from taxcalc.eu.rates import ppm, rate_rows, vat_rules
from taxcalc.eu.reverse_charge import COLUMNS, buyer_accounts_rows
from taxcalc.eu.small_business_cases import SMALL_IN_DOUBT, SMALL_OVER, SMALL_POSSIBLE, Exempt
from taxcalc.regime import DUTY, CollectTerms, Evidence

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.facts import Facts
    from taxcalc.regime import Cases, Placed
    from taxcalc.tables.load import Table

CURRENCY = "EUR"
BUSINESS_IMPORTS = "eu_import_by_business"
"""Reason where the import scheme would hold if the buyer were a consumer (art. 14(4)(2): sales to consumers only)."""

BY_BUYER = "eu_buyer_may_account"
"""Reason of a local sale to a business of a state that may make the buyer account for VAT of sellers from elsewhere."""

LOCAL = (Situation.DOMESTIC, Situation.IMPORTED_FOR_SALE, Situation.LOCAL_AFTER_TRANSPORT)


def collect(cases: Cases, placed: Placed, facts: Facts) -> CollectTerms:
    """Answer per case.

    Ranges: a business buyer's number (a false one makes the buyer a consumer), a sale under the limit whose transport may
    belong to the fulfiller's sale, which would then be taxed on arrival (no exemption of the home state reaches it there),
    and a small-business exemption that may hold.
    """
    small = Exempt(cases, placed, facts)
    reverse = _reverse_charge(cases, placed, facts)
    duty, reason = _duty(cases, placed, small, reverse >= 0, facts)
    rows = rate_rows(placed.place, cases.product_class, cases.day, facts)
    rate = ppm(rows, facts)
    charged = duty == DUTY["collect"]
    low_rate, high_rate, other = _range(cases, placed, rate, facts)
    local_if_first = small.holds & (other >= 0) & ~small.used_on_arrival(facts)
    high_rate = np.where(local_if_first, ppm(other, facts), high_rate)
    maybe = (duty == DUTY["buyer_accounts"]) | (reason == BUSINESS_IMPORTS) | local_if_first
    sure = charged & ~small.open_end & (reason != BY_BUYER) & ~presumed_of_marketplace(cases, placed)
    evidence = Evidence(
        (
            (facts.tables["eu/rates"], np.where(charged | maybe, rows, np.int32(-1)), ("percent",)),
            (facts.tables["eu/rates"], np.where(charged | maybe, other, np.int32(-1)), ("percent",)),
            _limit_row(cases, placed, facts),
            *law(cases, placed, facts),
            *small.rows(duty, reason, facts),
            (facts.tables["eu/reverse_charge"], np.where(reason == BY_BUYER, reverse, np.int32(-1)), COLUMNS),
        )
    )
    return CollectTerms(
        duty,
        reason,
        vat_rules(low_rate, sure),
        vat_rules(rate, charged),
        vat_rules(high_rate, charged | maybe),
        CURRENCY,
        evidence,
    )


def _reverse_charge(cases: Cases, placed: Placed, facts: Facts) -> npt.NDArray[np.int32]:
    """Find the row under which the buyer may account for a local sale of goods (art. 194), -1 where none does."""
    rows = buyer_accounts_rows(cases, member_state(placed.place, facts), facts)
    local = np.isin(placed.situation, LOCAL) & (cases.product_class != DIGITAL)
    return np.where(local, rows, np.int32(-1)).astype(np.int32)


def _range(
    cases: Cases,
    placed: Placed,
    rate: npt.NDArray[np.int64],
    facts: Facts,
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], npt.NDArray[np.int32]]:
    """Give lowest and highest rate: that of the place and that of arrival, where the sale may be taxed on arrival.

    With undecided transport: for sales under the limit, and for sales to a business of another member state, whose
    exemption the transport carries.
    """
    undecided = of_fulfiller(cases, facts, "transport_supply") == "unset"
    goods = cases.product_class != DIGITAL
    under_limit = (placed.situation == Situation.DISTANCE_WITHIN_LIMIT) & (cases.state == 0)
    carried = under_limit | (placed.situation == Situation.INTRA_COMMUNITY)
    both = (undecided & goods & carried) | (placed.situation == Situation.BUSINESS_AT_DISPATCH)
    arrival = rate_rows(rules_of(cases.destination, facts), cases.product_class, cases.day, facts)
    rows = np.where(both, arrival, np.int32(-1))
    there = np.where(both, ppm(rows, facts), rate)
    return np.minimum(rate, there), np.maximum(rate, there), rows


def _limit_row(
    cases: Cases, placed: Placed, facts: Facts
) -> tuple[Table, npt.NDArray[np.int32], tuple[str, ...]]:
    """Name the row of the limit that decides a case: EUR 10 000, or EUR 150 for imports."""
    table = facts.tables["eu/thresholds"]
    union = np.full(cases.size, places.index("EU"), np.int16)
    imports = np.isin(placed.situation, (Situation.IMPORT_LOW_VALUE, Situation.IMPORT_HIGH_VALUE))
    measure = np.where(imports, "import_consignment", "distance_sales").astype(object)
    rows = table.lookup(cases.day, measure=measure, place=union)
    decides = imports | (placed.situation == Situation.DISTANCE_WITHIN_LIMIT)
    return table, np.where(decides, rows, np.int32(-1)), ("amount",)


def _duty(
    cases: Cases,
    placed: Placed,
    small: Exempt,
    by_buyer: npt.NDArray[np.bool_],
    facts: Facts,
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.object_]]:
    """Choose the first answer that fits each case, and its reason."""
    at = placed.situation
    state = member_state(placed.place, facts)
    at_home = state == facts.home
    established = np.isin(state, facts.established_member_states)
    domestic = at == Situation.DOMESTIC
    under_limit = (at == Situation.DISTANCE_WITHIN_LIMIT) & (cases.state == 0)
    to_business = at == Situation.BUSINESS_AT_DISPATCH
    by_scheme = (at == Situation.IMPORT_LOW_VALUE) & scheme_held(cases.day, facts, "EU", "ioss")
    northern_ireland = placed.place == places.index(NORTHERN_IRELAND)
    answers = (
        (cases.sample, "own_use", "eu_own_use"),
        (at == Situation.EXPORT, "zero_rated_export", "eu_export"),
        (at == Situation.AFTER_EXPORT, "no_tax_here", "eu_after_export"),
        (at == Situation.OUTSIDE, "no_tax_here", "eu_outside"),
        (
            (at == Situation.SERVICE_OUTSIDE) & northern_ireland,
            "no_tax_here",
            "eu_service_northern_ireland",
        ),
        (at == Situation.SERVICE_OUTSIDE, "no_tax_here", "eu_service_outside"),
        (at == Situation.DEEMED_SUPPLIER, "marketplace_collects", "eu_deemed_supplier"),
        (cases.buyer == Buyer.EXEMPT, "exempt_buyer", "eu_exempt_buyer"),
        (small.holds & at_home, "exempt_small_business", "eu_small_business"),
        (small.holds, "exempt_small_business", "eu_small_business_abroad"),
        (at == Situation.INTRA_COMMUNITY, "buyer_accounts", "eu_intra_community"),
        (at == Situation.SERVICE_TO_BUSINESS, "buyer_accounts", "eu_service_to_business"),
        (small.doubted, "collect", SMALL_IN_DOUBT),
        (small.over & at_home, "collect", SMALL_OVER),
        (small.possible & ~under_limit, "collect", SMALL_POSSIBLE),
        (by_scheme & (cases.buyer_number > 0), "import_at_border", BUSINESS_IMPORTS),
        (by_scheme, "collect", "eu_ioss"),
        (at == Situation.IMPORT_LOW_VALUE, "import_at_border", "eu_import_without_ioss"),
        (at == Situation.IMPORT_HIGH_VALUE, "import_at_border", "eu_import_over_150"),
        (by_buyer, "collect", BY_BUYER),
        (at == Situation.IMPORTED_FOR_SALE, "collect", "eu_imported_for_sale"),
        (domestic & at_home, "collect", "eu_home"),
        (domestic & established, "collect", "eu_established"),
        (domestic, "collect", "eu_domestic_elsewhere"),
        (to_business & established, "collect", "eu_business_at_home"),
        (to_business, "collect", "eu_business_at_dispatch"),
        (at == Situation.LOCAL_AFTER_TRANSPORT, "collect", "eu_local_after_transport"),
        (under_limit, "collect", "eu_under_limit"),
        (at == Situation.DISTANCE_WITHIN_LIMIT, "collect", "eu_over_limit"),
        (at == Situation.DISTANCE, "collect", "eu_distance_sale"),
    )
    masks = [mask for mask, _, _ in answers]
    duty = np.select(masks, [DUTY[word] for _, word, _ in answers], DUTY["unknown_place"])
    reason = np.select(masks, [word for _, _, word in answers], "eu_unknown")
    return duty.astype(np.int8), reason.astype(object)
