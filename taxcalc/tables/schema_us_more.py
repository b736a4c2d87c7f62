"""Tables of the United States beside the usual rules: narrower goods, holidays, fees, how long papers last."""

from __future__ import annotations

from taxcalc.tables.fields import CLASS, PLACE, Field, Schema

US_MORE: tuple[Schema, ...] = (
    Schema(
        "us/class_local_rates",
        "Local rates that a law fixes for one kind of goods",
        (
            PLACE,
            CLASS,
            Field("local_percent", "percent", "local part, the same in the whole state"),
        ),
    ),
    Schema(
        "us/past_sales_rates",
        "Simplified rates for unpaid sales of the past",
        (
            PLACE,
            Field("goods", "choice", "what was sold", key=True, choices=("general", "food_and_drugs")),
            Field("programme", "text", "what the state calls it"),
            Field("percent", "percent", "total rate on the unpaid sales of the period from valid_from"),
            Field("filed_from", "day", "first day on which the sales could be disclosed"),
            Field("filed_until", "day", "last day on which the sales could be disclosed"),
        ),
    ),
    Schema(
        "us/narrower_goods",
        "Rules for goods narrower than a class",
        (
            PLACE,
            CLASS,
            Field(
                "goods",
                "choice",
                "which goods of the class",
                key=True,
                choices=("jewellery", "bags_umbrellas_wallets_watches"),
            ),
            Field(
                "treatment",
                "choice",
                "what the row says, as in us/product_rules",
                choices=("taxable", "exempt", "exempt_below_item_price", "higher_rate_over_item_price"),
            ),
            Field("item_price", "amount", "price of one item that the rule turns on", required=False),
            Field("currency", "currency", "currency of the item price", required=False),
            Field("percent", "percent", "rate of the state part above the item price", required=False),
        ),
    ),
    Schema(
        "us/holidays",
        "Sales-tax holidays",
        (
            PLACE,
            Field(
                "goods",
                "choice",
                "what is freed",
                key=True,
                choices=(
                    "clothing",
                    "accessories",
                    "bags_and_wallets",
                    "backpacks",
                    "books",
                    "school_supplies",
                    "everything",
                ),
            ),
            Field("product_classes", "product_classes", "classes of goods in which they lie"),
            Field("last_day", "day", "last day of the holiday, which begins on valid_from"),
            Field("item_price", "amount", "price of one item that the rule turns on", required=False),
            Field("currency", "currency", "currency of the item price", required=False),
            Field(
                "item_price_met_when",
                "choice",
                "free if the item costs up to the price, or only if it costs less; blank without a limit",
                required=False,
                choices=("up_to", "below"),
            ),
            Field(
                "frees",
                "choice",
                "the whole item within the limit, or the first part of the price of any item",
                choices=("whole_item", "first_part"),
            ),
            Field(
                "local_part",
                "choice",
                "whether local tax is freed too",
                choices=("freed", "where_opted_in", "no_local_tax"),
            ),
            Field(
                "counts_when",
                "choice",
                "what must happen in the holiday for a sale from afar to be free",
                choices=(
                    "sold",
                    "ordered_and_paid",
                    "ordered_paid_and_accepted",
                    "paid_and_delivered",
                ),
            ),
            Field("seller_may_decline", "yes_no", "the seller need not take part"),
            Field(
                "delivery_in_item_price",
                "yes_no",
                "delivery is added to the price before the test; blank where nothing was read",
                required=False,
            ),
        ),
        last_day="last_day",
    ),
    Schema(
        "us/delivery_fees",
        "Fees on deliveries",
        (
            PLACE,
            Field("fee", "text", "what the state calls it", key=True),
            Field("amount", "amount", "fee for one sale, however many parcels"),
            Field("currency", "currency", "currency of all amounts of the row"),
            Field(
                "due_when",
                "choice",
                "what the sale must hold",
                choices=("one_taxable_item", "goods_reach_least_sale"),
            ),
            Field("least_sale", "amount", "goods of one sale that must be reached", required=False),
            Field(
                "clothing_counts",
                "yes_no",
                "exempt clothing counts towards least_sale",
                required=False,
            ),
            Field("motor_vehicle_only", "yes_no", "only for deliveries by motor vehicle"),
            Field(
                "free_sales",
                "amount",
                "sales into the state in the previous calendar year below which nothing is due",
            ),
            Field(
                "free_sales_met_when",
                "choice",
                "the seller stays free up to these sales, or only below them",
                choices=("up_to", "below"),
            ),
            Field(
                "new_seller_starts",
                "choice",
                "first day after free_sales are passed during a year",
                choices=("first_period_after_days", "first_of_month_within_days"),
            ),
            Field("start_days", "count", "days that new_seller_starts speaks of"),
            Field(
                "free_without_duty_to_collect",
                "yes_no",
                "nothing is due from a seller without presence below the threshold of us/thresholds",
                required=False,
            ),
            Field(
                "facilitator_free_sales",
                "amount",
                "sales of one seller through a facilitator below which the facilitator owes nothing for it",
                required=False,
            ),
            Field(
                "seller_may_bear_it", "yes_no", "the seller may pay it instead of showing it", required=False
            ),
        ),
    ),
    Schema(
        "us/stock_rules",
        "Whether stock at an outside fulfiller is a presence",
        (
            PLACE,
            Field(
                "at_outside_fulfiller",
                "choice",
                "what stock that lies at a fulfiller without ties to the seller makes of it",
                choices=("presence", "no_presence"),
            ),
        ),
    ),
    Schema(
        "us/certificates",
        "How long a resale certificate lasts",
        (
            PLACE,
            Field(
                "lasts",
                "choice",
                "when it stops working",
                choices=(
                    "until_revoked",
                    "no_end_stated",
                    "months",
                    "calendar_year",
                    "as_printed",
                    "while_licence_is_current",
                    "without_sales_for_months",
                    "renewal_advised",
                    "local_rules",
                    "no_tax",
                ),
            ),
            Field("months", "count", "months that lasts speaks of", required=False),
            Field("days_to_obtain", "count", "days after the sale to obtain it", required=False),
            Field("keep_years", "count", "years for which the fulfiller keeps it", required=False),
        ),
    ),
    Schema(
        "us/streamlined_states",
        "States of the Streamlined Sales and Use Tax Agreement",
        (
            PLACE,
            Field(
                "lowest_rate_in_zip",
                "yes_no",
                "where one ZIP code has several rates, the law makes the lowest combined one apply",
            ),
            Field(
                "uniform_local_percent",
                "percent",
                "local part that us/state_rates holds inside the state rate, so that the state's own rate file has less",
                required=False,
            ),
        ),
    ),
    Schema(
        "us/state_codes",
        "Numeric codes of the states of the agreement and of their counties",
        (
            PLACE,
            Field("numeric_code", "text", "two-digit code of the state (INCITS 38, formerly FIPS)"),
            Field(
                "county_codes", "text", "three-digit codes of its counties (INCITS 31), separated by spaces"
            ),
        ),
        dated=False,
        sourced=False,
    ),
)
