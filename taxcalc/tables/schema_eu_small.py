"""Tables of the European Union: small businesses, other limits, and rates narrower than a class."""

from __future__ import annotations

from taxcalc.tables.fields import CLASS, PLACE, Field, Schema

EU_SMALL: tuple[Schema, ...] = (
    Schema(
        "eu/narrower_rates",
        "VAT rates for goods narrower than a class, or for one way of import",
        (
            PLACE,
            CLASS,
            Field(
                "only",
                "choice",
                "to what the rate is limited",
                key=True,
                choices=(
                    "language_listed",
                    "language_not_listed",
                    "newspapers",
                    "special_import_arrangement",
                    "every_book",
                    "no_isbn",
                ),
            ),
            Field("percent", "percent", "rate"),
            Field(
                "status",
                "choice",
                "in force, or only announced",
                choices=("in_force", "announced"),
            ),
        ),
    ),
    Schema(
        "eu/small_business_rules",
        "Small-business scheme: tests, tolerance and effect of crossing",
        (
            PLACE,
            Field(
                "sales",
                "choice",
                "which sales the row speaks of",
                key=True,
                choices=("all", "goods", "services", "own_art"),
            ),
            Field("amount", "amount", "annual limit; blank where the state has no scheme", required=False),
            Field("currency", "currency", "currency of all amounts of the row", required=False),
            Field(
                "previous_year_amount",
                "amount",
                "limit of the year before, blank where only the running period is tested",
                required=False,
            ),
            Field(
                "ceiling",
                "amount",
                "second, higher limit of the running year, with its own effect",
                required=False,
            ),
            Field(
                "tolerance_percent",
                "percent",
                "the ceiling as percent over the limit, where the law says it so",
                required=False,
            ),
            Field(
                "window",
                "choice",
                "over which time sales are added",
                choices=(
                    "calendar_year",
                    "current_and_previous_calendar_year",
                    "previous_year_and_ceiling_of_current",
                    "current_and_two_previous_calendar_years",
                    "rolling_12_months",
                    "accounting_period",
                    "tax_year",
                    "unknown",
                    "no_scheme",
                ),
            ),
            Field(
                "first_year_pro_rata",
                "yes_no",
                "a seller that began during the year has a part of the limit",
            ),
            Field(
                "over_limit",
                "choice",
                "from when tax is due once the limit is passed (and the ceiling is not)",
                choices=(
                    "from_the_sale",
                    "from_the_day",
                    "from_the_next_day",
                    "from_next_month",
                    "from_january",
                    "no_effect",
                    "registration_duty",
                    "unknown",
                    "no_scheme",
                ),
            ),
            Field(
                "over_ceiling",
                "choice",
                "the same for the ceiling",
                required=False,
                choices=("from_the_sale", "from_the_day", "from_the_next_day"),
            ),
            Field(
                "next_year_closed",
                "choice",
                "no exemption in the year after the limit was passed",
                choices=("yes", "no", "two_years", "other_states_only", "unknown", "no_scheme"),
            ),
            Field("on_request", "yes_no", "only for a seller that asked for it"),
            Field("natural_persons_only", "yes_no", "closed to companies"),
        ),
    ),
    Schema(
        "eu/other_limits",
        "Other limits of the Union's rules",
        (
            Field(
                "measure",
                "choice",
                "what is limited",
                key=True,
                choices=(
                    "acquisitions",
                    "small_business_union_turnover",
                    "small_business_highest_limit",
                    "customs_duty_relief",
                ),
            ),
            Field("place", "place", "EU, or the member state", key=True),
            Field("amount", "amount", "limit"),
            Field("currency", "currency", "currency of the limit"),
            Field(
                "met_when",
                "choice",
                "whether the limit must be passed or only reached; blank where it was not read",
                required=False,
                choices=("over", "reached"),
            ),
        ),
    ),
)
