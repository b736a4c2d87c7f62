"""Tables of other countries: dated facts that no rule of the program reads yet."""

from __future__ import annotations

from taxcalc.tables.fields import CLASS, PLACE, Field, Schema

REGION = Field(
    "region",
    "text",
    "province the row is limited to, as in ISO 3166-2 (CA-ON); blank for the whole country",
    required=False,
    key=True,
)

ELSEWHERE: tuple[Schema, ...] = (
    Schema(
        "elsewhere/rates",
        "Rates of other countries",
        (
            PLACE,
            REGION,
            Field(
                "tax",
                "choice",
                "which tax; several of one place are added",
                key=True,
                choices=("vat", "gst", "hst", "qst", "pst", "rst", "consumption_tax"),
            ),
            CLASS,
            Field("percent", "percent", "rate that the buyer bears"),
        ),
    ),
    Schema(
        "elsewhere/thresholds",
        "When a seller must register in other countries",
        (
            PLACE,
            Field(
                "measure",
                "choice",
                "which sales are limited",
                key=True,
                choices=(
                    "established",
                    "not_established",
                    "deregistration",
                    "every_seller",
                    "domestic_supplies",
                    "small_consignments",
                    "small_supplier",
                    "goods_in_country",
                    "sales_into_country",
                    "base_period_sales",
                    "worldwide_turnover",
                    "consumer_sales",
                ),
            ),
            Field("amount", "amount", "limit; 0 means from the first sale"),
            Field("currency", "currency", "currency of the limit"),
            Field(
                "window",
                "choice",
                "over which time sales are added",
                choices=(
                    "first_sale",
                    "past_12_months_at_month_end_or_next_30_days",
                    "next_12_months",
                    "12_months",
                    "any_12_months",
                    "year",
                    "quarter_or_four_quarters",
                    "current_or_projected_12_months",
                    "past_or_next_12_months",
                    "two_years_before_or_half_of_last_year",
                    "past_calendar_year_or_next_12_months",
                ),
            ),
            Field("together_with", "text", "measure whose limit must be passed too", required=False),
        ),
    ),
    Schema(
        "elsewhere/import_limits",
        "Value limits of imports into other countries",
        (
            PLACE,
            Field(
                "measure",
                "choice",
                "what happens up to the limit",
                key=True,
                choices=("seller_charges_at_sale", "no_import_tax", "old_relief"),
            ),
            Field("amount", "amount", "limit"),
            Field("currency", "currency", "currency of the limit"),
            Field(
                "per", "choice", "what the limit is held against", choices=("consignment", "item", "import")
            ),
            Field(
                "value",
                "choice",
                "which value is held against it",
                choices=(
                    "intrinsic_value",
                    "item_price_without_shipping",
                    "customs_value",
                    "price_without_tax",
                    "taxable_value",
                    "tax_itself",
                    "item_price",
                    "unknown",
                ),
            ),
        ),
    ),
    Schema(
        "elsewhere/rules",
        "Single rules of other countries",
        (
            PLACE,
            Field(
                "rule",
                "choice",
                "which question the row answers",
                key=True,
                choices=(
                    "consignment_raised_above_limit",
                    "goods_from_the_union",
                    "customs_relief",
                    "scheme_buyers",
                    "import_base",
                    "platforms",
                    "imports_in_general",
                    "stock_in_country",
                    "low_value_imports",
                ),
            ),
            Field(
                "answer",
                "choice",
                "the answer",
                choices=(
                    "import_tax_and_adjustment",
                    "union_distance_sales",
                    "ends",
                    "consumers_only",
                    "transport_and_duty_included",
                    "deemed_supplier",
                    "border_collects",
                    "domestic_rules",
                    "seller_or_platform_charges",
                ),
            ),
            Field("status", "choice", "in force, or only planned", choices=("in_force", "planned")),
        ),
    ),
)
