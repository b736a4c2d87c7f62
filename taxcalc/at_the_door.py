"""What customers may be asked for when a parcel from outside the Union is delivered: a figure of its own, in no other.

Without the import scheme the carrier asks the customer for import VAT on goods, transport and duty, for the flat duty and
the fees of single states (`taxcalc.eu.import_charges`), and for a fee of its own, which is not known here. Parcels under
the seller's import scheme are added up apart, as what the scheme spares their customers. Kinds of goods stand in for
customs classifications, and all lines of an order to one place for one parcel.
"""

from __future__ import annotations

from collections import defaultdict
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.arrow import Adding
from taxcalc.columns import PRODUCT_CLASSES, Entry
from taxcalc.eu.consignment import in_euro
from taxcalc.eu.import_charges import FLAT, NATIONAL, charge
from taxcalc.eu.place import rules_of
from taxcalc.eu.rates import ppm, rate_rows
from taxcalc.exchange import convert
from taxcalc.money import PPM, round_half_away

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.facts import Facts
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints
    from taxcalc.sums import Frame
    from taxcalc.terms import AllTerms

    Index = npt.NDArray[np.intp]

ASKED, SPARED = 1, 2
"""Groups of parcels: asked for at the door, and spared that by the import scheme; 0 is neither."""

AT_THE_BORDER = ("eu_import_without_ioss", "eu_import_over_150", "eu_import_by_business")
BY_SCHEME = ("eu_ioss",)
ABOVE_LIMIT = ("eu_import_over_150",)


class Sums(NamedTuple):
    """Sums of parcels, cents of euro but for the two counts; `low` leaves out what is not certain to be asked."""

    parcels: int
    above_limit: int
    goods: int
    shipping: int
    vat_low: int
    vat: int
    duty_low: int
    duty: int
    fees_low: int
    fees: int


class AtTheDoor:
    """Adds up the imports of the period, bucket by bucket; a run without any looks at no line."""

    def __init__(self, terms: AllTerms, facts: Facts, frame: Frame) -> None:
        """Find the cases that are imports of customers."""
        self.facts, self._frame, self._lock = facts, frame, Lock()
        reason = terms.collect.reason
        sold = ~terms.cases.sample
        self._group = np.select(
            [np.isin(reason, AT_THE_BORDER) & sold, np.isin(reason, BY_SCHEME) & sold], [ASKED, SPARED], 0
        ).astype(np.int8)
        self._above = np.isin(reason, ABOVE_LIMIT)
        self._business = terms.cases.buyer_number > 0
        self._any = bool(self._group.any())
        self.sums: dict[tuple[int, int], Sums] = defaultdict(lambda: Sums(*[0] * len(Sums._fields)))
        self.charged_vat: dict[int, int] = defaultdict(int)
        self.rows: dict[str, set[int]] = {"eu/import_charges": set(), "eu/rates": set()}

    def look(self, bucket: Bucket, figures: LineFigures) -> None:
        """Look through one bucket."""
        if not self._any:
            return
        lines = bucket.lines
        inside = (lines["tax_day"] >= self._frame.first) & (lines["tax_day"] <= self._frame.last)
        at = np.flatnonzero((self._group.take(bucket.case) > 0) & inside & (lines["entry"] == Entry.SALE))
        if at.size:
            vat = convert(figures.to_collect["expected"][at], lines["currency"][at], "EUR", lines["day"][at])
            self._add(bucket, at, vat)

    def _add(self, bucket: Bucket, at: Index, vat: Ints) -> None:
        """Add up the parcels of some lines."""
        parcels = _Parcels(bucket, at, self.facts)
        case = bucket.case[at][parcels.first]
        group, business = self._group[case], self._business[case]
        duty = charge(FLAT, parcels.day, parcels.place, parcels.goods, parcels.kinds, self.facts)
        fees = charge(NATIONAL, parcels.day, parcels.place, parcels.goods, parcels.kinds, self.facts)
        certain = np.where(business, 0, duty.whole)
        values = (
            np.ones(case.size, np.int64),
            self._above[case].astype(np.int64),
            parcels.goods,
            parcels.shipping,
            parcels.import_vat(np.where(duty.in_base & ~business, duty.per_kind, 0)),
            parcels.import_vat(np.where(duty.in_base, duty.per_kind, 0)),
            certain,
            duty.whole,
            np.zeros(case.size, np.int64),
            fees.whole,
        )
        keys, position = np.unique(parcels.place.astype(np.int64) * 3 + group, return_inverse=True)
        adding = Adding(position.reshape(-1), keys.size)
        found = zip(
            keys.tolist(), zip(*(adding.of(each).tolist() for each in values), strict=True), strict=True
        )
        under_scheme = self._group[bucket.case[at]] == SPARED
        with self._lock:
            for key, sums in found:
                place, of_group = divmod(key, 3)
                before = self.sums[place, of_group]
                self.sums[place, of_group] = Sums(*(a + b for a, b in zip(before, sums, strict=True)))
            for place in np.unique(parcels.line_place[under_scheme]).tolist():
                self.charged_vat[place] += int(vat[under_scheme & (parcels.line_place == place)].sum())
            self.rows["eu/import_charges"] |= {*duty.rows.tolist(), *fees.rows.tolist()} - {-1}
            self.rows["eu/rates"] |= set(parcels.rate_rows.tolist()) - {-1}


class _Parcels:
    """The parcels of some lines: value, transport, kinds of goods, day and place of each (arrays by parcel)."""

    def __init__(self, bucket: Bucket, at: Index, facts: Facts) -> None:
        """Put the lines of an order to one place together, and within a parcel those of one kind of goods."""
        lines, classes = bucket.lines, len(PRODUCT_CLASSES)
        destination, kind = lines["destination"][at], lines["product_class"][at]
        order = bucket.order[at].astype(np.int64) * len(places.codes()) + destination
        keys, self.first, parcel = np.unique(order, return_index=True, return_inverse=True)
        pairs, first_of_pair, pair = np.unique(
            parcel.reshape(-1) * classes + kind, return_index=True, return_inverse=True
        )
        self._of_pair, size = pairs // classes, keys.size
        goods, shipping = (
            in_euro(lines[name][at], lines, bucket.settled, at, facts)
            for name in ("item_amount", "shipping_amount")
        )
        adding = Adding(parcel.reshape(-1), size)
        self.goods, self.shipping = adding.of(goods), adding.of(shipping)
        self.kinds = np.bincount(self._of_pair, minlength=size).astype(np.int64)
        self.line_place = rules_of(destination, facts)
        day = bucket.settled.rule_day[at]
        self.place, self.day = self.line_place[self.first], day[self.first]
        self._value = Adding(pair.reshape(-1), pairs.size).of(goods + shipping)
        self.rate_rows = rate_rows(
            self.line_place[first_of_pair], kind[first_of_pair], day[first_of_pair], facts
        )
        self._rate = ppm(self.rate_rows, facts)

    def import_vat(self, duty_per_kind: Ints) -> Ints:
        """Give the import VAT of each parcel, rounded once for each kind of goods: on goods, transport and its duty."""
        base = self._value + duty_per_kind[self._of_pair]
        return Adding(self._of_pair, self.goods.size).of(round_half_away(base * self._rate, PPM))
