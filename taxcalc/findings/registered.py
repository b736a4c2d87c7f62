"""What registrations and thresholds ask for beside an amount: charging, nil returns, duties from before the files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.columns import Channel
from taxcalc.days import day, number, quarter_days, quarter_name, quarter_of
from taxcalc.facts import holds
from taxcalc.findings.duty import registered_since
from taxcalc.findings.finding import Finding

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.duties import ThresholdRow
    from taxcalc.place_sums import PlaceSums

NO_REGISTRATION = ("threshold", "presence", "first_sale", "election")
"""Causes of a duty that a seller may not know of."""
HOW = {
    "beside_sales_tax": "it comes beside the sales tax, on your own turnover, and is not computed",
    "computed_as_sales_tax": "what is computed here like a sales tax is a tax on you, not on your customers",
}


def registered_not_charging(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find places in which a registered seller charged nothing at all in the period though it should have."""
    last, found = number(assessment.run.period[1]), []
    for code in sums.codes:
        period = sums.period(code)
        if period["collected_on_duty"] != 0 or period["shortfall"] <= 0:
            continue
        since = registered_since(assessment, code)
        if since is not None and since <= last:
            found.append(Finding("registered_not_charging", places.code(code), period["shortfall"]))
    return found


def nil_returns(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find states in which the seller was registered in a quarter of the period without a single line of sales.

    Returns are due for such quarters too (common practice, no source). Quarters that are not over, or that the files do
    not reach, are left out.
    """
    found = []
    for code in sorted(
        {places.index(r.place) for r in assessment.run.seller.registrations if r.place in places.codes()}
    ):
        if places.regimes()[code] != places.US:
            continue
        quiet = [name for name in _quarters(assessment) if _registered_in(assessment, code, name)]
        sold = {quarter_name(quarter) for quarter, part in sums.quarters(code).items() if part["lines"]}
        empty = [name for name in quiet if name not in sold]
        if empty:
            found.append(Finding("nil_return", places.code(code), None, {"quarters": ", ".join(empty)}))
    return found


def _quarters(assessment: Assessment) -> list[str]:
    """Name the quarters that the period touches, that are over, and that the files reach."""
    first, last = (quarter_of(each) for each in assessment.run.period)
    names = [quarter_name(quarter) for quarter in range(first, last + 1)]
    ends = {name: quarter_days(name)[1] for name in names}
    return [name for name in names if assessment.run.covers[0] <= ends[name] <= assessment.run.as_of]


def _registered_in(assessment: Assessment, code: int, quarter: str) -> bool:
    """Tell whether a registration to collect held on any day of a quarter."""
    first, last = (number(each) for each in quarter_days(quarter))
    standard = [
        r
        for r in assessment.run.seller.registrations
        if r.place == places.code(code) and r.scheme == "standard"
    ]
    return any(holds(None, r.until_day, first) and holds(r.from_day, None, last) for r in standard)


def duty_before_files(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find states in which a duty began before the first order of the files, and nobody was registered for it then."""
    first_order, found = assessment.run.covers[0], []
    for code in sums.codes:
        duty, name = sums.first_duty(code), places.code(code)
        if duty is None or places.regimes()[code] != places.US or not sums.history(code)["to_collect_high"]:
            continue
        unknown = duty.first.cause in NO_REGISTRATION and duty.first.start.day < number(first_order)
        if unknown and not assessment.run.facts.registered(name, duty.first.start.day, "standard"):
            gaps = {"since": str(day(duty.first.start.day)), "first": str(first_order)}
            found.append(Finding("duty_before_files", name, None, gaps))
    return found


def marketplace_crossings(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Find thresholds of states that are met in their window, and would not be without the sales through marketplaces.

    Where sales before the files are given nothing is said: through whom they went is not known.
    """
    _ = sums
    before = {places.index(prior.place) for prior in assessment.run.seller.prior_sales}
    rows = [
        row
        for row in assessment.sorted_thresholds
        if row.status == "crossed" and row.value >= row.limit and places.regimes()[row.place] == places.US
    ]
    met = sorted({row.place for row in rows if row.place not in before}, key=places.code)
    return [
        Finding("marketplace_crossing", places.code(code))
        for code in met
        if all(_own_sales(assessment, row) < row.limit for row in rows if row.place == code)
    ]


def _own_sales(assessment: Assessment, row: ThresholdRow) -> int:
    """Add up (or count) the sales of a window that went through no marketplace."""
    counted = assessment.run.totals.of(row.place)
    inside = (counted.day >= row.window_start) & (counted.day <= row.window_end)
    own = inside & (counted.channel != Channel.MARKETPLACE)
    measure = counted.orders if row.measure == "transactions" else counted.amount
    return int(measure[own].sum())


def stock_not_counted(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Name stock that is no presence by a row of us/stock_rules, where nothing else makes a duty.

    The amount is what the high end would collect in the period.
    """
    found = []
    for name in sorted({p.place for p in assessment.run.facts.stock_not_counted}):
        code = places.index(name)
        if code not in sums.codes or sums.duty(code) is None:
            most = sums.period(code)["to_collect_high"] if code in sums.codes else 0
            found.append(Finding("stock_not_counted", name, most or None))
    return found


def turnover_taxes(assessment: Assessment, sums: PlaceSums) -> list[Finding]:
    """Name the taxes that a state lays on the seller's own turnover, where the seller has a duty (`us/turnover_taxes`)."""
    table, found = assessment.run.facts.tables["us/turnover_taxes"], []
    for code in sums.codes:
        row = table.row(assessment.run.facts.as_of_day, place=code)
        if row >= 0 and sums.duty(code) is not None and sums.period(code)["lines"]:
            gaps = {"tax": str(table["tax"][row]), "how": HOW[str(table["nature"][row])]}
            found.append(Finding("turnover_tax", places.code(code), None, gaps))
    return found
