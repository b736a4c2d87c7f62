"""Prices of the period to consumers in the Union: what VAT-inclusive ones would leave in each state, and what others lack.

A price that contains VAT is the same for the customer wherever it is taxed; the rate of the state decides what is left. On a
price without VAT, where nothing was collected, the VAT is missing on top; where it cannot be asked of the customer
afterwards it comes out of the price (eu/scheme_rules: vat_not_agreed). The other figures take it on top.
"""

from __future__ import annotations

from collections import defaultdict
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.arrow import Adding
from taxcalc.columns import PRODUCT_CLASSES, Buyer, Channel, Entry
from taxcalc.exchange import Conversion
from taxcalc.money import PPM, round_half_away
from taxcalc.regime import DUTY
from taxcalc.terms import SCENARIOS

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.facts import Facts
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints
    from taxcalc.sums import Frame
    from taxcalc.terms import AllTerms

    Index = npt.NDArray[np.intp]

CLASSES = len(PRODUCT_CLASSES)


class Lacking(NamedTuple):
    """Sums of sales priced without VAT: lines, sales, and the VAT on top and out of the price at each end."""

    lines: int
    sales: int
    top_low: int
    top: int
    top_high: int
    out_low: int
    out: int
    out_high: int


class UnionPrices:
    """Adds up prices bucket by bucket, in minor units of the reporting currency; refunds are left out."""

    def __init__(self, terms: AllTerms, facts: Facts, frame: Frame) -> None:
        """Find the cases: the seller's own taxed sales to consumers, arriving in the Union."""
        self._terms, self._facts, self._frame, self._lock = terms, facts, frame, Lock()
        cases = terms.cases
        in_union = places.regimes()[cases.destination] == places.EU
        consumer = (cases.buyer_number <= 0) & (cases.buyer == Buyer.CONSUMER) & ~cases.sample
        taxed = terms.duty == DUTY["collect"]
        self._sold = in_union & consumer & taxed & (cases.channel == Channel.OWN)
        self._any = bool(self._sold.any())
        self.gross: dict[tuple[int, int], int] = defaultdict(int)
        self.orders = 0
        self.lacking: dict[int, Lacking] = defaultdict(lambda: Lacking(*[0] * len(Lacking._fields)))

    def look(self, bucket: Bucket, figures: LineFigures) -> None:
        """Look through one bucket."""
        if not self._any:
            return
        lines = bucket.lines
        inside = (lines["tax_day"] >= self._frame.first) & (lines["tax_day"] <= self._frame.last)
        at = np.flatnonzero(self._sold.take(bucket.case) & inside & (lines["entry"] == Entry.SALE))
        included = bucket.settled.included[at]
        nothing = (lines["tax_collected"][at] == 0) & (figures.to_collect["high"][at] != 0)
        with_vat, without = at[included], at[~included & nothing]
        if with_vat.size:
            self._add_gross(bucket, with_vat)
        if without.size:
            self._add_lacking(bucket, figures, without)

    def _add_gross(self, bucket: Bucket, at: Index) -> None:
        """Add up prices that contain VAT, by destination and kind of goods."""
        lines = bucket.lines
        key = lines["destination"][at].astype(np.int64) * CLASSES + lines["product_class"][at]
        keys, group = np.unique(key, return_inverse=True)
        price = lines["item_amount"][at] + lines["shipping_amount"][at]
        sums = Adding(group.reshape(-1), keys.size).of(self._reported(bucket, at).of(price)).tolist()
        with self._lock:
            self.orders += int(np.unique(bucket.order[at]).size)
            for each, total in zip(keys.tolist(), sums, strict=True):
                self.gross[divmod(each, CLASSES)] += total

    def _add_lacking(self, bucket: Bucket, figures: LineFigures, at: Index) -> None:
        """Add up sales priced without VAT on which nothing was collected, by the place that taxes them."""
        lines, case = bucket.lines, bucket.case[at]
        keys, group = np.unique(self._terms.placed.place[case], return_inverse=True)
        price = lines["item_amount"][at] + lines["shipping_amount"][at]
        inside = [round_half_away(price * rate, PPM + rate) for rate in self._rates(case)]
        reported, adding = self._reported(bucket, at), Adding(group.reshape(-1), keys.size)
        columns = (price, *(figures.to_collect[end][at] for end in SCENARIOS), *inside)
        sums = [adding.lines.tolist(), *(adding.of(reported.of(column)).tolist() for column in columns)]
        with self._lock:
            for place, found in zip(keys.tolist(), zip(*sums, strict=True), strict=True):
                before = self.lacking[place]
                self.lacking[place] = Lacking(*(a + b for a, b in zip(before, found, strict=True)))

    def _rates(self, case: npt.NDArray[np.int32]) -> list[Ints]:
        """Give the rate of each line at the low, expected and high end."""
        rules = self._terms.collect.rules
        return [
            np.where(rules[end].charged[case], rules[end].state_ppm[case], 0).astype(np.int64)
            for end in SCENARIOS
        ]

    def _reported(self, bucket: Bucket, at: Index) -> Conversion:
        """Give the way of some lines into the reporting currency."""
        return Conversion(bucket.lines["currency"][at], self._frame.currency, bucket.lines["day"][at])
