"""The dated rows of eu/small_business_rules as limits: how much, over which time, and from when tax is due once passed.

Where a row leaves open what passing does, or only says that the seller has to register, the cautious reading is taken:
tax from the sale that passes the limit, with no tax until the end of the year as the low end. Where a row leaves open
whether the year after is closed, the Union's own rule fills in (Directive 2006/112/EC art. 288a, eu/scheme_rules).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from taxcalc import places
from taxcalc.days import day as to_day
from taxcalc.days import first_of_month, number
from taxcalc.duties import Position
from taxcalc.eu.small_business import RULES, SCHEME, UNION_LIMIT, rule_row
from taxcalc.facts import OPEN
from taxcalc.money import PPM, round_fraction
from taxcalc.tables.schema import NO_VALUE

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.facts import Facts

LIMIT, CEILING, UNION = "small_business", "small_business_ceiling", "small_business_union"
"""`ThresholdRow.kind` of the three limits."""

COLUMNS = ("amount", "window", "over_limit", "over_ceiling", "tolerance_percent", "next_year_closed")
"""What a figure under the scheme rests on in a row."""

AT_ONCE = "from_the_sale"
OPEN_EFFECTS = ("unknown", "registration_duty")
"""Effects that do not say from when tax is due."""

NO_EFFECT = "no_effect"
"""Passing the limit does nothing by itself: the ceiling decides."""


@dataclass(frozen=True)
class Rule:
    """One dated row: the days on which it holds, amounts in minor units of `currency`, and its effects.

    `previous` is the limit of the year before and `ceiling` the second limit of the running year, None where the row has
    none. `union_rule` tells whether art. 288a was in force: over the tolerance at once, and closed for the year after.
    """

    row: int
    first: int
    last: int
    amount: int
    currency: str
    previous: int | None
    ceiling: int | None
    rolling: bool
    over_limit: str
    over_ceiling: str
    closed: str
    pro_rata: bool
    union_rule: bool

    def in_first_year(self, began: date, year: int) -> Rule:
        """Give the rule for a seller that began on a day: in the year of it a part of the limit by days, rounded once."""
        if not self.pro_rata or began.year != year:
            return self
        last_day = began.replace(month=12, day=31)
        days, of_year = (last_day - began).days + 1, last_day.timetuple().tm_yday
        return replace(self, amount=round_fraction(Fraction(self.amount * days, of_year)))

    @property
    def closes_next_year(self) -> bool | None:
        """Tell whether the year after a year over the limit is closed: for certain, or not, or (None) nobody knows."""
        if self.closed in ("yes", "two_years") or (self.closed == "unknown" and self.union_rule):
            return True
        return None if self.closed == "unknown" else False


def rules_of(state: int, facts: Facts) -> list[Rule]:
    """Read a state's rows in their order, each holding until the day before the next; those without a limit left out."""
    table = facts.tables[RULES]
    days = sorted({int(day) for day in table.change_days(state)} | {_union_began(facts)} - {OPEN})
    found = []
    for first, last in zip(days, [*(day - 1 for day in days[1:]), OPEN], strict=True):
        row = rule_row(state, first, facts)
        if row >= 0 and table["amount"][row] != NO_VALUE:
            found.append(_rule(row, first, last, facts))
    return found


def _union_began(facts: Facts) -> int:
    """Give the first day of the Union's own rule on the year after, OPEN where there is none."""
    table = facts.tables["eu/scheme_rules"]
    rows = table.rows(subject=SCHEME, rule="year_after_crossing")
    return int(min(table["valid_from"][rows], default=OPEN))


def _rule(row: int, first: int, last: int, facts: Facts) -> Rule:
    """Turn one row into a rule."""
    table = facts.tables[RULES]
    amount, union_rule = int(table["amount"][row]), first >= _union_began(facts)
    over_limit, over_ceiling = str(table["over_limit"][row]), str(table["over_ceiling"][row])
    ceiling = _value(int(table["ceiling"][row]))
    tolerance = _value(int(table["tolerance_percent"][row]))
    if ceiling is None and tolerance is not None:
        ceiling = round_fraction(Fraction(amount * (PPM + tolerance), PPM))
    return Rule(
        row,
        first,
        last,
        amount,
        str(table["currency"][row]),
        _value(int(table["previous_year_amount"][row])),
        ceiling,
        table["window"][row] == "rolling_12_months",
        over_limit,
        over_ceiling or (AT_ONCE if union_rule else "unknown"),
        str(table["next_year_closed"][row]),
        bool(table["first_year_pro_rata"][row]),
        union_rule,
    )


def _value(cell: int) -> int | None:
    """Read a cell that may be blank."""
    return None if cell == NO_VALUE else cell


def union_rules(facts: Facts) -> list[Rule]:
    """Read the limit of turnover in the whole Union, in the home state's currency where it names one, else in euros."""
    table = facts.tables["eu/other_limits"]
    own = table.row(facts.as_of_day, measure=UNION_LIMIT, place=facts.home)
    row = own if own >= 0 else table.row(facts.as_of_day, measure=UNION_LIMIT, place=places.index("EU"))
    if row < 0:
        return []
    amount, first = int(table["amount"][row]), int(table["valid_from"][row])
    currency = str(table["currency"][row])
    return [
        Rule(row, first, OPEN, amount, currency, amount, None, False, AT_ONCE, "", "yes", False, True)  # noqa: FBT003 - fields
    ]


def start_of(effect: str, crossed: Position) -> tuple[Position, bool]:
    """Give from when tax is due once a limit was passed by an order, and whether a row says so."""
    at = to_day(crossed.day)
    if effect == "from_january":
        return Position(number(at.replace(year=at.year + 1, month=1, day=1))), True
    if effect == "from_next_month":
        return Position(number(first_of_month(at, 1))), True
    if effect == "from_the_next_day":
        return Position(crossed.day + 1), True
    if effect == "from_the_day":
        return Position(crossed.day), True
    return crossed, effect not in OPEN_EFFECTS
