"""The columns of every rate table, in one place; loading, checking and the tables' README derive from it.

A table is a CSV file under `rate_tables/`. Rows of a dated table hold from `valid_from` until the next row of
the same key; an end without a successor is a row with `ended` = yes. Values stand as the law prints them
(percent, amount with its currency) and are turned into integers on loading.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "place",  # a code of places.csv                           → int16 place code
    "product_class",  # a class of taxcalc.columns, or * for all       → int8 index, -1 for *
    "text",  # free text                                      → str
    "choice",  # one of `choices`                               → str
    "code",  # a key of another table (`refers_to`)           → str
    "day",  # ISO date, blank allowed where not required     → int32 days since 1970-01-01, NO_DAY blank
    "percent",  # as printed, "7.25"                             → int64 parts per million, NO_VALUE blank
    "amount",  # as printed, "100000" or "110.00"               → int64 minor units of `currency`, NO_VALUE
    "count",  # whole number                                   → int64, NO_VALUE blank
    "currency",  # ISO 4217                                       → str
    "yes_no",  # yes / no                                       → bool
    "pattern",  # regular expression                             → str
]

NO_VALUE = -(2**62)
"""An int64 value that is blank in the table."""

BASES = ("official", "secondary", "unconfirmed")
"""Weakness of a fact, strongest first: read in the official text; in a copy or a summary; from memory."""


@dataclass(frozen=True)
class Field:
    """One column of a table."""

    name: str
    kind: Kind
    meaning: str
    required: bool = True
    key: bool = False
    choices: tuple[str, ...] = ()
    refers_to: str | None = None


@dataclass(frozen=True)
class Schema:
    """One table: its name (path without .csv), its own fields, and whether its rows are dated and sourced."""

    name: str
    title: str
    fields: tuple[Field, ...]
    dated: bool = True
    sourced: bool = True


DATED = (
    Field("valid_from", "day", "first day on which the row holds; it holds until the next row of its key"),
    Field(
        "ended",
        "yes_no",
        "yes: from this day nothing holds for this key (the values are then blank)",
        required=False,
    ),
)
SOURCED = (
    Field("source", "code", "id in sources.csv of the paper that says so", refers_to="sources"),
    Field("basis", "choice", "how sure the fact is", choices=BASES),
    Field(
        "unconfirmed_columns",
        "text",
        "columns of this row that rest on memory, separated by spaces",
        required=False,
    ),
    Field("checked_on", "day", "day on which the row was last held against its source"),
    Field("note", "text", "what a reader should know", required=False),
)

PLACE = Field("place", "place", "where the row holds, a code of places.csv", key=True)
CLASS = Field(
    "product_class", "product_class", "kind of goods, or * for all that have no row of their own", key=True
)

SCHEMAS: tuple[Schema, ...] = (
    Schema(
        "sources",
        "Published sources",
        (
            Field("id", "text", "short name that rows refer to", key=True),
            Field("publisher", "text", "who published it"),
            Field(
                "title",
                "text",
                "what it is called; the official document first, then `read in a copy` where so",
            ),
            Field("link", "text", "where it stands", required=False),
            Field("published_on", "text", "date or edition that the source bears", required=False),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "places",
        "Places",
        (
            Field("place", "text", "code used everywhere: US-TX, DE, XI, ES-CN, unknown", key=True),
            Field("name", "text", "English name"),
            Field(
                "country", "text", "ISO 3166-1 alpha-2 code of the country it is written under in an address"
            ),
            Field("regime", "choice", "whose rules apply", choices=("us", "eu", "elsewhere", "none")),
            Field(
                "kind",
                "choice",
                "what it is",
                choices=(
                    "state",
                    "district",
                    "territory",
                    "military",
                    "member_state",
                    "special_territory",
                    "country",
                    "union",
                    "unknown",
                ),
            ),
            Field(
                "understood", "text", "other spellings understood on intake, separated by |", required=False
            ),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "us/zip_states",
        "ZIP codes by state",
        (
            Field("zip_from", "text", "first 5-digit ZIP code of the run", key=True),
            Field("zip_to", "text", "last 5-digit ZIP code of the run"),
            PLACE,
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "us/zip_counties",
        "ZIP codes by county, where a rule needs the county",
        (
            Field("zip_from", "text", "first 5-digit ZIP code of the run", key=True),
            Field("zip_to", "text", "last 5-digit ZIP code of the run"),
            PLACE,
            Field("county", "text", "county, as named in us/product_rules locality"),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "us/state_rates",
        "State sales-tax rates",
        (
            PLACE,
            Field(
                "state_percent", "percent", "rate of the state, with the local part that applies everywhere"
            ),
            Field(
                "sourcing_in_state",
                "choice",
                "which local rate a seller inside the state charges",
                choices=("origin", "destination", "mixed", "not_applicable"),
            ),
        ),
    ),
    Schema(
        "us/local_rates",
        "Local sales-tax rates: average and highest",
        (
            PLACE,
            Field(
                "average_percent", "percent", "average of local rates weighted by population; may be negative"
            ),
            Field("highest_percent", "percent", "highest local rate in the state"),
            Field("lowest_percent", "percent", "local rate due everywhere on top of state_percent, mostly 0"),
        ),
    ),
    Schema(
        "us/flat_rates",
        "Flat rates for remote sellers",
        (
            PLACE,
            Field("programme", "text", "what the state calls it"),
            Field("flat_percent", "percent", "total rate charged instead of state and local rates"),
            Field(
                "by",
                "choice",
                "election: only for a seller that enrolled; law: every remote seller",
                choices=("election", "law"),
            ),
        ),
    ),
    Schema(
        "us/thresholds",
        "Economic-nexus thresholds",
        (
            PLACE,
            Field("amount", "amount", "sales into the state; 0 with `over` means from the first sale"),
            Field("currency", "currency", "currency of the amount"),
            Field(
                "amount_met_when",
                "choice",
                "whether the amount must be passed or only reached",
                choices=("over", "reached"),
            ),
            Field("transactions", "count", "number of sales, blank where no count is tested", required=False),
            Field(
                "transactions_met_when",
                "choice",
                "same for the count",
                required=False,
                choices=("over", "reached"),
            ),
            Field(
                "connector",
                "choice",
                "either test is enough, or both must be met",
                choices=("either", "both", "amount_only"),
            ),
            Field(
                "window",
                "choice",
                "over which time sales are added",
                choices=(
                    "current_or_previous_calendar_year",
                    "previous_calendar_year",
                    "rolling_12_months",
                    "12_months_reviewed_quarterly",
                    "4_sales_tax_quarters",
                    "12_months_to_30_september",
                ),
            ),
            Field("exempt_sales_count", "yes_no", "exempt goods and exempt buyers count"),
            Field("resale_sales_count", "yes_no", "sales for resale count"),
            Field("marketplace_sales_count", "yes_no", "sales that a facilitator collects on count"),
            Field(
                "no_duty_before",
                "day",
                "first day on which anybody had to collect, where later than valid_from",
                required=False,
            ),
            Field(
                "duty_kind",
                "choice",
                "collect, or a choice to collect or report that is no plain duty",
                choices=("collect", "collect_or_report"),
            ),
        ),
    ),
    Schema(
        "us/threshold_starts",
        "When collection starts after crossing",
        (
            PLACE,
            Field("start_rule", "code", "row of us/start_rules", refers_to="us/start_rules"),
        ),
    ),
    Schema(
        "us/start_rules",
        "What the start rules mean",
        (
            Field("start_rule", "text", "name of the rule", key=True),
            Field(
                "counts",
                "choice",
                "how the first day of the duty is found",
                choices=(
                    "next_order",
                    "day",
                    "first_of_month",
                    "first_of_month_within",
                    "next_quarter",
                    "quarter_plus_months",
                    "fixed_day",
                    "day_or_new_year",
                    "no_duty",
                ),
            ),
            Field("days", "count", "days after the crossing", required=False),
            Field("months", "count", "months after the crossing", required=False),
            Field(
                "month",
                "count",
                "month of a fixed day in the following year (or the same year when later)",
                required=False,
            ),
            Field("meaning", "text", "in words"),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "us/windows",
        "What the windows of thresholds mean",
        (
            Field("window", "text", "name of the window", key=True),
            Field("looked_at", "choice", "when the total is tested", choices=("at_once", "on_review")),
            Field(
                "review_months",
                "text",
                "months with whose last day a review falls, separated by spaces",
                required=False,
            ),
            Field("adds", "choice", "what is added up", choices=("calendar_year", "twelve_months")),
            Field("meaning", "text", "in words"),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "us/end_rules",
        "What the end rules mean",
        (
            Field("end_rule", "text", "name of the rule", key=True),
            Field(
                "counts",
                "choice",
                "how the last day is found",
                choices=("end_of_month", "from_start", "from_last_met", "open"),
            ),
            Field("years", "count", "years after the one in which the line was met", required=False),
            Field("month", "count", "month with whose last day the duty ends", required=False),
            Field(
                "months",
                "count",
                "months from the start or the last day on which the line was met",
                required=False,
            ),
            Field("meaning", "text", "in words"),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "us/duty_ends",
        "How long the duty of a remote seller lasts",
        (
            PLACE,
            Field(
                "end_rule",
                "choice",
                "how the last day is found",
                choices=(
                    "end_of_next_calendar_year",
                    "following_calendar_year_only",
                    "april_to_march",
                    "october_to_september",
                    "one_year_from_quarter",
                    "twelve_months_from_start",
                    "rolling_12_months",
                    "until_notice",
                ),
            ),
            Field(
                "count_repeal_ends_duty",
                "yes_no",
                "a seller bound only by a repealed count test was freed when the test was repealed",
            ),
        ),
    ),
    Schema(
        "us/facilitator_laws",
        "Marketplace facilitator laws",
        (
            PLACE,
            Field(
                "facilitator_collects",
                "choice",
                "whether the facilitator collects",
                choices=("yes", "by_election", "no"),
            ),
            Field(
                "seller_registers",
                "choice",
                "whether a seller with facilitated sales only must register",
                choices=("yes", "no", "nil_returns", "unknown"),
            ),
        ),
    ),
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
        ),
    ),
    Schema(
        "eu/rates",
        "VAT rates by kind of goods",
        (
            PLACE,
            CLASS,
            Field("percent", "percent", "rate"),
        ),
    ),
    Schema(
        "eu/territories",
        "Special territories, found by ISO code or postal code",
        (
            Field("territory", "text", "name", key=True),
            PLACE,
            Field("postal_country", "text", "country code written in the address", required=False),
            Field(
                "postal_pattern",
                "pattern",
                "postal codes of the territory, blank where it has an own ISO country code",
                required=False,
            ),
            Field(
                "treatment", "choice", "VAT status", choices=("outside", "inside", "own_rates", "as_other")
            ),
            Field("treated_as", "text", "place whose rules apply, for as_other", required=False),
            Field("customs_territory", "yes_no", "inside the customs territory of the Union"),
        ),
    ),
    Schema(
        "eu/thresholds",
        "Union thresholds",
        (
            Field(
                "measure",
                "choice",
                "what is limited",
                key=True,
                choices=("distance_sales", "import_consignment"),
            ),
            Field(
                "place",
                "place",
                "EU, or the member state whose currency the national equivalent is in",
                key=True,
            ),
            Field("amount", "amount", "limit"),
            Field("currency", "currency", "currency of the limit"),
            Field("met_when", "choice", "limit must be passed", choices=("over", "reached")),
        ),
    ),
    Schema(
        "eu/small_business",
        "Small-business scheme: national limits",
        (
            PLACE,
            Field("amount", "amount", "annual limit", required=False),
            Field("currency", "currency", "currency of the limit", required=False),
            Field(
                "open_to_other_states",
                "choice",
                "sellers of other member states may use it",
                choices=("yes", "no", "unknown"),
            ),
        ),
    ),
)

BY_NAME: dict[str, Schema] = {schema.name: schema for schema in SCHEMAS}
