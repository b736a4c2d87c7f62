"""Tables of the United States: how goods and shipping are taxed, and which documents stop the fulfiller's tax."""

from __future__ import annotations

from taxcalc.tables.fields import CLASS, PLACE, Field, Schema

US_SALES: tuple[Schema, ...] = (
    Schema(
        "us/product_rules",
        "How goods are taxed",
        (
            PLACE,
            CLASS,
            Field(
                "part",
                "choice",
                "which part of the tax the row speaks of",
                key=True,
                choices=("state", "local", "both"),
            ),
            Field(
                "locality",
                "text",
                "county or city the row is limited to, blank for all",
                required=False,
                key=True,
            ),
            Field(
                "treatment",
                "choice",
                "what the row says",
                choices=(
                    "taxable",
                    "exempt",
                    "exempt_below_item_price",
                    "taxable_excess_over_item_price",
                    "higher_rate_over_item_price",
                    "exempt_for_some",
                ),
            ),
            Field("item_price", "amount", "price of one item that the rule turns on", required=False),
            Field("currency", "currency", "currency of the item price", required=False),
            Field(
                "percent",
                "percent",
                "rate of the state part above the item price, where it differs",
                required=False,
            ),
            Field(
                "delivery_in_item_price",
                "yes_no",
                "delivery is added to the price before the test",
                required=False,
            ),
        ),
    ),
    Schema(
        "us/shipping_rules",
        "Whether shipping is taxed",
        (
            PLACE,
            Field(
                "treatment",
                "choice",
                "what holds for a separately stated charge for sending a parcel",
                choices=(
                    "taxable",
                    "exempt_if_stated",
                    "exempt_by_carrier",
                    "exempt_if_avoidable",
                    "follows_goods",
                    "local_rules",
                    "no_tax",
                ),
            ),
            Field("actual_cost_only", "yes_no", "the exemption stops at the actual cost of transport"),
            Field(
                "handling",
                "choice",
                "handling charges",
                choices=(
                    "taxable",
                    "taxable_if_combined",
                    "like_shipping",
                    "exempt_if_stated",
                    "unknown",
                    "no_tax",
                ),
            ),
            Field(
                "mixed_shipment",
                "choice",
                "taxable and exempt goods in one parcel",
                choices=(
                    "follows_goods",
                    "by_price",
                    "by_price_else_all",
                    "all_if_one_charge",
                    "all",
                    "exempt_share_if_identified",
                    "by_item",
                    "unknown",
                    "no_tax",
                ),
            ),
            Field(
                "split_by",
                "choice",
                "how the charge may be split between taxable and exempt goods, blank where nothing was read",
                required=False,
                choices=("price", "price_or_weight"),
            ),
            Field(
                "alone_is_price",
                "yes_no",
                "a charge for shipping on an order of taxable goods given for nothing is their price, though shipping is free",
                required=False,
            ),
        ),
    ),
    Schema(
        "us/resale_rules",
        "Drop shipments: what the fulfiller may charge, and which document stops it",
        (
            PLACE,
            Field(
                "rule",
                "choice",
                "pattern of the state",
                choices=(
                    "home_number_ok",
                    "paper_without_registration",
                    "own_number_needed",
                    "origin_decides",
                    "local_only",
                    "no_tax",
                ),
            ),
            Field(
                "home_number",
                "choice",
                "a certificate with another state's number is accepted",
                choices=("yes", "no", "unclear", "not_applicable"),
            ),
            Field(
                "multistate_form",
                "choice",
                "the multijurisdiction form is accepted",
                choices=("yes", "no", "unclear", "not_applicable"),
            ),
            Field("multistate_needs_own_number", "yes_no", "only with a number of this state in it"),
            Field(
                "streamlined_form",
                "choice",
                "the streamlined certificate is accepted",
                choices=("yes", "no", "unclear", "not_applicable"),
            ),
            Field(
                "only_if_not_obliged_here",
                "yes_no",
                "the document of another state stops working once the seller must register here",
            ),
            Field(
                "without_us_number",
                "choice",
                "what a seller without any state number can do",
                choices=("accepted", "not_accepted", "unclear", "not_applicable"),
            ),
            Field("without_us_number_words", "text", "the same in words", required=False),
            Field(
                "liable_without_document",
                "choice",
                "the fulfiller owes the tax where it holds no document",
                choices=("yes", "no", "unclear", "by_ship_from", "local_only"),
            ),
            Field(
                "base",
                "choice",
                "price on which the fulfiller owes",
                choices=("wholesale", "retail", "none", "local"),
            ),
            Field(
                "markup_percent",
                "percent",
                "presumed mark-up over the fulfiller's price where the retail price is unknown",
                required=False,
            ),
            Field(
                "shipping_in_base",
                "choice",
                "the fulfiller's shipping charge is in its base",
                choices=("like_shipping_rule", "yes", "no", "unclear"),
            ),
            Field(
                "facilitated_sale_frees_fulfiller",
                "yes_no",
                "a registered facilitator's sale frees the fulfiller",
            ),
            Field("preferred_document", "text", "document to give, in words", required=False),
            Field(
                "seller_may_owe_below_threshold",
                "yes_no",
                "rulings make a drop-shipping seller collect below the threshold",
            ),
            Field(
                "fulfiller_reports_buyers",
                "yes_no",
                "with another state's number the fulfiller is free only if it reports the seller and its customers to the state",
            ),
        ),
    ),
)
