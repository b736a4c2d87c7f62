"""What needs attention first, the most urgent above; the same finding in several places is said once."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from rich.text import Text

from taxcalc.reports.layout import STRONG, Column, bullets, figures, heading, paragraph
from taxcalc.reports.words import URGENCY, day, money, place, printable, several

if TYPE_CHECKING:
    from taxcalc.reports.layout import Cell, Pieces

Finding = dict[str, Any]

KINDS: Final = {
    "past_duty": "a duty in the past",
    "not_collected_earlier": "not collected before this period",
    "crossed": "limit crossed",
    "crossed_ahead": "limit crossed, duty to come",
    "crossed_registered": "limit crossed, registered",
    "crossed_without_duty": "limit crossed, no duty known",
    "near": "limit near",
    "small_crossed": "small-business limit passed",
    "small_crossed_ahead": "small-business limit passed, VAT to come",
    "small_refused": "a small-business registration without effect",
    "small_near": "small-business limit near",
    "small_oss": "small-business scheme beside the one-stop shop",
    "small_ioss": "small-business scheme beside the import scheme",
    "small_possible": "a small-business exemption may hold",
    "not_collected": "not collected",
    "remittance_not_evidenced": "collected, but no payment on record",
    "payment_unmatched": "paid over, but nothing to set it against",
    "registered_not_charging": "registered, but not charging",
    "collected_without_duty": "collected without a duty",
    "over_collected": "collected too much",
    "duty_before_registration": "a duty before your registration",
    "unconfirmed": "rests on an unconfirmed fact",
    "unconfirmed_threshold": "a limit resting on an unconfirmed fact",
    "contradiction": "your profile contradicts itself",
    "duty_before_files": "a duty from before your files",
    "marketplace_crossing": "limit met through marketplaces",
    "nil_return": "a return without sales",
    "count_dropped": "a test that was dropped since",
    "turnover_tax": "a tax on turnover, outside this estimate",
    "watch": "limit to watch",
    "small_on_request": "a small-business scheme on application",
    "small_watch": "small-business limit to watch",
    "small_no_input_vat": "the fulfiller's VAT is a cost",
    "local_registration": "a registration on the spot",
    "one_stop_shop": "one-stop shop",
    "priced_without_vat": "priced without VAT",
    "outside_union_limit": "outside the Union-wide limit",
    "seller_imports": "you import yourself",
    "choice_binds": "a choice that still binds",
    "transport_open": "whose transport it is, is open",
    "transport_open_no_number": "open transport, and no VAT number given",
    "replace_document": "a document to replace",
    "possible_offset": "tax of the fulfiller that may be set off",
    "covered_by_fulfiller": "sales covered by the fulfiller's tax",
    "delivery_fee": "a fee on deliveries",
    "avoidable": "avoidable tax of the fulfiller",
    "charged_with_document": "charged with a document on file",
    "credit_short": "a credit of the fulfiller without all of its tax",
    "charged_more": "the fulfiller charged more than explained",
    "use_tax_on_samples": "use tax on your own orders",
    "document_runs_out": "a document that runs out",
    "document_worth": "the document worth most",
    "use_tax_unknown": "your own orders, the charge not known",
    "charged_less": "the fulfiller charged less than expected",
    "charged_nothing": "the fulfiller charged nothing",
    "credit_unsaid": "a credit of the fulfiller, its tax not known",
    "below_threshold_ruling": "a ruling below the limit",
    "fulfiller_has_to_report": "what the fulfiller has to report",
    "at_the_door": "charges at the door",
    "no_union_limit": "no limit in the European Union",
    "no_union_limit_established": "no limit in the European Union",
    "no_rules": "no rules on file",
    "unknown_place": "place not known",
    "period_not_over": "a period that is not over",
    "set_aside": "rows set aside",
    "fulfiller_price_unknown": "the fulfiller's price is missing",
    "refunds_above_sale": "refunds above their sale",
    "refunds_without_sale": "refunds without their sale",
    "near_quarter_end": "sales close to the end of the quarter",
    "near_rate_change": "sales shortly before a change of rate",
    "near_holiday": "sales by a tax holiday",
    "history_begins_late": "sales before your files",
    "prior_sales_overlap": "sales before your files that reach into them",
    "no_facilitator_law": "no marketplace law on file",
    "facilitator_by_election": "a marketplace that may choose to collect",
    "local_after_transport": "own sales made local by the transport",
    "transport_open_own_sales": "own sales that hang on the transport",
    "register_where_goods_leave": "a registration where the goods leave",
    "exempt_sales_from_here": "exempt sales without a number of the state",
    "fiscal_representative": "a fiscal representative",
    "import_intermediary": "an intermediary for imports",
    "buyer_may_account": "local sales for which the buyer may account",
    "digital_by_marketplace": "digital goods through a marketplace",
    "reverse_charge": "reverse charge, if the fulfiller is from elsewhere",
    "vat_charged_on_exempt_sale": "VAT charged on an exempt sale",
    "vat_number_worth": "a VAT number worth giving",
    "vat_after_registering": "VAT that only a registration brings back",
    "vat_of_small_business": "VAT that is a cost",
    "vat_not_refunded": "VAT that is not given back",
    "vat_too_late": "VAT that is too late to ask for",
}
"""Kinds of findings, in their order inside one urgency; others follow under their own name."""

NAMED: Final = 10
"""Places that are named with a finding; the tables below hold all of them."""
NAMED_IN_SHORT: Final = 5
NOTE: Final = 3
"""The urgency of what is only to be known; in short it is named without its sentence."""
_ISO_DAY: Final = re.compile(r"\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b", re.ASCII)


def findings(record: dict[str, Any]) -> Pieces:
    """List the findings by urgency; each kind of shortfall keeps its own name and amounts."""
    pieces, groups = heading(HEADING), _groups(record)
    if not groups:
        return [*pieces, paragraph(NOTHING)]
    return [*pieces, *_told(groups, record, NAMED)]


def in_short(record: dict[str, Any]) -> Pieces:
    """List the findings with fewer places, and of mere notes only their names."""
    pieces, groups = heading(HEADING), _groups(record)
    if not groups:
        return [*pieces, paragraph(NOTHING)]
    urgent = {key: found for key, found in groups.items() if key[0] < NOTE}
    notes = [found for key, found in groups.items() if key[0] >= NOTE]
    if urgent:
        pieces += _told(urgent, record, NAMED_IN_SHORT)
    if notes:
        pieces += ["", paragraph("To know, without haste (the full review says more):")]
        pieces += bullets(_head(found) for found in notes)
    return pieces


HEADING: Final = "What needs attention first"
NOTHING: Final = "Nothing was found that needs attention in this period."
_Groups = dict[tuple[int, str, str], list[Finding]]


def _groups(record: dict[str, Any]) -> _Groups:
    """Put findings of one urgency, kind and sentence together, in their order."""
    groups: _Groups = {}
    for finding in sorted(record["findings"], key=_order):
        groups.setdefault((finding["urgency"], finding["kind"], _text(finding)), []).append(finding)
    return groups


def _told(groups: _Groups, record: dict[str, Any], most: int) -> Pieces:
    """Draw the findings with their sentences and at most so many places each."""
    rows: list[list[Cell]] = [
        [URGENCY.get(urgency, printable(urgency)), _cell(text, found, record["currency"], most)]
        for (urgency, _kind, text), found in groups.items()
    ]
    caution = record["findings"][0]["caution"]
    return figures([Column("When"), Column("What")], rows, caution, gaps=True)


def _order(finding: Finding) -> tuple[int, int, Decimal]:
    """Put urgent ones first, then by kind, then the largest amount."""
    kinds, kind = list(KINDS), finding["kind"]
    place_of_kind = kinds.index(kind) if kind in KINDS else len(kinds)
    return finding["urgency"], place_of_kind, -Decimal(finding.get("amount") or 0)


def _text(finding: Finding) -> str:
    """Give the sentence of a finding, days in words; the table rows it names stay in the record."""
    text = printable(finding["text"])
    if finding["kind"] in ("unconfirmed", "unconfirmed_threshold"):
        text = text.partition(": ")[0].rstrip(".") + "."
    return _ISO_DAY.sub(lambda found: day(found[0]), text)


def _cell(text: str, found: list[Finding], currency: str, most: int) -> Text:
    """Write the kind, the sentence, and the places with their amounts."""
    spots = [spot for spot in (_spot(one, currency) for one in found) if spot]
    if len(found) == 1:
        return Text.assemble((": ".join([_name(found[0]), *spots]), STRONG), f"\n{text}")
    left = len(spots) - most
    named = "; ".join(spots[:most]) + (f"; and {several(left, 'more', 'more')}" if left > 0 else "")
    return Text.assemble((_head(found), STRONG), f"\n{text}\n{named}".rstrip())


def _head(found: list[Finding]) -> str:
    """Name the kind, and the one place or the number of them; no amount, which would need its caution."""
    if len(found) == 1:
        return f"{_name(found[0])}: {place(found[0])}" if found[0].get("place") else _name(found[0])
    what = "place" if all(one.get("place") for one in found) else "case"
    return f"{_name(found[0])}: {several(len(found), what)}"


def _name(finding: Finding) -> str:
    """Give the name of a finding's kind as the beginning of a sentence."""
    words = KINDS.get(finding["kind"], printable(finding["kind"]).replace("_", " "))
    return words[:1].upper() + words[1:]


def _spot(finding: Finding, currency: str) -> str:
    """Name the place and the amount of a finding, as far as it has them."""
    amount = money(finding["amount"], currency) if finding.get("amount") else ""
    return " ".join(part for part in (place(finding) if finding.get("place") else "", amount) if part)
