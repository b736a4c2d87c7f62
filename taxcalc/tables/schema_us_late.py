"""Tables of the United States on late tax: interest, penalties, time limits, voluntary disclosure, what is usual."""

from __future__ import annotations

from taxcalc.tables.fields import PLACE, Field, Schema

US_LATE: tuple[Schema, ...] = (
    Schema(
        "us/interest_rates",
        "Interest on late sales tax",
        (
            PLACE,
            Field(
                "percent",
                "percent",
                "rate for a year; blank where only the rule is known",
                required=False,
            ),
            Field(
                "over_index",
                "choice",
                "rate that points_percent is added to; blank where the law or a notice sets the rate itself",
                required=False,
                choices=("prime", "federal_underpayment"),
            ),
            Field("points_percent", "percent", "percentage points over the index", required=False),
            Field(
                "set",
                "choice",
                "how often it is set, blank where nothing was read",
                required=False,
                choices=("by_law", "yearly", "half_yearly", "quarterly"),
            ),
            Field(
                "accrues",
                "choice",
                "how it is counted",
                choices=(
                    "simple_daily",
                    "daily_compounded_daily",
                    "monthly",
                    "monthly_compounded_yearly",
                    "daily",
                ),
            ),
            Field("free_days", "count", "days after the due day that bear no interest", required=False),
            Field(
                "known_until",
                "day",
                "last day for which the rate was read; what follows is not known here",
                required=False,
            ),
        ),
        last_day="known_until",
    ),
    Schema(
        "us/penalties",
        "Penalties on late sales tax",
        (
            PLACE,
            Field(
                "fault",
                "choice",
                "what is punished",
                key=True,
                choices=(
                    "late_return",
                    "late_payment",
                    "late_return_or_payment",
                    "collected_and_kept",
                    "all_when_found",
                ),
            ),
            Field(
                "stage",
                "choice",
                "from when on the row holds",
                key=True,
                choices=(
                    "from_first_day",
                    "from_day_31",
                    "from_day_61",
                    "after_notice",
                    "after_audit_begins",
                    "after_audit_result",
                    "registration_was_due",
                ),
            ),
            Field("percent", "percent", "part of the tax", required=False),
            Field(
                "per",
                "choice",
                "how often it falls due",
                choices=("once", "month", "30_days", "return"),
            ),
            Field("further_percent", "percent", "part of the tax for each further month", required=False),
            Field("most_percent", "percent", "all of it at most", required=False),
            Field(
                "amount", "amount", "fixed amount, or the least where a percentage stands too", required=False
            ),
            Field("most_amount", "amount", "least of the highest penalty", required=False),
            Field("currency", "currency", "currency of the amounts", required=False),
            Field(
                "amount_is",
                "choice",
                "what the amount is",
                required=False,
                choices=("alone", "least", "least_up_to_tax", "added"),
            ),
            Field("adds_to_earlier_stage", "yes_no", "added to the penalty of the stage before"),
        ),
    ),
    Schema(
        "us/time_limits",
        "How far back a state may look, and a refund may reach",
        (
            PLACE,
            Field(
                "limit",
                "choice",
                "what ends",
                key=True,
                choices=("assessment_return_filed", "assessment_no_return", "found_by_state", "refund"),
            ),
            Field("years", "count", "years"),
            Field("plus_current_year", "yes_no", "the year that runs comes on top"),
            Field(
                "counted_from",
                "choice",
                "where the years begin",
                required=False,
                choices=(
                    "end_of_month_after_quarter_or_filing",
                    "due_day",
                    "return_filed_or_due",
                    "payment",
                    "end_of_calendar_year",
                ),
            ),
        ),
    ),
    Schema(
        "us/voluntary_disclosure",
        "What a seller gains that comes forward by itself",
        (
            PLACE,
            Field("years", "count", "years looked back on; blank where set case by case", required=False),
            Field("plus_current_year", "yes_no", "the year that runs comes on top"),
            Field(
                "penalties",
                "choice",
                "what becomes of penalties",
                choices=("waived", "partly_or_fully_waived", "relief_possible", "not_stated"),
            ),
            Field(
                "interest",
                "choice",
                "what becomes of interest",
                choices=("due", "normally_due", "ordinary_rate_due", "not_stated"),
            ),
            Field(
                "collected_tax",
                "choice",
                "tax that was collected and kept",
                choices=("no_waiver", "unlimited_with_penalty", "not_stated"),
            ),
            Field("only_without_prior_contact", "yes_no", "closed to a seller that the state contacted"),
            Field("only_if_never_registered", "yes_no", "closed to a seller that was registered"),
        ),
    ),
    Schema(
        "us/practice",
        "What is usual on late sales tax where no paper of the state is held",
        (
            PLACE,
            Field(
                "practice",
                "choice",
                "what is usual",
                key=True,
                choices=("look_back_years", "return_due_day_of_month_after_quarter"),
            ),
            Field("least", "count", "lower end of what is usual"),
            Field("most", "count", "upper end of what is usual"),
        ),
    ),
    Schema(
        "us/turnover_taxes",
        "Taxes on the seller's own turnover, outside the figures",
        (
            PLACE,
            Field("tax", "text", "name of the tax"),
            Field(
                "nature",
                "choice",
                "what it is beside the figures",
                choices=("beside_sales_tax", "computed_as_sales_tax"),
            ),
        ),
    ),
)
