"""Tables of the United States: rates, thresholds and how duties start and end."""

from __future__ import annotations

from taxcalc.tables.fields import PLACE, Field, Schema

US_RATES_AND_DUTIES: tuple[Schema, ...] = (
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
            Field(
                "in_holiday",
                "choice",
                "whether a sales-tax holiday frees sales at this rate as it frees those of other sellers",
                choices=("like_other_sellers", "not_settled"),
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
            Field(
                "year",
                "choice",
                "which year the window means where not the calendar year",
                required=False,
                choices=("accounting", "tax"),
            ),
            Field("fewest_sales", "count", "sales that the amount must at least consist of", required=False),
            Field(
                "first_year_taxes_only_above",
                "yes_no",
                "in the year of crossing only the sales above the amount are taxed",
                required=False,
            ),
            Field(
                "transaction_means",
                "choice",
                "what the count counts, blank where nothing was read",
                required=False,
                choices=("separate_invoice", "retail_sale", "agreement"),
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
                    "same_order",
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
                choices=("end_of_month", "from_start", "from_last_met", "with_threshold", "open"),
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
                    "with_threshold",
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
            Field(
                "counts_for_seller",
                "yes_no",
                "under this law facilitated sales count towards the threshold of the seller",
                required=False,
            ),
        ),
    ),
)
