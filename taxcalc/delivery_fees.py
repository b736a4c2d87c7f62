"""Fees that a state asks for each delivery, as their own small figure: never part of the tax.

A fee is due once for an order, however many parcels; the seller must have a duty to collect there, must not be free as a
small seller (`taxcalc.us.fee_days`), and the order must hold what the row asks for. Sales through a facilitator bear none
for the seller. What becomes of the fee of a sale that was refunded in full stands in the row (`after_full_refund`); where
that is not known, or turns on a cancelled delivery, which an order file does not show, the low end counts no fee. A refund of
a part changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

import numpy as np

from taxcalc import places
from taxcalc.assessment import date_or_none
from taxcalc.caution import CAUTION
from taxcalc.columns import PRODUCT_CLASSES, Buyer, Channel, Entry
from taxcalc.exchange import convert
from taxcalc.money import CURRENCY_CODE, write_amount
from taxcalc.tables.schema import BASES, NO_VALUE
from taxcalc.us.fee_days import fee_sellers

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.charges import Bucket
    from taxcalc.facts import Facts
    from taxcalc.figures import LineFigures
    from taxcalc.sums import Frame
    from taxcalc.terms import AllTerms
    from taxcalc.totals import Totals
    from taxcalc.us.fee_days import FeeSeller

    Index = npt.NDArray[np.intp]

DIGITAL = PRODUCT_CLASSES.index("digital")
CLOTHING = [PRODUCT_CLASSES.index(name) for name in ("clothing", "clothing_children", "headwear", "footwear")]
ENDS = ("low", "expected", "high")
COLUMNS = ("amount", "due_when", "least_sale", "free_sales", "free_sales_met_when", "new_seller_starts")
"""Columns of us/delivery_fees that a fee rests on."""


class DeliveryFees:
    """Fees of a run, added up bucket by bucket; without a state whose limit was passed no line is looked at."""

    def __init__(self, totals: Totals, facts: Facts) -> None:
        """Find the days on which the seller is not free."""
        self.facts, self.table = facts, facts.tables["us/delivery_fees"]
        self.sellers: list[FeeSeller] = fee_sellers(totals, facts)
        self.spans = [(seller, span) for seller in self.sellers for span in seller.days()]
        self._found: dict[int, dict[tuple[int, str, str, str], tuple[int, int]]] = {}

    def look(
        self, number_of_bucket: int, bucket: Bucket, figures: LineFigures, terms: AllTerms, frame: Frame
    ) -> None:
        """Count the orders of one bucket that bear a fee."""
        found: dict[tuple[int, str, str, str], tuple[int, int]] = {}
        for seller in {seller for seller, _ in self.spans}:
            lines = self._own_sales(bucket, terms, seller.place)
            if lines.size:
                self._add(found, seller, bucket, figures, frame, lines)
        self._found[number_of_bucket] = found

    def _own_sales(self, bucket: Bucket, terms: AllTerms, place: int) -> Index:
        """Give the lines of the seller's own retail sales into a state, under a duty to collect."""
        lines = bucket.lines
        at = np.flatnonzero(lines["destination"] == place)
        own = (lines["entry"][at] == Entry.SALE) & (lines["channel"][at] == Channel.OWN)
        own = own & (lines["buyer"][at] == Buyer.CONSUMER) & (lines["product_class"][at] != DIGITAL)
        found: Index = at[own & (terms.cases.state.take(bucket.case[at]) > 0)]
        return found

    def _add(
        self,
        found: dict[tuple[int, str, str, str], tuple[int, int]],
        seller: FeeSeller,
        bucket: Bucket,
        figures: LineFigures,
        frame: Frame,
        lines: Index,
    ) -> None:
        """Count the orders of one fee, in the period and ever, at each end."""
        order, first, of_line = np.unique(bucket.order[lines], return_index=True, return_inverse=True)
        day = bucket.lines["tax_day"][lines[first]]
        rows = self.table.lookup(day, place=np.full(day.size, seller.place, np.int16), fee=seller.fee)
        gone = self._gone(bucket, rows, order, seller.place)
        bears = (rows >= 0) & self._asked_for(bucket, figures, lines, (rows, of_line.reshape(-1), order.size))
        fee = self._reported(rows, day)
        for end in ENDS:
            bound = np.zeros(day.size, bool)
            for mine, span in self.spans:
                if mine is seller and (span.sure or end == "high"):
                    bound |= (day >= span.first) & (day <= span.last)
            for when, inside in (
                ("ever", np.ones(day.size, bool)),
                ("period", (day >= frame.first) & (day <= frame.last)),
            ):
                chosen = bears & bound & inside & (day <= self.facts.as_of_day) & ~gone[end]
                found[seller.place, seller.fee, when, end] = int(chosen.sum()), int(fee[chosen].sum())

    def _asked_for(
        self,
        bucket: Bucket,
        figures: LineFigures,
        lines: Index,
        orders: tuple[npt.NDArray[np.int32], npt.NDArray[np.intp], int],
    ) -> npt.NDArray[np.bool_]:
        """Tell which orders hold what the row asks for: one taxed item, or goods and charges of at least a sum."""
        rows, of_line, size = orders
        given, table = bucket.lines, self.table
        tax = figures.to_collect["expected"][lines]
        taxed = tax != 0
        worn = np.isin(given["product_class"][lines], CLOTHING) & table["clothing_counts"][rows][of_line]
        charged = given["item_amount"][lines] + given["shipping_amount"][lines]
        charged = np.where(bucket.settled.included[lines], charged - tax, charged)
        dollars = convert(charged, given["currency"][lines], "USD", given["day"][lines])
        counting, any_taxed = np.zeros(size, np.int64), np.zeros(size, bool)
        np.add.at(counting, of_line, np.where(taxed | worn, dollars, 0))
        any_taxed[of_line[taxed]] = True
        least = table["least_sale"][rows]
        reached = (least != NO_VALUE) & (counting >= least)
        return np.where(table["due_when"][rows] == "one_taxable_item", any_taxed, reached)

    def _gone(
        self, bucket: Bucket, rows: npt.NDArray[np.int32], orders: npt.NDArray[np.int32], place: int
    ) -> dict[str, npt.NDArray[np.bool_]]:
        """Tell for each end which orders bear no fee because everything sold into the state was given back, whenever."""
        lines = bucket.lines
        at = np.flatnonzero((lines["destination"] == place) & (lines["entry"] != Entry.SAMPLE))
        at = at[np.isin(bucket.order[at], orders)]
        left = np.zeros(orders.size, np.int64)
        back = np.zeros(orders.size, np.bool_)
        of_line = np.searchsorted(orders, bucket.order[at])
        np.add.at(left, of_line, lines["item_amount"][at] + lines["shipping_amount"][at])
        back[of_line[lines["entry"][at] == Entry.REFUND]] = True
        refunded = back & (left <= 0)
        words = self.table["after_full_refund"][rows]
        surely = refunded & (words == "falls_away")
        return {"low": refunded & (words != "stays"), "expected": surely, "high": surely}

    def _reported(self, rows: npt.NDArray[np.int32], day: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
        """Give the fee of each order in the reporting currency."""
        cents = np.where(rows >= 0, self.table["amount"][rows], 0).astype(np.int64)
        return convert(cents, CURRENCY_CODE["USD"], self.facts.seller.reporting_currency, day)

    def sums(self) -> dict[tuple[int, str, str, str], tuple[int, int]]:
        """Add up all buckets: orders and amount by place, fee, "period" or "ever", and end."""
        total: dict[tuple[int, str, str, str], tuple[int, int]] = defaultdict(lambda: (0, 0))
        for found in self._found.values():
            for key, (orders, amount) in found.items():
                total[key] = total[key][0] + orders, total[key][1] + amount
        return total


def delivery_fees(assessment: Assessment) -> list[dict[str, Any]]:
    """Give the part of the record: one entry a fee of a state with sales, also where the seller is free of it."""
    fees = assessment.run.fees
    sums = fees.sums()
    return [_shown(seller, fees, sums, assessment.currency) for seller in fees.sellers]


def _shown(
    seller: FeeSeller,
    fees: DeliveryFees,
    sums: dict[tuple[int, str, str, str], tuple[int, int]],
    currency: str,
) -> dict[str, Any]:
    """Write one fee."""
    stands = seller.stands()
    rows = np.array([stands.row], np.int32)
    spans = [span for mine, span in fees.spans if mine is seller]

    def ends(when: str) -> dict[str, Any]:
        found = {end: sums.get((seller.place, seller.fee, when, end), (0, 0)) for end in ENDS}
        return {
            "orders": {end: orders for end, (orders, _) in found.items()},
            "amount": {end: write_amount(amount, currency) for end, (_, amount) in found.items()},
            "caution": CAUTION,
        }

    return {
        "place": places.code(seller.place),
        "name": places.name(places.code(seller.place)),
        "fee": seller.fee,
        "sales_previous_year": write_amount(stands.sales_before, "USD"),
        "free_sales": write_amount(stands.free_sales, "USD"),
        "limit_currency": "USD",
        "incomplete": stands.incomplete,
        "liable_from": date_or_none(_first(span.first for span in spans if span.sure)),
        "may_be_liable_from": date_or_none(_first(span.first for span in spans)),
        "period": ends("period"),
        "since_liable": ends("ever"),
        "basis": BASES[int(fees.table.basis(rows, *COLUMNS)[0])],
        "row_ids": str(fees.table.row_ids(rows)[0]),
        "caution": CAUTION,
    }


def _first(days: Iterable[int]) -> int | None:
    """Give the earliest day, None where there is none."""
    return min(days, default=None)
