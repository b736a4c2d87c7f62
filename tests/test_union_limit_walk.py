"""The Union-wide limit against a walk through the sales, one after the other, in plain Python."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from hypothesis import example, given, settings
from hypothesis import strategies as st
from shop import answers, fulfiller, orders, registered, union_seller

from taxcalc import assess

FIRST, LAST = date(2022, 1, 1), date(2026, 10, 31)
LIMIT = 1_000_000
"""Directive 2006/112/EC art. 59c: EUR 10 000, in cents."""
KINDS = ("goods", "goods", "digital", "at home", "firm", "export", "from elsewhere")


@dataclass(frozen=True)
class Sale:
    """One order: its day, number, cents without VAT (or with it where `included`), and what it is."""

    day: date
    number: str
    cents: int
    kind: str
    included: bool

    @property
    def net(self) -> Fraction:
        """What counts: without VAT, at the rate of the seller's home below the limit, to the cent."""
        return Fraction(self.cents) - _vat_inside(self.cents) if self.included else Fraction(self.cents)

    @property
    def counts(self) -> bool:
        """Goods from home and digital supplies to consumers of other member states."""
        return self.kind in ("goods", "digital")

    def row(self) -> dict[str, str]:
        """Write it as an order line of a shop in Germany."""
        more = {
            "digital": {"to": "FR", "product_class": "digital"},
            "at home": {"to": "DE"},
            "firm": {"to": "FR", "buyer_tax_number": "FR40303265045"},
            "export": {"to": "CH"},
            "from elsewhere": {"to": "FR", "sent_from": "PL"},
        }.get(self.kind, {"to": "FR"})
        return {
            "order_id": self.number,
            "ordered_on": self.day.isoformat(),
            "item_amount": f"{self.cents // 100}.{self.cents % 100:02}",
            "currency": "EUR",
            "tax_included": "yes" if self.included else "no",
            "product_class": "homeware",
            **more,
        }


def _vat_inside(cents: int) -> int:
    """Take the home VAT out of a price, rounded half up."""
    exact = Fraction(cents * 19, 119)
    return int(exact + Fraction(1, 2))


def bound(sales: list[Sale]) -> set[str]:
    """Name the sales that are taxed on arrival by the limit alone.

    The sale that passes it, all that follow in its year, and all of the year after. What a price with VAT counts with in a
    year that is bound from its first day depends on the rate of arrival (20 % in France).
    """
    passed: dict[int, bool] = {}
    found: set[str] = set()
    for year in range(FIRST.year, LAST.year + 1):
        from_the_start = passed.get(year - 1, False)
        total, over = Fraction(0), False
        for sale in sorted(sales, key=lambda one: (one.day, one.number)):
            if sale.day.year != year or not sale.counts:
                continue
            if from_the_start and sale.included:
                total += sale.cents - int(Fraction(sale.cents, 6) + Fraction(1, 2))
            else:
                total += sale.net
            over = over or total > LIMIT
            if over or from_the_start:
                found.add(sale.number)
        passed[year] = over
    return found


SALES = st.lists(
    st.tuples(
        st.integers(0, (LAST - FIRST).days),
        st.integers(1, 10),
        st.sampled_from((-1, 0, 1)),
        st.sampled_from(KINDS),
        st.booleans(),
    ),
    min_size=1,
    max_size=25,
)
"""Day, tenths of the limit, cents more, kind, and whether the price contains VAT."""


@settings(max_examples=40, deadline=None)
@given(given_sales=SALES)
@example(given_sales=[(10, 10, 0, "goods", False), (11, 1, 0, "goods", False), (400, 1, 0, "digital", True)])
@example(given_sales=[(10, 9, 0, "goods", False), (10, 1, 0, "digital", False), (10, 1, -1, "goods", True)])
@example(
    given_sales=[
        (10, 10, 1, "goods", False),
        (400, 10, 0, "goods", True),
        (401, 2, 0, "goods", True),
        (800, 1, 0, "goods", False),
    ]
)
def test_the_limit_binds_the_sale_that_passes_it_and_the_next_year(
    given_sales: list[tuple[int, int, int, str, bool]],
) -> None:
    """Sales at home, to firms, out of the Union and from another state move nothing; the last are taxed on arrival anyway."""
    sales = [
        Sale(FIRST + timedelta(days=day), f"{at:03}", LIMIT * tenths // 10 + more, kind, included)
        for at, (day, tenths, more, kind, included) in enumerate(given_sales)
    ]
    profile = union_seller("DE", registration=registered("DE"), fulfiller=[fulfiller(ship_from=["DE", "PL"])])
    rows = [sale.row() | ({} if "sent_from" in sale.row() else {"sent_from": "DE"}) for sale in sales]
    placed = dict(answers(assess(orders(rows), profile, as_of=LAST)).place)
    expected = bound(sales)
    for sale in sales:
        if sale.counts:
            assert placed[sale.number] == ("FR" if sale.number in expected else "DE"), sale
        elif sale.kind == "from elsewhere":
            assert placed[sale.number] == "FR"
        elif sale.kind == "at home":
            assert placed[sale.number] == "DE"
