"""What a regime answers, and in which form: four functions over cases.

A case is one distinct combination of everything a rule looks at; lines with the same case are taxed the same way. A
regime is a folder with the files place, thresholds, collect and fulfiller, each with the one function named here. US
and EU are siblings and never import each other.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Protocol

import numpy as np

from taxcalc.kernel import Rules

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.duties import Interval, ThresholdRow
    from taxcalc.facts import Facts
    from taxcalc.tables.rows import Rows
    from taxcalc.totals import Totals

DUTIES = (
    "collect",
    "marketplace_collects",
    "below_threshold",
    "exempt_small_business",
    "no_tax_here",
    "exempt_goods",
    "exempt_buyer",
    "buyer_accounts",
    "zero_rated_export",
    "import_at_border",
    "own_use",
    "unknown_place",
)
DUTY = {word: number for number, word in enumerate(DUTIES)}

NO_LIMIT = -1
"""`Placed.limit_place` of a case that counts for no threshold."""


@dataclass(frozen=True)
class Cases:
    """Distinct situations, arrays of one length.

    Place codes int16 (`destination`, `ship_from`, `buyer_number` with 0 none and -1 bad form), `product_class` int8,
    `channel` and `buyer` int8, `fulfiller` int16, `zone` int16, `sample` bool (the seller's own order), `over_limit`
    bool (import consignment above the limit), `ordered_apart` bool (of the day of the order and the tax point, only one
    lies in a sales-tax holiday for the goods), `day` int32 a day of the period in which no rule of the case changes,
    `state` int8 the cause of the duty in force (`taxcalc.duties.CAUSES`, 0 none) once duties are known.
    """

    destination: npt.NDArray[np.int16]
    ship_from: npt.NDArray[np.int16]
    product_class: npt.NDArray[np.int8]
    channel: npt.NDArray[np.int8]
    buyer: npt.NDArray[np.int8]
    buyer_number: npt.NDArray[np.int16]
    fulfiller: npt.NDArray[np.int16]
    zone: npt.NDArray[np.int16]
    sample: npt.NDArray[np.bool_]
    over_limit: npt.NDArray[np.bool_]
    ordered_apart: npt.NDArray[np.bool_]
    day: npt.NDArray[np.int32]
    state: npt.NDArray[np.int8]

    @property
    def size(self) -> int:
        """Number of cases."""
        return int(self.day.size)

    def take(self, index: npt.NDArray[np.intp] | npt.NDArray[np.bool_]) -> Cases:
        """Give the cases at `index`."""
        return Cases(**{f.name: getattr(self, f.name)[index] for f in fields(self)})


@dataclass(frozen=True)
class Placed:
    """Where each case is taxed.

    `place` int16, `situation` int8 (a regime's own numbering, 0 where it has none), `limit_place` int16 the place whose
    threshold it counts for (or NO_LIMIT), `taxable` bool for that count.
    """

    place: npt.NDArray[np.int16]
    situation: npt.NDArray[np.int8]
    limit_place: npt.NDArray[np.int16]
    taxable: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Evidence:
    """Table rows that an answer rests on: pairs of a table and a row number per case (-1 none), with the columns used."""

    used: tuple[tuple[Rows, npt.NDArray[np.int32], tuple[str, ...]], ...] = ()

    def and_of(self, *more: tuple[Rows, npt.NDArray[np.int32], tuple[str, ...]]) -> Evidence:
        """Add rows of further tables."""
        return Evidence((*self.used, *more))

    def basis(self, size: int) -> npt.NDArray[np.int8]:
        """Give per case the weakest basis of all rows used (index into schema.BASES)."""
        weakest = np.zeros(size, np.int8)
        for table, rows, columns in self.used:
            weakest = np.maximum(weakest, table.basis(rows, *columns))
        return weakest

    def checked_on(self, size: int) -> npt.NDArray[np.int32]:
        """Give per case the oldest day on which one of its rows was checked."""
        oldest = np.full(size, 2**31 - 1, np.int32)
        for table, rows, _ in self.used:
            oldest = np.where(rows >= 0, np.minimum(oldest, table.checked_on(rows)), oldest)
        return oldest

    def row_ids(self, size: int) -> list[str]:
        """Write per case the ids of its rows, separated by spaces."""
        columns = [table.row_ids(rows) for table, rows, _ in self.used]
        return [" ".join(dict.fromkeys(str(c[i]) for c in columns if c[i])) for i in range(size)]


@dataclass(frozen=True)
class CollectTerms:
    """What the seller should collect per case.

    `duty` int8 (index into DUTIES), `reason` object array of reason ids
    (`taxcalc.reasons`), three sets of rules (limits in minor units of `limit_currency`) and the rows behind them.
    """

    duty: npt.NDArray[np.int8]
    reason: npt.NDArray[np.object_]
    low: Rules
    expected: Rules
    high: Rules
    limit_currency: str
    evidence: Evidence = field(default_factory=Evidence)


def no_rules(size: int) -> Rules:
    """Give kernel rules that charge nothing, for cases without an answer in money."""
    none, plain = np.zeros(size, np.int64), np.zeros(size, np.int8)
    no = np.zeros(size, bool)
    return Rules(plain, none, none, none, plain, none, none, plain, no, plain, plain, none, no)


WHOLESALE, RETAIL, MARKED_UP = 0, 1, 2


@dataclass(frozen=True)
class FulfillerTerms:
    """What the fulfiller may charge per case.

    Rules as in CollectTerms; `base_*` int8 the price they apply to (the
    fulfiller's own, the customer's, or its own with `markup_ppm` on top), `avoidable` bool: the best document that
    could be had that day brings the expected charge to nothing.
    """

    reason: npt.NDArray[np.object_]
    low: Rules
    expected: Rules
    high: Rules
    base_low: npt.NDArray[np.int8]
    base_expected: npt.NDArray[np.int8]
    base_high: npt.NDArray[np.int8]
    markup_ppm: npt.NDArray[np.int64]
    avoidable: npt.NDArray[np.bool_]
    limit_currency: str
    evidence: Evidence = field(default_factory=Evidence)


@dataclass(frozen=True)
class ThresholdAnswer:
    """What a regime says of thresholds: the rows shown, and every interval of duty that a threshold made."""

    rows: list[ThresholdRow]
    intervals: list[Interval]


class PlaceRule(Protocol):
    """Where is this sale taxed."""

    def __call__(self, cases: Cases, facts: Facts) -> Placed:
        """Answer per case."""


class ThresholdRule(Protocol):
    """What counts, from when and until when."""

    def __call__(self, totals: Totals, facts: Facts) -> ThresholdAnswer:
        """Answer for all places of the regime."""


class CollectRule(Protocol):
    """What the seller should collect."""

    def __call__(self, cases: Cases, placed: Placed, facts: Facts) -> CollectTerms:
        """Answer per case."""


class FulfillerRule(Protocol):
    """What the fulfiller may charge."""

    def __call__(self, cases: Cases, placed: Placed, facts: Facts) -> FulfillerTerms:
        """Answer per case."""


@dataclass(frozen=True)
class Regime:
    """One regime: its code in `taxcalc.places` and its four answers."""

    name: str
    place: PlaceRule
    thresholds: ThresholdRule
    collect: CollectRule
    fulfiller: FulfillerRule
