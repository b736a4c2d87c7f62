"""What the sheets need of single lines of the period: sums by place and reason, exempt buyers, a sample."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import pyarrow as pa
import pyarrow.compute as pc

from taxcalc.money import write_amount

if TYPE_CHECKING:
    from collections.abc import Container
    from datetime import date

EXEMPT: Final = ("us_resale", "us_exempt_buyer", "eu_exempt_buyer")
MOST: Final = 1000
SAMPLE: Final = 200
MEASURES: Final = (
    "sales",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
    "shortfall",
    "taxable",
    "state_tax",
    "local_tax",
    "fulfiller_tax",
    "fulfiller_tax_charged",
)


class ByRate(NamedTuple):
    """What sales in the Union are added up by, as their lines have it."""

    place: str
    duty: str
    reason: str
    one_stop_shop: str
    vat_rate_ppm: int | None


class Gathered:
    """Filled line by line while the line files are written, from the very columns that are written."""

    def __init__(self, period: tuple[date, date], currency: str) -> None:
        """Begin with nothing."""
        self._period, self._currency = period, currency
        self._sums: dict[tuple[str, str, str, str], dict[str, int]] = defaultdict(
            lambda: dict.fromkeys((*MEASURES, "lines"), 0)
        )
        self._by_rate: dict[ByRate, dict[str, int]] = defaultdict(
            lambda: dict.fromkeys((*MEASURES, "lines"), 0)
        )
        self.exempt: list[dict[str, Any]] = []
        self.exempt_lines = 0
        self.sample: list[dict[str, Any]] = []

    def look(self, table: pa.Table) -> None:
        """Look through some lines."""
        first, last = (pa.scalar(day, pa.date32()) for day in self._period)
        day = table.column("tax_point")
        inside = table.filter(pc.and_(pc.greater_equal(day, first), pc.less_equal(day, last)))
        if not inside.num_rows:
            return
        names = [f"reporting_{name}" for name in MEASURES]
        keys = ["regime", "place", "duty", "reason"]
        grouped = inside.group_by([*keys, "one_stop_shop", "vat_rate_ppm"]).aggregate(
            [*((name, "sum") for name in names), ("row", "count")]
        )
        for row in grouped.to_pylist():
            key = (row["regime"], row["place"], row["duty"], row["reason"])
            intos = [self._sums[key]]
            if row["regime"] == "eu":
                intos.append(self._by_rate[ByRate(*key[1:], row["one_stop_shop"], row["vat_rate_ppm"])])
            for into in intos:
                for name in MEASURES:
                    into[name] += int(row[f"reporting_{name}_sum"])
                into["lines"] += int(row["row_count"])
        exempt = inside.filter(pc.is_in(inside.column("reason").cast(pa.string()), pa.array(EXEMPT)))
        self.exempt_lines += exempt.num_rows
        self.exempt += self._lines(exempt.slice(0, max(MOST - len(self.exempt), 0)))
        self.sample += self._lines(inside.slice(0, max(SAMPLE - len(self.sample), 0)))

    def _lines(self, table: pa.Table) -> list[dict[str, Any]]:
        """Write some lines as plain data, amounts as decimal texts of the reporting currency."""
        wanted = ["order_id", "line_id", "file", "row", "tax_point", "place", "duty", "reason"]
        found = []
        for row in table.select([*wanted, *(f"reporting_{name}" for name in MEASURES)]).to_pylist():
            one = {name: row[name] for name in wanted} | {"tax_point": row["tax_point"].isoformat()}
            found.append(one | {name: self._written(row[f"reporting_{name}"]) for name in MEASURES})
        return found

    def _written(self, amount: int) -> str:
        """Write minor units."""
        return write_amount(int(amount), self._currency)

    @property
    def by_rate(self) -> list[dict[str, Any]]:
        """Sums in the Union by place, duty, reason, the one-stop shop that may serve the sale, and rate (None: no duty)."""
        ordered = sorted(self._by_rate.items(), key=lambda item: (*item[0][:4], item[0].vat_rate_ppm or 0))
        return [
            {
                **key._asdict(),
                "lines": sums["lines"],
                **{name: self._written(sums[name]) for name in MEASURES},
            }
            for key, sums in ordered
        ]

    @property
    def by_reason(self) -> list[dict[str, Any]]:
        """Sums by regime, place, duty and reason."""
        return [
            {
                "regime": regime,
                "place": place,
                "duty": duty,
                "reason": reason,
                "lines": sums["lines"],
                **{name: self._written(sums[name]) for name in MEASURES},
            }
            for (regime, place, duty, reason), sums in sorted(self._sums.items())
        ]

    def sales_of(self, reasons: Container[str]) -> Decimal:
        """Add up the sales of some reasons."""
        return Decimal(
            self._written(sum(sums["sales"] for key, sums in self._sums.items() if key[3] in reasons))
        )
