"""When a state's threshold binds, day by day in plain Python from the words of the tables: to hold the program against.

It reads the table files itself and shares no code with the program. Of every table it takes the row that holds on a day
and asks that no other row follows, so that it knows nothing of laws that change.
"""

from __future__ import annotations

import calendar
import csv
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

TABLES = Path(__file__).parents[1] / "rate_tables" / "us"
FOR_EVER = date(9999, 12, 31)
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Sale:
    """One order: its day, its number (numbers are in the order of the day), cents, and what it is."""

    day: date
    number: str
    cents: int
    resale: bool = False
    exempt: bool = False
    marketplace: bool = False


@dataclass(frozen=True)
class Law:
    """What holds in a state, in the words of its rows."""

    state: str
    threshold: dict[str, str]
    start_rule: str
    end_rule: str

    @property
    def limit(self) -> int:
        """The amount in cents."""
        return int(self.threshold["amount"]) * 100

    @property
    def count(self) -> int | None:
        """The number of sales, None where none is tested."""
        return int(self.threshold["transactions"]) if self.threshold["transactions"] else None

    def counts(self, sale: Sale) -> bool:
        """Tell whether a sale counts."""
        kinds = {"resale": sale.resale, "exempt": sale.exempt, "marketplace": sale.marketplace}
        return all(self.threshold[f"{kind}_sales_count"] == "yes" for kind, is_so in kinds.items() if is_so)

    def met(self, sales: list[Sale]) -> bool:
        """Tell whether some sales together meet the threshold."""
        counted = [sale for sale in sales if self.counts(sale)]
        amount = sum(sale.cents for sale in counted)
        over = self.threshold["amount_met_when"] == "over"
        by_amount = amount > self.limit if over else amount >= self.limit
        if self.count is None:
            return by_amount
        over = self.threshold["transactions_met_when"] == "over"
        by_count = len(counted) > self.count if over else len(counted) >= self.count
        return (by_amount and by_count) if self.threshold["connector"] == "both" else (by_amount or by_count)


def _rows(name: str) -> dict[str, list[dict[str, str]]]:
    """Read a table by state."""
    found: dict[str, list[dict[str, str]]] = {}
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            found.setdefault(row["place"], []).append(row)
    return found


def laws(day: date) -> dict[str, Law]:
    """Give the law of every state whose rows do not change after a day."""
    tables = [_rows(name) for name in ("thresholds", "threshold_starts", "duty_ends")]
    found = {}
    for state in tables[0]:
        rows = [max(table[state], key=lambda row: row["valid_from"]) for table in tables]
        if all(row["valid_from"] <= day.isoformat() and not row["ended"] for row in rows):
            threshold, starts, ends = rows
            found[state] = Law(state, threshold, starts["start_rule"], ends["end_rule"])
    return found


def plus_months(day: date, months: int) -> date:
    """Give the same day so many months on, or the last of a shorter month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def first_of_month(day: date, months: int = 0) -> date:
    """Give the first day of the month so many months on."""
    return plus_months(day.replace(day=1), months)


def first_of_month_at_least(day: date) -> date:
    """Give the first day of a month that is not before a day."""
    return day if day.day == 1 else first_of_month(day, 1)


def begins(rule: str, crossed: date) -> date | None:
    """Give the first day bound after a crossing by the words of us/start_rules, None for the next order."""
    new_year = date(crossed.year + 1, 1, 1)
    if rule in ("30_days", "50_days", "60_days"):
        return crossed + int(rule.removesuffix("_days")) * DAY
    if rule.startswith("fixed_1_"):
        month = ("january", "april", "july", "october").index(rule.removeprefix("fixed_1_")) * 3 + 1
        here = date(crossed.year, month, 1)
        return here if here > crossed else date(crossed.year + 1, month, 1)
    after = {
        "first_of_month_following": 1,
        "first_of_second_month_following": 2,
        "first_of_third_month_following": 3,
        "first_of_fourth_month_following": 4,
        "first_of_month_two_months_after": 2,
    }
    if rule in after:
        return first_of_month(crossed, after[rule])
    if rule == "first_of_month_within_60_days":
        days = [crossed + number * DAY for number in range(1, 61)]
        return max(day for day in days if day.day == 1)
    if rule == "next_quarter":
        return next(
            d for d in (crossed + n * DAY for n in range(1, 100)) if d.day == 1 and d.month in (1, 4, 7, 10)
        )
    if rule == "within_three_months_after_quarter":
        close = next(
            d
            for d in (crossed + n * DAY for n in range(100))
            if (d + DAY).month in (1, 4, 7, 10) and (d + DAY).day == 1
        )
        return plus_months(close + DAY, 3)
    others = {
        "next_order": None,
        "first_of_month_after_30_days": first_of_month_at_least(crossed + 30 * DAY),
        "first_of_month_after_90_days_or_1_january": min(
            first_of_month_at_least(crossed + 90 * DAY), new_year
        ),
        "60_days_or_jan_1_if_earlier": min(crossed + 60 * DAY, new_year),
    }
    return others[rule]


@dataclass(frozen=True)
class Bound:
    """From the order after one (`after`: day and number), or from a whole day on, until a day."""

    first: date
    until: date
    after: tuple[date, str] | None = None

    def holds(self, sale: Sale) -> bool:
        """Tell whether a sale is bound."""
        begun = (sale.day, sale.number) > self.after if self.after else sale.day >= self.first
        return begun and sale.day <= self.until


class Walk:
    """The sales of one state against its law, up to a day."""

    def __init__(self, law: Law, sales: list[Sale], as_of: date) -> None:
        """Put the sales into their order."""
        self.law, self.as_of = law, as_of
        self.sales = sorted(sales, key=lambda sale: (sale.day, sale.number))

    def between(self, first: date, last: date) -> list[Sale]:
        """Give the sales of some days."""
        return [sale for sale in self.sales if first <= sale.day <= last]

    def bound(self) -> list[Bound]:
        """Give every stretch in which the seller is bound, by the words of us/windows."""
        window = self.law.threshold["window"]
        if window == "current_or_previous_calendar_year":
            return self._calendar_years()
        if window == "rolling_12_months":
            return self._any_twelve_months()
        months = {
            "previous_calendar_year": (12,),
            "12_months_reviewed_quarterly": (3, 6, 9, 12),
            "4_sales_tax_quarters": (2, 5, 8, 11),
            "12_months_to_30_september": (9,),
        }[window]
        return self._reviews(months)

    def _from(self, crossed: Sale | date, until: date) -> Bound:
        """Apply the start rule."""
        day = crossed if isinstance(crossed, date) else crossed.day
        first = begins(self.law.start_rule, day)
        if first is None:
            return Bound(day, until, (day, crossed.number if isinstance(crossed, Sale) else ""))
        return Bound(first, until)

    def _calendar_years(self) -> list[Bound]:
        """The calendar year that runs, crossed by an order; bound to the end of the next."""
        assert self.law.end_rule == "end_of_next_calendar_year"
        found = []
        for year in sorted({sale.day.year for sale in self.sales}):
            sales = self.between(date(year, 1, 1), date(year, 12, 31))
            crossing = next((n for n in range(1, len(sales) + 1) if self.law.met(sales[:n])), None)
            if crossing is not None:
                found.append(self._from(sales[crossing - 1], date(year + 1, 12, 31)))
        return found

    def _twelve_months(self, last: date) -> list[Sale]:
        """Give the sales of the twelve months that end on a day."""
        return self.between(plus_months(last + DAY, -12), last)

    def _any_twelve_months(self) -> list[Bound]:
        """Any twelve months that end on the day tested; bound until notice, or a year after the last day that met it."""
        met = []
        day = self.sales[0].day
        while day <= self.as_of:
            if self.law.met(self._twelve_months(day)):
                met.append(day)
            day += DAY
        found: list[Bound] = []
        for day in met:
            if found and day <= found[-1].until:
                if self.law.end_rule == "rolling_12_months":
                    found[-1] = Bound(found[-1].first, plus_months(day, 12), found[-1].after)
                continue
            until = FOR_EVER if self.law.end_rule == "until_notice" else plus_months(day, 12)
            earlier = [sale for sale in self._twelve_months(day) if sale.day < day]
            today = self.between(day, day)
            crossing = next((n for n in range(1, len(today) + 1) if self.law.met([*earlier, *today[:n]])), 0)
            found.append(self._from(today[crossing - 1] if crossing else day, until))
        return found

    def _reviews(self, months: tuple[int, ...]) -> list[Bound]:
        """The twelve months before the end of certain months, looked at on that day."""
        found: list[Bound] = []
        day = self.sales[0].day
        while day <= self.as_of:
            if day.month in months and (day + DAY).day == 1 and self.law.met(self._twelve_months(day)):
                first = begins(self.law.start_rule, day)
                assert first is not None
                term = self.law.end_rule == "one_year_from_quarter"
                if not (term and any(one.first <= day < one.until for one in found)):
                    found.append(Bound(first, self._end(day, first)))
            day += DAY
        return found

    def _end(self, review: date, first: date) -> date:
        """Apply the end rule after a review."""
        return {
            "following_calendar_year_only": date(review.year + 1, 12, 31),
            "april_to_march": date(review.year + 2, 3, 31),
            "october_to_september": date(review.year + 1, 9, 30),
            "one_year_from_quarter": plus_months(first, 12) - DAY,
            "twelve_months_from_start": plus_months(first, 12) - DAY,
            "until_notice": FOR_EVER,
        }[self.law.end_rule]
