"""The steps of one line, in the order in which a reader follows them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc.charges import sale_charges
from taxcalc.explain import read
from taxcalc.explain.base import base
from taxcalc.explain.duty import duty
from taxcalc.explain.fulfiller import charged, fulfiller
from taxcalc.explain.line import Step
from taxcalc.explain.ranges import causes
from taxcalc.explain.rate import rate
from taxcalc.explain.where import where
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    from taxcalc.explain.line import OneLine


def steps(line: OneLine) -> list[Step]:
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
