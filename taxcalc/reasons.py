"""Why a line is treated as it is, in a seller's words, by reason id. Regimes give ids; reports show the words."""

from __future__ import annotations

REASONS: dict[str, str] = {
    # United States, the seller's own sale
    "us_own_use": "your own order, not sold",
    "us_state_unknown": "the state of delivery is not known",
    "us_rate_unknown": "no rate of this state is held for that day",
    "us_military": "military address: treated as outside the states' sales taxes; ask a professional",
    "us_no_sales_tax": "no general sales tax here",
    "us_facilitator": "the marketplace collects under this state's facilitator law",
    "us_resale": "sold for resale; keep the buyer's certificate",
    "us_exempt_buyer": "the buyer is exempt; keep the buyer's document",
    "us_exempt_goods": "these goods are exempt here",
    "us_no_duty": "no registration, presence or crossed threshold here on that day",
    "us_facilitator_by_election": "sold through a marketplace that may choose there to collect or only to report",
    "us_stock_no_presence": "you have stock here, which by an opinion of this state is no presence where it lies at a "
    "fulfiller without ties to you; high is the tax if it is one",
    "us_before_facilitator_law": "sold through a marketplace on a day for which no facilitator law is known here",
    "us_registered": "you were registered here",
    "us_present": "you were physically present here",
    "us_over_threshold": "the economic-nexus threshold had been crossed",
    "us_holiday": "in a sales-tax holiday: such goods are free within its price per item, dearer ones are taxed as ever",
    "us_holiday_open": "by a sales-tax holiday, but not certain to count for it (days of payment and delivery, kind of goods, "
    "locality, your choice): low is free, see the row",
    "us_holiday_flat_rate": "in a sales-tax holiday, but you collect this state's flat rate: whether a holiday frees sales at "
    "that rate is not settled; low is free, expected is the flat rate",
    # United States, the fulfiller's sale to the seller
    "us_fulfiller_no_tax": "no general sales tax where the parcel arrived",
    "us_fulfiller_no_rule": "how this place taxes your fulfiller's sale to you is not held here",
    "us_fulfiller_does_not_collect": "the fulfiller does not collect there, by your profile",
    "us_fulfiller_not_liable": "the state does not tax your fulfiller's sale to you",
    "us_fulfiller_starts_elsewhere": "the goods started outside this state, which taxes your fulfiller only on goods that start "
    "in it",
    "us_fulfiller_own_use": "goods for yourself: the tax is properly due, and no resale document stops it",
    "us_fulfiller_freed_by_facilitator": "sold through a marketplace that owes the tax, so the fulfiller should charge none; "
    "high if it does not see it so",
    "us_fulfiller_exempt_goods": "these goods are free of tax there, with or without a document; shipping beside taxed goods may "
    "not be",
    "us_fulfiller_document": "the fulfiller has a document of yours that the state accepts",
    "us_fulfiller_document_to_check": "the state takes a certain paper, no bare number of another state: check yours",
    "us_fulfiller_replace_document": "your document with another state's number may no longer hold, because you had to register "
    "there: replace it (high is the full tax)",
    "us_fulfiller_stock": "a document that the state accepts was on file; if your stock there is a presence after all, it "
    "must be replaced, and high is the tax",
    "us_fulfiller_customer_document": "your customer is exempt or resells: no tax if the customer's own document reaches the "
    "fulfiller (high if it does not)",
    "us_fulfiller_document_unclear": "whether the state accepts the document on file is unclear: from nothing to all, and all is "
    "expected",
    "us_fulfiller_document_ran_out": "the document on file has run out by the state's rule: give a new one",
    "us_fulfiller_law_unclear": "whether the state taxes your fulfiller's sale to you is unclear: from nothing to all, and all "
    "is expected",
    "us_fulfiller_unknown": "your profile does not say whether the fulfiller collects there, and it has no document that the "
    "state accepts: from nothing to all, and all is expected",
    "us_fulfiller_holiday_open": "the fulfiller collects there and has no document that the state accepts; in a sales-tax "
    "holiday, and whether it frees a sale to a reseller is not settled: low is free within the holiday's price, tested on the "
    "price that is the base",
    "us_fulfiller_no_document": "the fulfiller collects there and has no document of yours that the state accepts",
    # European Union, the seller's own sale
    "eu_own_use": "your own order, not sold",
    "eu_export": "leaves the VAT territory of the Union; keep the export evidence",
    "eu_after_export": "the transport is the fulfiller's, so it exports; your own sale takes place outside the Union",
    "eu_service_outside": "digital supply to a customer outside the Union's VAT; the rules there are not held here",
    "eu_service_northern_ireland": "Northern Ireland is under the Union's VAT for goods only; for a digital supply ask about "
    "the United Kingdom's VAT",
    "eu_outside": "neither leaves nor reaches the VAT territory of the Union",
    "eu_deemed_supplier": "the marketplace is the deemed supplier",
    "eu_exempt_buyer": "the buyer is exempt; keep the buyer's document",
    "eu_intra_community": "sold to a business of another member state: free only with proof and a valid number",
    "eu_service_to_business": "digital supply to a business: it accounts for the VAT itself, if its number is valid",
    "eu_small_business": "small-business scheme of the home state: exempt while your turnover there is within its limit",
    "eu_small_business_abroad": "small-business scheme in another member state: exempt within its limit and the Union's",
    "eu_small_business_over": "the small-business limit of your home state was passed: taxed from then on",
    "eu_small_business_in_doubt": "the small-business limit was passed, but no row says from when tax is due: taken as due from "
    "the sale that passed it; low is still exempt",
    "eu_small_business_possible": "your profile names no registration at home: taxed; low is the small-business exemption, "
    "which needs no application there",
    "eu_import_by_business": "a business imports: the import one-stop shop is for consumers; its number may prove false",
    "eu_ioss": "low-value import under your import scheme (IOSS)",
    "eu_import_without_ioss": "low-value import without the import scheme: VAT is asked at the border",
    "eu_import_over_150": "consignment above the import scheme's limit: VAT and customs duty are asked at the border",
    "eu_imported_for_sale": "imported before your sale: taxed where it arrives, as a local sale if it is imported there",
    "eu_home": "sold inside your home state",
    "eu_established": "sold inside a member state where you are established",
    "eu_business_at_home": "sold to a business with a number of the state of dispatch only: taxed there, no exemption",
    "eu_business_at_dispatch": "sold to a business with a number of the state of dispatch only: taxed there, where you are not "
    "established: local registration",
    "eu_domestic_elsewhere": "made and delivered in a member state where you are not established: local registration",
    "eu_buyer_may_account": "sold inside this state, where you are not established, to a business with a number of it: taxed; "
    "low is the reverse charge, under which the buyer accounts for the VAT",
    "eu_local_after_transport": "the transport is the fulfiller's, so your sale is local on arrival: registration there, no OSS",
    "eu_under_limit": "cross-border consumer sales below the Union-wide limit: taxed like sales at home",
    "eu_over_limit": "the Union-wide limit was passed, or you chose to be taxed on arrival",
    "eu_distance_sale": "sent to a consumer in another member state: taxed on arrival from the first sale",
    "eu_unknown": "no rule fits",
    # European Union, the fulfiller's sale to the seller
    "eu_fulfiller_outside": "the goods do not start in the Union's VAT territory",
    "eu_fulfiller_export_by_seller": "you export yourself from the state where you are established",
    "eu_fulfiller_export": "the fulfiller exports: free if it holds the proof",
    "eu_fulfiller_same_state": "the goods stay in the state of dispatch: its VAT is to be expected",
    "eu_fulfiller_transport_second": "the transport belongs to your sale, so the fulfiller's sale is local at dispatch",
    "eu_fulfiller_no_number": "the fulfiller had no VAT number of yours that held that day from another member state",
    "eu_fulfiller_deemed_supplier": "the transport belongs to the sale of the marketplace, the deemed supplier: the fulfiller's "
    "sale is local at dispatch",
    "eu_fulfiller_number_unclear": "whose VAT number the fulfiller has, or whether that of a small business counts, is unclear",
    "eu_fulfiller_exempt_seller": "an exempt small business without a number: VAT of dispatch, or perhaps that of arrival",
    "eu_fulfiller_reverse_charge": "the fulfiller is not listed as collecting here: if it is not established here, you account "
    "for the VAT instead (reverse charge)",
    "eu_fulfiller_number": "your VAT number from another member state: free only if it is valid and transport is proven",
    "eu_fulfiller_transport_open": "to which sale the transport belongs is open: both outcomes are possible",
    # elsewhere
    "elsewhere_own_use": "your own order, not sold",
    "elsewhere_export": "sent abroad; the rules of the country of arrival are not held here",
    "elsewhere_no_rules": "no rules are held here for this place",
    "elsewhere_fulfiller": "no rules are held here for this place",
}

FROM_FIRST_SALE = (
    "eu_home",
    "eu_established",
    "eu_business_at_home",
    "eu_business_at_dispatch",
    "eu_domestic_elsewhere",
    "eu_buyer_may_account",
    "eu_local_after_transport",
    "eu_imported_for_sale",
    "eu_distance_sale",
    "eu_ioss",
    "eu_under_limit",
    "eu_small_business_possible",
)
"""Reasons under which the duty begins with the first sale, without a threshold."""

OVER_UNION_LIMIT = ("eu_over_limit",)
"""Reasons under which the Union-wide limit, or the choice to leave it, moves a sale to its state of arrival."""

AFTER_TRANSPORT = "eu_local_after_transport"
"""Reason under which the choice about the transport makes the seller's own sale local on arrival."""

LOCAL_REGISTRATION = (
    "eu_domestic_elsewhere",
    "eu_buyer_may_account",
    "eu_business_at_dispatch",
    AFTER_TRANSPORT,
    "eu_imported_for_sale",
)
"""Reasons that ask for a local registration which no one-stop shop replaces."""

BY_ONE_STOP_SHOP = ("eu_distance_sale", "eu_over_limit")
"""Reasons under which the Union one-stop shop can be used."""

BY_IMPORT_ONE_STOP_SHOP = ("eu_ioss",)
"""Reasons under which the import one-stop shop is used."""
