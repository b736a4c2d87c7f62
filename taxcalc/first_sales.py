"""Duties that begin with the first sale: places where the seller has to collect without any threshold.

They are found while the lines are computed: the earliest line of each place whose duty rests on a first sale.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from taxcalc.arrow import picked
from taxcalc.columns import Entry
from taxcalc.duties import Interval, Position
from taxcalc.facts import OPEN
from taxcalc.reasons import FROM_FIRST_SALE
from taxcalc.regime import DUTY

if TYPE_CHECKING:
    from taxcalc.figures import Bucket, LineFigures
    from taxcalc.terms import AllTerms


class FirstSales:
    """The earliest such position of each place, whatever the order in which buckets come."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._first: dict[int, Position] = {}
        self._lock = Lock()

    def look(self, bucket: Bucket, figures: LineFigures, terms: AllTerms) -> None:
        """Look through one bucket."""
        by_first_sale = np.isin(terms.collect.reason, FROM_FIRST_SALE)
        lines = bucket.lines
        due = by_first_sale[bucket.case] & (figures.duty == DUTY["collect"]) & (lines["entry"] == Entry.SALE)
        place = terms.placed.place[bucket.case]
        for code in np.unique(place[due]).tolist():
            at = np.flatnonzero(due & (place == code))
            earliest = int(lines["day"][at].min())
            that_day = at[lines["day"][at] == earliest]
            orders = picked(lines.order_id, that_day)
            first = min(zip(lines["second"][that_day].tolist(), orders, strict=True))
            self._keep(code, Position(earliest, *first))

    def _keep(self, place: int, position: Position) -> None:
        """Keep a position if it is the earliest."""
        with self._lock:
            self._first[place] = min(position, self._first.get(place, position))

    def intervals(self) -> list[Interval]:
        """Give the duties, each from its first order on."""
        return [
            Interval(place, position, OPEN, "first_sale", "", position)
            for place, position in sorted(self._first.items())
        ]
