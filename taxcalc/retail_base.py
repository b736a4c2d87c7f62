"""States that tax the fulfiller on the price of the seller's customer: sales covered by that tax, and possible offsets.

Without a duty of the seller the fulfiller's tax is the tax on the sale to the customer: the sale is covered where it was
charged. With a duty what the seller should collect stays whole; what the fulfiller charged may be set off or claimed back,
and is never taken off any figure. Figures are those of the period, in minor units of the reporting currency.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION
from taxcalc.money import write_amount
from taxcalc.regime import DUTY, RETAIL

if TYPE_CHECKING:
    from taxcalc.assessment import Assessment
    from taxcalc.place_sums import PlaceSums

COVERED: Final = "below_threshold"
OFFSET: Final = "collect"
MEASURES: Final = ("lines", "sales", "to_collect", "fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high")


def on_retail_price(assessment: Assessment, duty: str) -> dict[int, dict[str, int]]:
    """Add up, by place, the cases of the period whose fulfiller is, or may be, taxed on the retail price.

    A state that presumes a mark-up on the fulfiller's price where the retail price is not shown is one of them.
    `duty` is a word of `DUTIES`. What was charged on a sale that bears no such tax (goods that are free, a document on file)
    covers nothing and sets nothing off: `taxcalc.purchases.compared` asks it back.
    """
    terms, by_case = assessment.run.terms, assessment.sums.by_case
    taxed = by_case["fulfiller_tax_high"] != 0
    here = (terms.base["high"] == RETAIL) & (terms.duty == DUTY[duty]) & (by_case["lines"] > 0) & taxed
    found = {}
    for code in np.unique(terms.placed.place[here]).tolist():
        at = here & (terms.placed.place == code)
        sums = {name: int(by_case[name][at].sum()) for name in (*MEASURES, "fulfiller_tax_charged")}
        ends = [sums["fulfiller_tax_low"], sums["fulfiller_tax_high"]]
        found[code] = {**sums, "fulfiller_tax_low": min(ends), "fulfiller_tax_high": max(ends)}
    return found


def retail_base(assessment: Assessment, sums: PlaceSums) -> list[dict[str, Any]]:
    """Build the record's part: by place what is covered, and what may be set off."""
    covered, offset = (on_retail_price(assessment, duty) for duty in (COVERED, OFFSET))
    return [
        {
            "place": places.code(code),
            "name": places.name(places.code(code)),
            "covered": _covered(covered.get(code), assessment.currency),
            "with_duty": _with_duty(offset.get(code), assessment.currency),
            "caution": CAUTION,
        }
        for code in sums.codes
        if code in covered or code in offset
    ]


def _covered(part: dict[str, int] | None, currency: str) -> dict[str, Any] | None:
    """Write the sales without a duty; None where there are none."""
    if part is None:
        return None
    charged = write_amount(part["fulfiller_tax_charged"], currency)
    return {**_common(part, currency), "fulfiller_tax_charged": charged, "caution": CAUTION}


def _with_duty(part: dict[str, int] | None, currency: str) -> dict[str, Any] | None:
    """Write the sales under a duty: what should be collected, whole, and beside it what may be set off."""
    if part is None:
        return None
    return {
        **_common(part, currency),
        "to_collect": write_amount(part["to_collect"], currency),
        "possible_offset": write_amount(max(part["fulfiller_tax_charged"], 0), currency),
        "caution": CAUTION,
    }


def _common(part: dict[str, int], currency: str) -> dict[str, Any]:
    """Write lines, sales and the tax that the fulfiller may charge."""
    ends = {"low": "fulfiller_tax_low", "expected": "fulfiller_tax", "high": "fulfiller_tax_high"}
    return {
        "lines": part["lines"],
        "sales": write_amount(part["sales"], currency),
        "fulfiller_tax": {end: write_amount(part[name], currency) for end, name in ends.items()},
    }
