"""The frames of an assessment: names, dtypes and meaning of their columns, in one place."""

from __future__ import annotations

LINES: tuple[str, ...] = (
    "order_id",
    "line_id",
    "entry",
    "ordered_on",
    "destination",
    "place",
    "regime",
    "currency",
    "duty",
    "reason",
    "case_id",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
    "shortfall",
    "collected_without_duty",
    "fulfiller_currency",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
    "fulfiller_tax_avoidable",
)
"""One used line a row. Amounts int64 minor units of `currency` / `fulfiller_currency`; `case_id` int32. Amounts of refunds are
negative, but `fulfiller_tax_avoidable` is never: what a refund takes back of it shows in the sums only.
"""

PLACES: tuple[str, ...] = (
    "place",
    "quarter",
    "regime",
    "currency",
    "orders",
    "lines",
    "sales",
    "marketplace_sales",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
    "shortfall",
    "over_collected",
    "collected_without_duty",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
    "fulfiller_tax_avoidable",
)
"""Place × calendar quarter of the whole history; amounts int64 minor units of the reporting currency. `sales` are the
amounts charged for goods and shipping, less refunds, own-use orders left out; where prices contain tax it is inside.
`fulfiller_tax_avoidable` is that of the sales less what refunds take back, not below 0 in any place and quarter.
"""

THRESHOLDS: tuple[str, ...] = (
    "place",
    "measure",
    "currency",
    "window_start",
    "window_end",
    "value",
    "limit",
    "share",
    "status",
    "crossed_on",
    "crossed_by",
    "duty_from",
    "duty_until",
    "projected_p10",
    "projected_p50",
    "projected_p90",
    "kind",
)
"""One row a place × measure on the day of the review; `value` and `limit` minor units of `currency`, or a count;
`share` percent of the limit, one decimal, rounded down. `kind` (`taxcalc.duties.LIMIT_KINDS`) tells limits of one place
apart: a state of the small-business scheme may have two, and `EU` that of distance sales and that of the scheme.
"""

DUTIES: tuple[str, ...] = ("place", "from", "from_order", "until", "cause")
"""Every interval in which the seller had to collect; `until` is missing where no end is known."""

CASES: tuple[str, ...] = (
    "place",
    "destination",
    "regime",
    "product_class",
    "duty",
    "reason",
    "item_rule",
    "local_item_rule",
    "item_limit",
    "limit_currency",
    "shipping_rule",
    "state_ppm",
    "local_ppm_low",
    "local_ppm",
    "local_ppm_high",
    "basis",
    "checked_on",
    "rows",
    "fulfiller_reason",
    "fulfiller_shipping_rule",
    "fulfiller_basis",
    "fulfiller_rows",
)
"""One row a case (index `case_id`): the terms behind lines, with the ids of the table rows they rest on."""
