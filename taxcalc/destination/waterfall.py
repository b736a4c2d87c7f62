"""What becomes of one order: what the customer pays, what of it is tax, what the fulfiller takes, what is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.destination.question import written
from taxcalc.reasons import REASONS

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.destination.made_up import Line

ENDS: Final = ("low", "expected", "high")
_SUFFIX: Final = {"low": "_low", "expected": "", "high": "_high"}
NOT_HELD: Final = "elsewhere"
"""How reasons begin where no rules of the place are held: a tax of zero then means that it is not known."""
Spread = dict[str, int]


@dataclass(frozen=True)
class Waterfall:
    """One made-up order as the engine sees it; amounts in minor units of the order's currency.

    `tax` is what the seller has to collect; it is inside the price where `tax_included`, else on top of it. `left` is
    what remains after it and after the fulfiller's price and tax; its low end takes both taxes at their high ends.
    """

    line: Line
    place: str
    duty: str
    reason: str
    tax: Spread
    tax_included: bool
    fulfiller_reason: str
    fulfiller_tax: Spread
    avoidable: int
    case: int
    assessment: Assessment
    rows: tuple[str, ...]
    fulfiller_rows: tuple[str, ...]

    @property
    def tax_inside(self) -> Spread:
        """The tax that comes out of the price."""
        return self.tax if self.tax_included else dict.fromkeys(ENDS, 0)

    @property
    def customer_pays(self) -> Spread:
        """What the customer pays to the seller, tax on top included."""
        on_top = dict.fromkeys(ENDS, 0) if self.tax_included else self.tax
        return {end: self.line.order.charged + on_top[end] for end in ENDS}

    @property
    def left(self) -> Spread:
        """What is left of the order."""
        order, other = self.line.order, {"low": "high", "expected": "expected", "high": "low"}
        return {
            end: order.charged
            - self.tax_inside[other[end]]
            - order.fulfiller_price
            - self.fulfiller_tax[other[end]]
            for end in ENDS
        }

    def left_tenths(self, end: str = "expected") -> int | None:
        """What is left in tenths of a percent of what the customer is charged apart from tax on top, rounded down."""
        charged = self.line.order.charged
        return self.left[end] * 1000 // charged if charged else None

    def shown(self) -> dict[str, Any]:
        """Write it as the record has it: amounts as decimal texts, with the caution."""
        order, currency = self.line.order, self.line.order.currency

        def spread(values: Spread) -> dict[str, str]:
            return {end: written(values[end], currency) for end in ENDS}

        return {
            "currency": currency,
            "taxed_in": self.place,
            "duty": self.duty,
            "reason": self.reason,
            "words": REASONS[self.reason],
            "tax_known": not self.reason.startswith(NOT_HELD),
            "goods": written(order.item_amount, currency),
            "shipping": written(order.shipping_amount, currency),
            "tax_included": self.tax_included,
            "tax": spread(self.tax),
            "customer_pays": spread(self.customer_pays),
            "fulfiller_goods": written(order.fulfiller_item_cost, currency),
            "fulfiller_shipping": written(order.fulfiller_shipping_cost, currency),
            "fulfiller_tax": spread(self.fulfiller_tax),
            "fulfiller_reason": self.fulfiller_reason,
            "fulfiller_words": REASONS[self.fulfiller_reason],
            "fulfiller_tax_known": not self.fulfiller_reason.startswith(NOT_HELD),
            "fulfiller_tax_avoidable": written(self.avoidable, currency),
            "left": spread(self.left),
            "left_percent": {end: _percent(self.left_tenths(end)) for end in ENDS},
            "rows": list(self.rows),
            "fulfiller_rows": list(self.fulfiller_rows),
            "caution": CAUTION,
        }


def _percent(tenths: int | None) -> str | None:
    """Write tenths of a percent."""
    if tenths is None:
        return None
    sign = "-" if tenths < 0 else ""
    return f"{sign}{abs(tenths) // 10}.{abs(tenths) % 10}"


def waterfalls(assessment: Assessment, lines: list[Line]) -> list[Waterfall]:
    """Give the waterfall of each made-up order in an assessment that holds them."""
    found = assessment.lines_of([line.number for line in lines]).set_index("order_id")
    terms, seller = assessment.run.terms, assessment.run.seller
    row_ids = terms.collect.row_ids(), terms.fulfiller.row_ids()
    result = []
    for line in lines:
        row: Any = found.loc[line.number]
        case = int(row["case_id"])
        said = line.order.tax_included
        result.append(
            Waterfall(
                line,
                str(row["place"]),
                str(row["duty"]),
                str(row["reason"]),
                _spread(row, "to_collect"),
                seller.includes_tax(_country(line.place)) if said is None else said,
                str(terms.fulfiller.reason[case]),
                _spread(row, "fulfiller_tax"),
                int(row["fulfiller_tax_avoidable"]),
                case,
                assessment,
                *(tuple(ids[case].split()) for ids in row_ids),
            )
        )
    return result


def _country(code: str) -> str:
    """Give the country whose prices hold at a place; the place itself where it has none."""
    country = int(places.countries()[places.index(code)])
    return places.code(country) if country > 0 else code


def _spread(row: Any, name: str) -> Spread:  # noqa: ANN401 - a row of a frame
    """Read the three ends, in rising order."""
    low, expected, high = (int(row[f"{name}{_SUFFIX[end]}"]) for end in ENDS)
    return dict(zip(ENDS, (min(low, expected), expected, max(high, expected)), strict=True))
