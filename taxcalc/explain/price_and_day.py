"""Changes that belong to one line: a price per item on the other side of a limit, and another day with another rule."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc import places, terms
from taxcalc.columns import NO_DAY, Entry
from taxcalc.explain import words
from taxcalc.explain.changes import Change, with_columns
from taxcalc.figures import line_figures
from taxcalc.kernel import Freed, ShippingTreatment, Treatment
from taxcalc.regime import Cases
from taxcalc.tables.table import Table

if TYPE_CHECKING:
    from taxcalc.explain.changes import Again
    from taxcalc.explain.line import OneLine
    from taxcalc.kernel import Rules

LOOKED_AT: Final = 12
"""Days of change before and after that are tried; the nearest one that changes a figure is shown."""
KNOWN: Final = ("us/state_rates", "us/local_rates", "us/resale_rules", "eu/rates")
"""Tables without whose rows nothing can be said of a day."""
STRICT: Final = (Treatment.EXEMPT_BELOW, Freed.BELOW)


def at_the_limit(line: OneLine, again: Again) -> list[Change]:
    """Suppose a price per item on the free side of each limit that the line is above."""
    if line["entry"] != Entry.SALE:
        return []
    rules, found = line.rules(line.terms.collect, "expected"), []
    with_delivery = rules.shipping[0] == ShippingTreatment.IN_ITEM_PRICE or rules.freed_with_delivery[0]
    for limit, strict in _limits(rules):
        target = (limit - strict) * line["quantity"] - (line["shipping_amount"] if with_delivery else 0)
        if not 0 < target < line["item_amount"]:
            continue
        goods = again.found.bucket.lines["item_amount"].copy()
        goods[line.at] = target
        says = f"If the goods had cost {line.money(target)}, within the limit of {line.money(limit)} an item"
        found.append(
            again.run("price", says, lines=with_columns(again.found.bucket.lines, item_amount=goods))
        )
    return found


def _limits(rules: Rules) -> list[tuple[int, int]]:
    """List the limits per item of a line, each with 1 where a price has to be below it."""
    found = {}
    for how, limit in (
        (Treatment(int(rules.state_rule[0])), int(rules.state_limit[0])),
        (Treatment(int(rules.local_rule[0])), int(rules.local_limit[0])),
    ):
        if limit and how not in (Treatment.TAXED, Treatment.EXEMPT):
            found[limit] = int(how in STRICT)
    freed = Freed(int(rules.state_freed[0]))
    if freed in (Freed.UP_TO, Freed.BELOW, Freed.FIRST_PART):
        found[int(rules.freed_limit[0])] = int(freed in STRICT)
    return sorted(found.items())


def other_days(line: OneLine, again: Again) -> list[Change]:
    """Suppose another day: the nearest change of any row before and after that changes a figure of the line."""
    day = line.of_settled("rule_day")
    known = _change_days(line)
    known = known[known > _first_known(line)]
    later = known[known > day][:LOOKED_AT].tolist()
    earlier = (known[known <= day][::-1][:LOOKED_AT] - 1).tolist()
    figures = _on_days(again, [*later, *earlier])
    return [
        *_first_different(
            line, figures, later, "By the rules and your profile of {day}, the next day on which one changes"
        ),
        *_first_different(
            line, figures, earlier, "By the rules and your profile of {day}, before one changed"
        ),
    ]


def _change_days(line: OneLine) -> np.ndarray[tuple[int], np.dtype[np.int32]]:
    """List the days on which a row changes for the place of the sale, the destination or all places of its regime."""
    facts = line.assessment.run.facts
    here = {line["destination"], int(line.of_case(line.terms.placed.place)), line.of_settled("ship_from")}
    wide = {places.index(code) for code in ("US", "EU") if code in places.codes()}
    days = [facts.tables.change_days(code) for code in here | wide]
    if facts.tables.local is not None:
        days.append(facts.tables.local.change_days(line["destination"]))
    return np.unique(np.concatenate(days))


def _first_known(line: OneLine) -> int:
    """Give the first day for which every rate and rule behind the line is held; before it nothing would be known."""
    first = NO_DAY
    for table, row, _ in (*line.used(line.terms.collect, *KNOWN), *line.used(line.terms.fulfiller, *KNOWN)):
        if isinstance(table, Table):
            same = [at for at, key in enumerate(table.keys) if key == table.keys[row]]
            first = max(first, int(table["valid_from"][same].min()))
    return first


def _on_days(again: Again, days: list[int]) -> dict[int, Change]:
    """Compute the order as if its rules were those of other days, all in one go."""
    size, one = again.found.size, again.cases
    many = Cases(**{f.name: np.tile(getattr(one, f.name), len(days)) for f in fields(Cases)})
    on = np.repeat(np.array(days, np.int32), size)
    answer = terms.all_terms(replace(many, day=on, ordered_apart=np.zeros(on.size, np.bool_)), again.facts)
    by_order = again.facts.seller.rounding == "order"
    found = {}
    for number, day in enumerate(days):
        case = np.arange(number * size, (number + 1) * size, dtype=np.int32)
        bucket = replace(again.found.bucket, case=case)
        figures = line_figures(bucket, answer, by_order=by_order)
        found[day] = Change("day", "", figures, answer, number * size)
    return found


def _first_different(line: OneLine, found: dict[int, Change], days: list[int], says: str) -> list[Change]:
    """Give the first of some days on which a figure of the line differs."""
    for day in days:
        if differs(line, found[day]):
            return [replace(found[day], says=says.format(day=words.day(day)))]
    return []


def differs(line: OneLine, change: Change, *, only_expected: bool = False) -> bool:
    """Tell whether a change changes a figure of a line: what to collect or what the fulfiller may charge, at any end."""
    now, then = line.found.figures, change.figures
    ends = ("expected",) if only_expected else ("low", "expected", "high")
    return any(
        int(getattr(now, name)[end][line.at]) != int(getattr(then, name)[end][line.at])
        for name in ("to_collect", "fulfiller_tax")
        for end in ends
    )
