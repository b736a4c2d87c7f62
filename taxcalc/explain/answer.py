"""The explanation of one order as plain data: every step of every line, its table rows, and what would have changed it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from taxcalc import places
from taxcalc.caution import CAUTION, TITLE
from taxcalc.columns import Blank, Entry
from taxcalc.explain import read, words
from taxcalc.explain.arithmetic import ROUNDING, arithmetic, spread
from taxcalc.explain.aside import set_aside_rows
from taxcalc.explain.changes import Again, Change, changes
from taxcalc.explain.check import differences
from taxcalc.explain.duty import duty_word
from taxcalc.explain.exact import worked_purchase, worked_sale
from taxcalc.explain.found import find_order, nearest, order_ids
from taxcalc.explain.line import OneLine
from taxcalc.explain.rows import Ledger
from taxcalc.explain.steps import steps
from taxcalc.explain.tried import GIVES_TAX, what_would_change
from taxcalc.explain.where import regime_of, situation_of
from taxcalc.messages import refuse
from taxcalc.money import write_amount
from taxcalc.reasons import REASONS
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc.assessment import Assessment
    from taxcalc.explain.found import Found

AGREES = "Worked out again from the steps shown; it comes to the figure that the review adds up."
DIFFERS = (
    "A fault of this program: worked out again from the steps shown, a figure differs from the one that the review adds up. "
    "Rely on neither, and report it."
)


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
        "steps": [step.shown() for step in steps(line)],
        "arithmetic": arithmetic(line.sale, line.at, line.currency),
        "fulfiller_arithmetic": arithmetic(line.purchase, line.at, line.fulfiller_currency),
        "would_change": what_would_change(line, again, tried),
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
