"""Duties that begin with a sale: places without a threshold of their own.

They are found while the lines are computed: the earliest line of each place whose duty rests on a first sale, or on the
Union-wide limit (crossed, or left by choice) that moves a sale to its state of arrival.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from taxcalc import places
from taxcalc.arrow import picked
from taxcalc.columns import Entry
from taxcalc.duties import CAUSE, CAUSES, Interval, Position
from taxcalc.facts import OPEN
from taxcalc.reasons import FROM_FIRST_SALE, OVER_UNION_LIMIT

if TYPE_CHECKING:
    from taxcalc.charges import Bucket
    from taxcalc.duties import Duties
    from taxcalc.figures import LineFigures
    from taxcalc.terms import AllTerms


class FirstSales:
    """The earliest such position of each place and cause, whatever the order in which buckets come."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._first: dict[tuple[int, str], Position] = {}
        self._lock = Lock()

    def look(self, bucket: Bucket, figures: LineFigures, terms: AllTerms) -> None:
        """Look through one bucket."""
        by_first_sale = np.isin(terms.collect.reason, FROM_FIRST_SALE)
        over_limit = np.isin(terms.collect.reason, OVER_UNION_LIMIT)
        cause = np.where(by_first_sale, CAUSE["first_sale"], np.where(over_limit, terms.cases.state, 0))
        lines = bucket.lines
        of_line = np.where(figures.due & (lines["entry"] == Entry.SALE), cause.take(bucket.case), 0)
        place = terms.placed.place.take(bucket.case).astype(np.int64) * len(CAUSES) + of_line
        for key in np.unique(place[of_line > 0]).tolist():
            at = np.flatnonzero(place == key)
            earliest = int(lines["day"][at].min())
            that_day = at[lines["day"][at] == earliest]
            orders = picked(lines.order_id, that_day)
            first = min(zip(lines["second"][that_day].tolist(), orders, strict=True))
            self._keep((key // len(CAUSES), CAUSES[key % len(CAUSES)]), Position(earliest, *first))

    def _keep(self, where: tuple[int, str], position: Position) -> None:
        """Keep a position if it is the earliest."""
        with self._lock:
            self._first[where] = min(position, self._first.get(where, position))

    def intervals(self, duties: Duties) -> list[Interval]:
        """Give the duties, each from its first order on; those of the Union's limit end as the limit's own do."""
        found = []
        for (place, cause), position in sorted(self._first.items()):
            of_limit = [i for i in duties.intervals if i.place == places.index("EU") and i.cause == cause]
            until = max((i.until for i in of_limit), default=OPEN)
            found.append(Interval(place, position, until, cause, "", position))
        return found
