"""One thing that needs attention, and the words and urgency of every kind of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from taxcalc.findings.small_business_words import SMALL_KINDS
from taxcalc.findings.union_kinds import UNION_KINDS

KINDS: dict[str, tuple[int, str]] = {
    "past_duty": (
        1,
        (
            "Tax may have been due here in the past without a registration. Talk to a professional about a voluntary "
            "disclosure before you register: registering first can close that way. The amount is what may not have been "
            "collected since then."
        ),
    ),
    "duty_before_registration": (
        1,
        (
            "The duty seems to have begun before your registration. Talk to a professional about the time before it. The "
            "amount is what may not have been collected since the duty began."
        ),
    ),
    "not_collected_earlier": (
        1,
        (
            "Before the period, under a duty, less tax was collected than should have been. Ask a professional how earlier "
            "returns are put right."
        ),
    ),
    "crossed": (1, "The threshold was crossed{when}; collection may have been due since {since}."),
    "crossed_ahead": (1, "The threshold was crossed{when}; collection may be due from {since} on."),
    "not_collected": (1, "Less tax was collected in the period than should have been."),
    "registered_not_charging": (
        1,
        (
            "You are registered here, but charged no tax at all in the period on sales that should bear it. A registered "
            "seller charges from its registration on; the amount may be owed all the same."
        ),
    ),
    "collected_without_duty": (
        1,
        (
            "Tax was collected here without a known duty. As a rule it has to be paid over or given back; ask a "
            "professional.{border}"
        ),
    ),
    "remittance_not_evidenced": (
        2,
        (
            "Tax collected here since the file begins is not shown as paid over. Add [[remitted]] to the profile if it was: "
            "each payment counts for the quarters of its days. Collected tax is held for the state."
        ),
    ),
    "payment_unmatched": (
        2,
        (
            "The profile shows this amount as paid over here, but in the quarters it is for no sale of the files stands here "
            "under a known duty, so it is held against nothing. Check the place and the days of [[remitted]], and whether "
            "orders are missing."
        ),
    ),
    "duty_before_files": (
        2,
        (
            "The duty here seems to have begun on {since}, before the first order of the files ({first}). What was lacking "
            "before is in no figure: add the earlier orders, or have a professional look at them."
        ),
    ),
    "marketplace_crossing": (
        2,
        (
            "Without the sales through marketplaces this threshold would not be met. The facilitator collects on those; "
            "whether you must register, report, or collect on your own sales all the same differs by state. Ask a professional."
        ),
    ),
    "count_dropped": (
        2,
        (
            "The duty here holds by the number of sales alone, a test that the state dropped on {dropped}. Whether a duty that "
            "had begun ended then is not settled here, so it is carried on. Ask a professional before you pay for the time since."
        ),
    ),
    "nil_return": (
        2,
        (
            "Registered here, and no sale in {quarters}: a return is usually due all the same (common practice, no source). "
            "Check that it was filed."
        ),
    ),
    "near": (2, "{share} % of the threshold is reached ({measure})."),
    **SMALL_KINDS,
    "local_registration": (
        2,
        (
            "Goods {how}, and you are not established here{sum}. This usually needs a local VAT registration from the first "
            "sale, however small: the limit for cross-border sales does not help, and {shop}. The amount "
            "is the VAT on these sales in the period."
        ),
    ),
    "one_stop_shop": (
        2,
        (
            "Sales to consumers here are taxed on arrival: they go into a Union one-stop-shop return, or a local registration."
        ),
    ),
    "priced_without_vat": (
        2,
        (
            "Sold to consumers at prices without VAT, and nothing collected, in the period: {sales}. On top of the price the VAT "
            "is {top}, and the figures of this review say so. Where it cannot be asked of the customers afterwards it "
            "comes out of the price: {out}. Ask a professional which holds."
        ),
    ),
    "outside_union_limit": (
        2,
        (
            "Goods that your fulfiller sends from another member state than your own, in the period from {sites}, are outside "
            "the limit of {limit} from the first euro: they are taxed on arrival, and do not count towards the limit.{reading} "
            "The amount is the VAT on them in the period."
        ),
    ),
    "seller_imports": (
        2,
        (
            "By your profile you import goods into the Union yourself: {sum} of sales in the period. Import VAT and customs duty "
            "at the border are then yours; they are not computed. Ask a professional, also on what you can deduct."
        ),
    ),
    "choice_binds": (
        2,
        (
            "By the profile your choice to be taxed on arrival ended on {until}. It binds for whole calendar years, until "
            "{last}, and is taken to hold until then. Ask a professional."
        ),
    ),
    "contradiction": (
        2,
        (
            "The profile has a Union one-stop-shop registration, but cross-border sales from your own member state are below the "
            "limit of {limit} and no choice to be taxed on arrival is named, so they are taken as taxed at home. Add "
            "[[election]] eu_tax_at_destination if you made it. Goods sent from another member state go through it all the same."
        ),
    ),
    "transport_open": (
        2,
        (
            "To which of the two sales the transport belongs decides what the fulfiller may charge and where you must "
            "register. By who sends the goods art. 36a of Directive 2006/112/EC {points}. That is a matter for a professional; "
            "the amount is the fulfiller's VAT at stake in the period. Write the answer as transport_supply in the profile."
        ),
    ),
    "transport_open_no_number": (
        2,
        (
            "To which of the two sales the transport belongs is open, and the fulfiller has no VAT number of yours from another "
            "member state: as it is, it may charge its VAT either way. By who sends the goods art. 36a of Directive 2006/112/EC "
            "{points}. Ask a professional for both together."
        ),
    ),
    "replace_document": (
        2,
        (
            "An old document of another state still shields the fulfiller, but must be replaced: you had to register there."
        ),
    ),
    "possible_offset": (
        2,
        (
            "The fulfiller charged tax on the retail price here, where you had to collect yourself. That takes nothing off what "
            "you should have collected; the amount is what it charged in the period and what may be set off or claimed back. "
            "Ask a professional."
        ),
    ),
    "covered_by_fulfiller": (
        3,
        (
            "The fulfiller may be taxed on the price of your customers here, and no duty of yours is known: where it "
            "charges you that tax, these sales are covered by it and nothing is left to collect. The amount is what it charged "
            "in the period."
        ),
    ),
    "delivery_fee": (
        2,
        (
            "A fee on deliveries may be due here besides the tax, by your sales of the year before: {fee}, {orders} since "
            "{since}. It is in no other figure. Ask a professional."
        ),
    ),
    "avoidable": (2, "A document that could be had would have avoided this tax of the fulfiller."),
    "charged_with_document": (
        2,
        (
            "The fulfiller charged this tax although, by your profile, it had a document that the state accepts. Ask it for a "
            "credit; the section on its charges names quarters and lines."
        ),
    ),
    "credit_short": (
        2,
        (
            "The fulfiller took goods back, or gave a price back, without all of the tax that it had charged on them. Ask it "
            "for a credit of the rest; the section on its charges names quarters and lines."
        ),
    ),
    "charged_more": (
        2,
        (
            "The fulfiller charged this much more in the period than the rates and rules held here explain. Ask it how the tax "
            "was computed."
        ),
    ),
    "use_tax_on_samples": (
        2,
        (
            "On goods that you ordered for yourself here the fulfiller charged no tax in the period. You may owe this as use "
            "tax; it is in no other figure. Ask a professional."
        ),
    ),
    "document_runs_out": (
        2,
        "The last document for this state that your profile names {ends} {day}. Give your fulfiller a new one.",
    ),
    "document_worth": (
        2,
        (
            "Of all documents that you could give your fulfiller this one would have saved most in the last four quarters that "
            "were over: {form}, for {states}. The section on documents ranks all of them."
        ),
    ),
    "unconfirmed": (2, "These figures rest on table rows from memory that nobody has confirmed: {rows}."),
    "unconfirmed_threshold": (
        2,
        (
            "The threshold's rules shown here rest in part on memory; check them before relying on dates: {rows}."
        ),
    ),
    "below_threshold_ruling": (
        2,
        (
            "A ruling of this state made a drop-shipping seller collect below the threshold. No amount is added; ask a "
            "professional."
        ),
    ),
    "fulfiller_has_to_report": (
        2,
        (
            "Your document frees the fulfiller here only if it reports you and the customers it sent to, with names and "
            "addresses, to the state as the state asks (mostly once a year). Whether it does is not in your files, and no tax "
            "is counted: ask your fulfiller. Where it does not, it may be charged the tax and pass it on."
        ),
    ),
    "stock_not_counted": (
        2,
        (
            "Your profile names stock here. By an opinion of this state, which binds for its own facts only, stock at a "
            "fulfiller without ties to you makes no duty, so none is counted; the amount is the tax of the period if one does. "
            "Where the place is your own, or the fulfiller belongs to you, name it as premises. Ask a professional."
        ),
    ),
    "no_facilitator_law": (
        2,
        (
            "Sold through a marketplace on a day for which no facilitator law is known here; it was taken as your own sale."
        ),
    ),
    "facilitator_by_election": (
        2,
        (
            "A marketplace may choose here to collect the tax or only to report. These sales are taken as your own; where it "
            "collected, nothing is left for you (the low end). Ask it for its statement."
        ),
    ),
    "prior_sales_overlap": (
        2,
        (
            "The [[prior_sales]] of the profile reach into the files here: sales that stand in both are counted twice for the "
            "threshold. End them on the day before the first order."
        ),
    ),
    "unknown_place": (2, "The place of these lines could not be told, so no tax was computed."),
    "period_not_over": (
        2,
        "The period ends on {last} and is seen from {as_of}: what is sold later is not in its figures, so they are no whole.",
    ),
    "set_aside": (2, "Rows set aside: {count}; the figures leave them out."),
    "crossed_registered": (3, "The threshold was crossed{when}; you are registered for it."),
    "crossed_without_duty": (
        3,
        (
            "The threshold was crossed{when}, but no duty is known to follow from it while your sales here are as they "
            "are. Ask a professional whether you must register or report all the same."
        ),
    ),
    "turnover_tax": (3, "{tax}: {how}. Ask a professional whether you must file it."),
    "watch": (3, "{share} % of the threshold is reached ({measure})."),
    "at_the_door": (
        3,
        (
            "Parcels from outside the Union in the period for which your customers may be asked to pay on delivery: {parcels}, "
            "for {sum} and the carrier's own fee. It is in no other figure. For small parcels the import scheme puts the VAT "
            "into your price instead; ask a professional."
        ),
    ),
    "no_union_limit": (
        3,
        (
            "The Union-wide limit for cross-border sales does not help a seller established outside the Union: VAT of the "
            "state of arrival is due from the first euro."
        ),
    ),
    "no_union_limit_established": (
        3,
        (
            "The Union-wide limit for cross-border sales is for sellers established in one member state only. You are in "
            "{states}: VAT of the state of arrival is due from the first euro."
        ),
    ),
    "use_tax_unknown": (
        3,
        (
            "Goods that you ordered for yourself in the period, without a word on what the fulfiller charged. If it charged no "
            "tax, you may owe up to this as use tax: add fulfiller_tax_charged to the file."
        ),
    ),
    "charged_less": (
        3,
        (
            "The fulfiller charged this much less in the period than the rates and rules held here lead to expect. It may ask "
            "for the rest."
        ),
    ),
    "charged_nothing": (
        3,
        (
            "The fulfiller charged nothing in the period where at least this was to be expected. Either it asks for it later, or "
            "it does not collect here or holds a document that your profile does not name."
        ),
    ),
    "credit_unsaid": (
        3,
        (
            "The fulfiller gave prices back in the period, and your files do not say whether it gave its tax back too. Look at "
            "its credit notes, and fill in fulfiller_tax_charged: at least this much belongs to what it gave back."
        ),
    ),
    "no_rules": (
        3,
        (
            "No rules are held here for this place: what it asks of you is not computed. Ask a professional there."
        ),
    ),
    "fulfiller_price_unknown": (
        2,
        (
            "Sales and orders of your own without the fulfiller's price: {count}. What it may charge on them is not known and "
            "not in the figures."
        ),
    ),
    "refunds_above_sale": (
        3,
        (
            "Sales of which more was refunded than sold: {count}. The amount is what was given back beyond them; it lowers the "
            "sales shown and takes back no more tax than the sale had."
        ),
    ),
    "refunds_without_sale": (3, "Refunds without their sale in the files: {count}."),
    "near_quarter_end": (
        3,
        (
            "Lines of the last days of the period that carry no dispatch day: {count}; a later one could move them."
        ),
    ),
    "near_rate_change": (
        3,
        (
            "Sales under a duty of the 14 days before a state's or a member state's standard rate changed, without a dispatch "
            "day: {count}; a later one could put them under the other rate."
        ),
    ),
    "near_holiday": (
        3,
        (
            "Sales under a duty in a sales-tax holiday for such goods, or in the 14 days before one, without a dispatch day: "
            "{count}. Computed by the day of the order; a later dispatch can put them outside, or open what is free."
        ),
    ),
    "history_begins_late": (
        3,
        (
            "The files begin inside a window that thresholds look at. Sales before them are not known: add [[prior_sales]] to "
            "the profile; until then threshold values are lower bounds."
        ),
    ),
    **UNION_KINDS,
}
"""Urgency (1: act now; 2: look at it before the next return; 3: know it) and words by kind, in the order of showing."""


@dataclass(frozen=True)
class Finding:
    """One finding about one place (a place code, empty where none belongs to it).

    `amount` is minor units of the reporting currency, None where none belongs to it; `gaps` fills the words; `row_ids` are
    the table rows that the words rest on, where no figure of the place does.
    """

    kind: str
    place: str = ""
    amount: int | None = None
    gaps: dict[str, str] = field(default_factory=dict)
    row_ids: str = ""

    @property
    def urgency(self) -> int:
        """Give the urgency of its kind."""
        return KINDS[self.kind][0]

    @property
    def text(self) -> str:
        """Write the sentence."""
        return KINDS[self.kind][1].format(**self.gaps)
