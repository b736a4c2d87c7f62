"""The explanation of one order as plain data: every step of every line, its table rows, and what would have changed it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.caution import CAUTION, TITLE
from taxcalc.columns import Blank, Entry
from taxcalc.explain import read, words
from taxcalc.explain.arithmetic import ROUNDING, arithmetic, spread
from taxcalc.explain.aside import set_aside_rows
from taxcalc.explain.base import base
from taxcalc.explain.changes import Again, Change, changes
from taxcalc.explain.check import differences
from taxcalc.explain.duty import duty, duty_word
from taxcalc.explain.exact import worked_purchase, worked_sale
from taxcalc.explain.found import find_order, nearest, order_ids
from taxcalc.explain.fulfiller import charged, fulfiller
from taxcalc.explain.line import OneLine, Step
from taxcalc.explain.price_and_day import at_the_limit, differs, other_days
from taxcalc.explain.ranges import causes
from taxcalc.explain.rate import rate
from taxcalc.explain.rows import Ledger
from taxcalc.explain.where import regime_of, situation_of, where
from taxcalc.figures import sale_charges
from taxcalc.messages import refuse
from taxcalc.money import write_amount
from taxcalc.reasons import REASONS
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc.assessment import Assessment
    from taxcalc.explain.found import Found
    from taxcalc.figures import LineFigures

AGREES = "Worked out again from the steps shown; it comes to the figure that the review adds up."
DIFFERS = (
    "A fault of this program: worked out again from the steps shown, a figure differs from the one that the review adds up. "
    "Rely on neither, and report it."
)
GIVES_TAX = ("to_collect", "fulfiller_tax")


def explain(assessment: Assessment, order_id: str, columns: Path | None = None) -> dict[str, Any]:
    """Explain one order of an assessment, line by line.

    The result is JSON-able; every object with amounts carries the caution. `fault` is true where the arithmetic shown does
    not come to the engine's figure. `columns` is the column map with which the orders were read. Raises E205 for an order
    number that is in none of the files.
    """
    found = find_order(assessment, order_id)
    aside = set_aside_rows(assessment, order_id, columns)
    if found is None and not aside:
        known = order_ids(assessment)
        near = ", ".join(nearest(order_id, known)) or "none"
        raise refuse("E205", value=order_id, count=len(known), nearest=near)
    ledger = Ledger(assessment.run.facts.tables)
    lines, faults = ([], []) if found is None else _lines(assessment, found, ledger)
    return {
        "title": TITLE,
        **_head(assessment, order_id),
        "lines": lines,
        "sum": _sum(found) if found is not None else None,
        "set_aside": aside,
        "rows_of_no_order": assessment.run.intake.tie_out.by_reason.get("wrong_number_of_fields", 0),
        "rows": list(ledger.rows.values()),
        "check": {
            "agrees": not faults,
            "words": DIFFERS if faults else AGREES,
            "differences": faults,
            "caution": CAUTION,
        },
        "rounding": ROUNDING,
        "caution": CAUTION,
    }


def _head(assessment: Assessment, order_id: str) -> dict[str, Any]:
    """Say of which order, seen from which day, by which tables."""
    run = assessment.run
    return {
        "order_id": order_id,
        "seller": {"name": run.seller.name, "country": run.seller.country, "region": run.seller.region},
        "as_of": run.as_of.isoformat(),
        "files": [file.name for file in run.intake.files],
        "tables": {
            "version": run.facts.tables.version,
            "oldest_checked_on": str(run.facts.tables.oldest_checked_on),
            "own": run.facts.tables.own,
        },
    }


def _lines(
    assessment: Assessment, found: Found, ledger: Ledger
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Explain every line, and list the figures that do not come out again."""
    by_order = assessment.run.seller.rounding == "order"
    sale, purchase = (
        work(found.bucket, assessment.run.terms, by_order=by_order) for work in (worked_sale, worked_purchase)
    )
    again, tried = Again(assessment, found), changes(assessment, found)
    lines = [
        _line(OneLine(assessment, found, at, sale, purchase, ledger), number, again, tried)
        for number, at in enumerate(found.shown, start=1)
    ]
    return lines, differences(found, sale, purchase)


def _line(line: OneLine, number: int, again: Again, tried: list[Change]) -> dict[str, Any]:
    """Explain one line."""
    collect = line.terms.collect
    lines = line.found.bucket.lines
    taxed = int(line.of_case(line.terms.placed.place))
    reason, why = str(line.of_case(collect.reason)), str(line.of_case(line.terms.fulfiller.reason))
    return {
        "line": number,
        "line_id": lines.line_id[line.at].as_py() or None,
        "summary": read.summary(line),
        "entry": Entry(line["entry"]).name.lower(),
        "from_file": read.where_from(line),
        "ordered_on": words.day(line["day"]),
        "tax_point": words.day(line["tax_day"]),
        "destination": places.code(line["destination"]),
        "place": places.code(taxed),
        "place_name": places.name(places.code(taxed)),
        "regime": regime_of(line),
        "situation": situation_of(line),
        "duty": duty_word(line),
        "reason": reason,
        "words": REASONS[reason],
        "fulfiller_reason": why,
        **_figures(line),
        "steps": [step.shown() for step in _steps(line)],
        "arithmetic": arithmetic(line.sale, line.at, line.currency),
        "fulfiller_arithmetic": arithmetic(line.purchase, line.at, line.fulfiller_currency),
        "would_change": _changes(line, again, tried),
        "caution": CAUTION,
    }


def _figures(line: OneLine) -> dict[str, Any]:
    """Write the figures of a line as the record adds them up."""
    figures, at = line.found.figures, line.at

    def mine(values: Any) -> str:  # noqa: ANN401 - an array of amounts
        return write_amount(int(values[at]), line.currency)

    def theirs(values: Any) -> str:  # noqa: ANN401 - as above
        return write_amount(int(values[at]), line.fulfiller_currency)

    return {
        "currency": line.currency,
        "fulfiller_currency": line.fulfiller_currency,
        "to_collect": spread(line.sale, at, line.currency),
        "collected": mine(figures.collected),
        "shortfall": mine(figures.shortfall),
        "collected_without_duty": mine(figures.collected_without_duty),
        "fulfiller_tax": spread(line.purchase, at, line.fulfiller_currency),
        "fulfiller_tax_charged": theirs(figures.fulfiller_tax_charged),
        "fulfiller_tax_known": not line["blanks"] & Blank.FULFILLER_TAX_CHARGED,
        "fulfiller_tax_avoidable": theirs(figures.fulfiller_tax_avoidable.clip(min=0)),
    }


def _sum(found: Found) -> dict[str, Any] | None:
    """Add the lines of the order up; None where they are in several currencies."""
    figures, lines = found.figures, found.bucket.lines
    if len({*lines["currency"].tolist(), *lines["fulfiller_currency"].tolist()}) > 1:
        return None
    currency = words.currency_of(int(lines["currency"][0]))
    plain = ("collected", "shortfall", "collected_without_duty", "fulfiller_tax_charged")
    sums: dict[str, Any] = {name: write_amount(int(getattr(figures, name).sum()), currency) for name in plain}
    for name in GIVES_TAX:
        low, expected, high = (int(getattr(figures, name)[end].sum()) for end in SCENARIOS)
        ends = zip(SCENARIOS, (min(low, expected), expected, max(high, expected)), strict=True)
        sums[name] = {end: write_amount(tax, currency) for end, tax in ends}
    return {"currency": currency, **sums, "caution": CAUTION}


def _steps(line: OneLine) -> list[Step]:
    """Give the steps of a line; those that change nothing about it are left out."""
    collect = line.terms.collect
    steps = [read.read(line)]
    if line.matched:
        billed = (
            line["fulfiller_item_cost"] or line["fulfiller_shipping_cost"] or line["fulfiller_tax_charged"]
        )
        theirs = [Step("fulfiller_charged", [charged(line)])] if billed else []
        return [*steps, _refund(line), Step("collected", [_collected(line)]), *theirs]
    steps += [where(line), duty(line)]
    if any(line.rules(collect, end).charged[0] for end in SCENARIOS):
        charges, _ = sale_charges(line.found.bucket, line.terms)
        end = "expected" if line.rules(collect, "expected").charged[0] else "high"
        steps += [base(line, charges[end], end), rate(line, collect)]
        ranged = causes(line, collect, line.sale, line.currency)
        if ranged and len({line.sale[end][line.at].tax for end in SCENARIOS}) > 1:
            steps.append(Step("range", ranged))
    if line.is_refund:
        steps.append(
            Step("refund", ["The sale is not in the files: the rules of its day are used, with a minus."])
        )
    _place_the_rest(line, steps)
    return [*steps, Step("collected", [_collected(line)]), *fulfiller(line)]


def _place_the_rest(line: OneLine, steps: list[Step]) -> None:
    """Name the rows that no step has named beside the duty, so that none is lost."""
    cited = {row for step in steps for row in step.rows}
    every = line.ledger.cite(*line.used(line.terms.collect))
    of_duty = next(step for step in steps if step.topic == "duty")
    of_duty.rows += [row for row in every if row not in cited]


def _refund(line: OneLine) -> Step:
    """Say which sale a refund belongs to."""
    refunds = line.found.bucket.refunds
    group = refunds.group[refunds.lines == line.at]
    sales = refunds.sales[refunds.sale_group == group].tolist()
    numbers = [str(line.found.shown.index(at) + 1) for at in sorted(sales, key=line.found.shown.index)]
    which = (
        f"line {numbers[0]}"
        if len(numbers) == 1
        else f"lines {', '.join(numbers)}, in proportion to their amounts"
    )
    step = line.worked().refunded
    share = (
        "and takes the same share of the tax of that sale back; the rules are those of the day of the sale"
    )
    says = [f"It gives back {which} of this order, {share}."]
    if step is not None:
        says.append(
            f"Sold: {line.money(step.sold)}; refunded before: {line.money(step.since)}; "
            f"with this refund: {line.money(step.until)}."
        )
    return Step("refund", says)


def _collected(line: OneLine) -> str:
    """Hold what was collected against what should have been."""
    figures, at = line.found.figures, line.at
    collected, lack = int(figures.collected[at]), int(figures.shortfall[at])
    said = f"You collected {line.money(collected)}"
    if not figures.due[at]:
        return (
            f"{said}, though no duty is known here."
            if collected
            else "You collected nothing, and no duty is known."
        )
    should = f"you should have collected {line.money(int(figures.to_collect['expected'][at]))}"
    if line.is_refund:
        return f"{said} and {should}: a refund counts with a minus."
    if not lack:
        return f"{said}, as expected."
    return f"{said}; {should}: {line.money(abs(lack))} too {'little' if lack > 0 else 'much'}."


def _changes(line: OneLine, again: Again, tried: list[Change]) -> list[dict[str, Any]]:
    """List what would have changed the figures of the line, same answers put together."""
    if line.matched:
        return []
    own = [*tried, *at_the_limit(line, again), *other_days(line, again)]
    now = set(line.ledger.cite(*line.used(line.terms.collect), *line.used(line.terms.fulfiller)))
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for change in own:
        if not differs(line, change, only_expected=change.kind == "site"):
            continue
        shown = _changed(line, change.figures)
        rows = line.ledger.cite(*change.rows_of(line.at))
        key = (change.kind if change.kind != "day" else change.says, str(shown))
        if key in found:
            found[key]["says"] += f", or {change.says[:1].lower()}{change.says[1:].removeprefix('If ')}"
        else:
            new = [row for row in rows if row not in now]
            found[key] = {"kind": change.kind, "says": change.says, "rows": new, **shown}
    return list(found.values())


def _changed(line: OneLine, figures: LineFigures) -> dict[str, Any]:
    """Write the figures of the line after a change."""
    currencies = (line.currency, line.fulfiller_currency)
    found: dict[str, Any] = {"currency": currencies[0], "fulfiller_currency": currencies[1]}
    for name, currency in zip(GIVES_TAX, currencies, strict=True):
        ends = [int(getattr(figures, name)[end][line.at]) for end in SCENARIOS]
        rising = (min(ends[:2]), ends[1], max(ends[1:]))
        found[name] = {end: write_amount(tax, currency) for end, tax in zip(SCENARIOS, rising, strict=True)}
    return {**found, "caution": CAUTION}
