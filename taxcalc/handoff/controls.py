"""Control totals: every sum held against another one, which the program computed another way or the user gave."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from taxcalc.columns import AMOUNTS
from taxcalc.days import quarter_name
from taxcalc.handoff.line_files import REPORTED
from taxcalc.money import CURRENCIES, parse_amount, write_amount

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from taxcalc.assessment import Assessment
    from taxcalc.handoff.line_files import LineSums

IN_PERIOD: Final = ("orders", "lines", "sales", "marketplace_sales", "collected", "fulfiller_tax_charged")
"""Totals of the period, in the reporting currency, that a user may give after `period:`."""
COUNTS: Final = ("rows", "orders", "lines")
_GIVEN: Final = re.compile(r"(period:)?([a-z_]+)=(-?[0-9]+(?:\.[0-9]+)?)(?:\s*([A-Z]{3}))?", re.ASCII)


@dataclass(frozen=True)
class Control:
    """One sum held against another, in a currency ("": a count); `tick` is X where they differ."""

    name: str
    about: str
    computed: Decimal | int
    held_against: Decimal | int
    agreed: str
    currency: str = ""

    @property
    def difference(self) -> Decimal | int:
        """How much more was computed than it was held against."""
        return self.computed - self.held_against

    @property
    def tick(self) -> str:
        """The mark of the check, set only because it was made."""
        return "X" if self.difference else self.agreed


@dataclass(frozen=True)
class Given:
    """A control total as the user gave it: of all rows read, or of the period; currency "" for the reporting one."""

    name: str
    of_period: bool
    amount: Decimal
    currency: str


def given(text: str, reporting: str) -> Given:
    """Read `tax_collected=1234.50`, `tax_collected=99.00 EUR`, `rows=1204` or `period:sales=25081.89`.

    Raises `ValueError` whose text says what is wrong and what may stand there.
    """
    match = _GIVEN.fullmatch(text.strip())
    if not match:
        message = (
            f"'{text}' is no control total. Write it as tax_collected=1234.50, or period:sales=25081.89."
        )
        raise ValueError(message)
    of_period, name, amount, currency = bool(match[1]), match[2], match[3], match[4] or ""
    known = IN_PERIOD if of_period else ("rows", *AMOUNTS)
    if name not in known:
        message = f"'{name}' has no control total. Use one of: {', '.join(known)}."
        raise ValueError(message)
    if currency and (of_period or name in COUNTS):
        message = f"'{text}': only sums of all rows read have a currency of their own. Leave {currency} out."
        raise ValueError(message)
    if currency and currency not in CURRENCIES:
        message = f"'{currency}' is no currency code in use."
        raise ValueError(message)
    if name not in COUNTS:
        parse_amount(amount, currency or reporting)
    return Given(name, of_period, Decimal(amount), currency)


def controls(
    assessment: Assessment, record: dict[str, Any], sums: LineSums, told: Iterable[Given]
) -> list[Control]:
    """Make every check and give them all, those of the user last."""
    return [
        *_of_rows(record),
        *_of_amounts(record),
        *_of_places(record),
        *_of_lines(assessment, sums),
        *_told(record, told),
    ]


def _of_rows(record: dict[str, Any]) -> Iterator[Control]:
    """Rows read = used + set aside."""
    tie = record["tie_out"]
    kept = tie["rows_used"] + tie["rows_set_aside"]
    yield Control("rows", "rows read, against rows used and set aside", tie["rows_read"], kept, "S")
    reasons = sum(tie["by_reason"].values())
    yield Control("rows set aside", "against the sum over their reasons", tie["rows_set_aside"], reasons, "F")


def _of_amounts(record: dict[str, Any]) -> Iterator[Control]:
    """Each amount column of each currency: read = used + set aside."""
    for currency, columns in record["tie_out"]["amounts"].items():
        for column, parts in columns.items():
            read, used, aside = (Decimal(parts[part]) for part in ("read", "used", "set_aside"))
            yield Control(
                f"{column} {currency}",
                "sum read, against used and set aside",
                read,
                used + aside,
                "S",
                currency,
            )


_SUMMED: Final = (
    "sales",
    "marketplace_sales",
    "collected",
    "over_collected",
    "collected_without_duty",
    "fulfiller_tax_charged",
)
_RANGED: Final = ("to_collect", "shortfall", "fulfiller_tax")


def _of_places(record: dict[str, Any]) -> Iterator[Control]:
    """Totals of the period, against the sum over places."""
    total, places = record["totals"], record["places"]
    for name in _SUMMED:
        parts = sum((Decimal(row[name]) for row in places), Decimal(0))
        yield Control(
            name,
            "total of the period, against the sum over places",
            Decimal(total[name]),
            parts,
            "F",
            record["currency"],
        )
    for name in _RANGED:
        parts = sum((Decimal(row[name]["expected"]) for row in places), Decimal(0))
        yield Control(
            name,
            "expected, against the sum over places",
            Decimal(total[name]["expected"]),
            parts,
            "F",
            record["currency"],
        )


def _of_lines(assessment: Assessment, sums: LineSums) -> Iterator[Control]:
    """Each measure over the whole history, against the lines that were written; and each place and quarter that differs."""
    rows, currency = assessment.place_rows, assessment.currency
    quarters = (quarter_name(quarter) for quarter in rows["quarter"].tolist())
    keys = list(zip(map(str, rows["place"].tolist()), quarters, strict=True))
    for name in REPORTED:
        of_places = _added(name, zip(keys, rows[name].tolist(), strict=True))
        of_lines = _added(name, ((key, one[name]) for key, one in sums.by_quarter.items()))
        apart = sorted(key for key in {*of_places, *of_lines} if of_places[key] != of_lines[key])
        whole = (sum(of_places.values()), sum(of_lines.values()))
        about = "sum over places and quarters, against the lines written; each of them as well"
        yield _by_lines(f"{name}, all quarters", about, whole, currency)
        for key in apart:
            pair = of_places[key], of_lines[key]
            yield _by_lines(f"{name}, {' '.join(key)}", "against the lines written", pair, currency)


def _added(name: str, values: Iterable[tuple[tuple[str, str], int]]) -> Counter[tuple[str, ...]]:
    """Add up by place and quarter; what is lacking by place only, because a refund lowers what an earlier quarter lacks."""
    found: Counter[tuple[str, ...]] = Counter()
    for key, value in values:
        found[key[:1] if name == "shortfall" else key] += value
    return found


def _by_lines(name: str, about: str, pair: tuple[int, int], currency: str) -> Control:
    """Hold a sum of minor units against that of the lines."""
    computed, held_against = (_decimal(one, currency) for one in pair)
    return Control(name, about, computed, held_against, "L", currency)


def _decimal(minor: int, currency: str) -> Decimal:
    """Turn minor units into a decimal."""
    return Decimal(write_amount(minor, currency))


def _told(record: dict[str, Any], told: Iterable[Given]) -> Iterator[Control]:
    """Hold our sums against those that the user gave."""
    ours: Decimal | int
    for one in told:
        currency = "" if one.name in COUNTS else one.currency or record["currency"]
        if one.of_period:
            total = record["totals"][one.name]
            ours = total if isinstance(total, int) else Decimal(total)
            about = "of the period, against the total you gave"
        elif one.name == "rows":
            ours, about = record["tie_out"]["rows_read"], "rows read, against the number you gave"
        else:
            columns = record["tie_out"]["amounts"].get(currency, {})
            ours = Decimal(columns.get(one.name, {}).get("read", "0"))
            about = f"sum read in {currency}, against the total you gave"
        theirs = int(one.amount) if one.name in COUNTS and one.amount == int(one.amount) else one.amount
        yield Control(f"{one.name} {one.currency}".strip(), about, ours, theirs, "C", currency)


def broken(found: Iterable[Control]) -> list[Control]:
    """Give the checks of the program's own that do not agree; those against a user's total are no fault of ours."""
    return [one for one in found if one.difference and one.agreed != "C"]
