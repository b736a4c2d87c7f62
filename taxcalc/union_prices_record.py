"""Prices to consumers in the Union as the record shows them: what is left in each state, and what prices without VAT lack."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.days import day as to_day
from taxcalc.days import number
from taxcalc.eu.place import member_state
from taxcalc.eu.rates import ppm, rate_rows
from taxcalc.money import PPM, round_half_away, write_amount
from taxcalc.tables.schema import BASES

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.money import Ints
    from taxcalc.union_prices import Lacking

VAT_NOT_AGREED: Final = "vat_not_agreed"
READINGS: Final = {
    "on_top": "The price is without VAT: the VAT is missing on top of it. The other figures of this review take it so.",
    "out_of_the_price": "The VAT cannot be asked of the customers afterwards: it comes out of the price that they paid.",
}


def same_price(assessment: Assessment) -> dict[str, Any] | None:
    """Build the table of what the period's prices would leave in each state; None where no price contains VAT.

    Every sale is taken as if it were taxed in that one state, at its rate for each kind of goods on the last day of the
    period; VAT is rounded once for each kind of goods.
    """
    run, currency = assessment.run, assessment.currency
    found = run.union_prices
    if not found.gross:
        return None
    day = min(number(run.period[1]), run.facts.as_of_day)
    by_class = np.zeros(len(PRODUCT_CLASSES), np.int64)
    sold: dict[int, int] = {}
    for (destination, kind), amount in found.gross.items():
        by_class[kind] += amount
        state = int(member_state(np.array([destination], np.int16), run.facts)[0])
        sold[state] = sold.get(state, 0) + amount
    gross = int(by_class.sum())
    return {
        "day": to_day(day).isoformat(),
        "currency": currency,
        "orders": found.orders,
        "gross": write_amount(gross, currency),
        "gross_of_an_order": write_amount(_share(gross, found.orders), currency),
        "states": [
            _state(assessment, state, by_class, day, sold.get(state, 0))
            for state in sorted(np.flatnonzero(run.facts.eu_states).tolist(), key=places.code)
        ],
        "caution": CAUTION,
    }


def _state(assessment: Assessment, state: int, by_class: Ints, day: int, sold: int) -> dict[str, Any]:
    """Write what one state's VAT takes out of all prices, and what is left."""
    facts, currency, orders = assessment.run.facts, assessment.currency, assessment.run.union_prices.orders
    kinds = np.flatnonzero(by_class).astype(np.int8)
    rows = rate_rows(np.full(kinds.size, state, np.int16), kinds, np.full(kinds.size, day, np.int32), facts)
    rate = ppm(rows, facts)
    table = facts.tables["eu/rates"]
    vat = int(round_half_away(by_class[kinds] * rate, PPM + rate).sum())
    gross = int(by_class.sum())
    return {
        "place": places.code(state),
        "name": places.name(places.code(state)),
        "sold": write_amount(sold, currency),
        "vat": write_amount(vat, currency),
        "net": write_amount(gross - vat, currency),
        "net_of_an_order": write_amount(_share(gross - vat, orders), currency),
        "basis": BASES[int(table.basis(rows, "percent").max())],
        "row_ids": sorted({str(name) for name in table.row_ids(rows)}),
        "caution": CAUTION,
    }


def _share(amount: int, orders: int) -> int:
    """Give the share of one order, rounded half away from zero."""
    return int(round_half_away(np.array([amount], np.int64), orders)[0])


def priced_without_vat(assessment: Assessment) -> dict[str, Any] | None:
    """Build the two readings of sales priced without VAT on which nothing was collected; None where there are none."""
    found = assessment.run.union_prices.lacking
    if not found:
        return None
    total = type(next(iter(found.values())))(*(sum(column) for column in zip(*found.values(), strict=True)))
    table = assessment.run.facts.tables["eu/scheme_rules"]
    row = table.row(
        assessment.run.facts.as_of_day, place=places.index("EU"), subject="prices", rule=VAT_NOT_AGREED
    )
    rows = np.array([row], np.int32)
    return {
        "readings": READINGS,
        "places": [
            {
                "place": places.code(code),
                "name": places.name(places.code(code)),
                **_lacking(found[code], assessment.currency),
            }
            for code in sorted(found, key=places.code)
        ],
        "total": _lacking(total, assessment.currency),
        "basis": BASES[int(table.basis(rows, "answer")[0])],
        "row_ids": [str(table.row_ids(rows)[0])] if row >= 0 else [],
        "caution": CAUTION,
    }


def _lacking(sums: Lacking, currency: str) -> dict[str, Any]:
    """Write both readings."""

    def ends(*amounts: int) -> dict[str, str]:
        low, expected, high = (write_amount(amount, currency) for amount in amounts)
        return {"low": low, "expected": expected, "high": high}

    return {
        "lines": sums.lines,
        "sales": write_amount(sums.sales, currency),
        "on_top": ends(sums.top_low, sums.top, sums.top_high),
        "out_of_the_price": ends(sums.out_low, sums.out, sums.out_high),
        "caution": CAUTION,
    }
