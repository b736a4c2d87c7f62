"""All lines behind the figures of a place in a period, with the sum that ties to the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc import places
from taxcalc.caution import CAUTION, TITLE
from taxcalc.columns import Entry
from taxcalc.exchange import Conversion
from taxcalc.explain import words
from taxcalc.figures import line_figures
from taxcalc.messages import refuse
from taxcalc.money import CURRENCIES, write_amount
from taxcalc.reasons import REASONS
from taxcalc.regime import DUTIES
from taxcalc.sums import SHIFT

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.charges import Bucket
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints

MEASURES: Final = (
    "sales",
    "to_collect_low",
    "to_collect",
    "to_collect_high",
    "collected",
    "collected_without_duty",
    "fulfiller_tax_low",
    "fulfiller_tax",
    "fulfiller_tax_high",
    "fulfiller_tax_charged",
)
"""Measures that are plain sums of lines, each line turned into the reporting currency and rounded before it is added."""
ENDS: Final = (("low", "_low"), ("expected", ""), ("high", "_high"))


def explain_place(assessment: Assessment, code: str) -> dict[str, Any]:
    """List the lines that make up a place's figures in the period of the assessment, and tie their sum to the record.

    Result: JSON-able, amounts with the caution; `fault` where a sum differs from the record's. Raises E206 for a place that
    no line of the period is taxed in.
    """
    place = places.index(code)
    parts = [_of_bucket(assessment, number, place) for number in assessment.run.buckets]
    lines = [line for part, _ in parts for line in part]
    if not lines:
        raise refuse("E206", value=words.place(place), seen=_seen(assessment))
    sums = {name: sum(one[name] for _, one in parts) for name in MEASURES}
    record = _of_record(assessment, place)
    faults = [name for name in MEASURES if sums[name] != record[name]]
    currency = assessment.currency
    first, last = assessment.run.period
    return {
        "title": TITLE,
        "place": code,
        "name": places.name(code),
        "period": {"from": first.isoformat(), "to": last.isoformat()},
        "currency": currency,
        "as_of": assessment.run.as_of.isoformat(),
        "tables": {"version": assessment.run.facts.tables.version},
        "lines": sorted(
            lines, key=lambda one: (one["tax_point"], one["order_id"], one["line_id"] or "", one["from_file"])
        ),
        "sum": _written(sums, currency),
        "record": _written(record, currency),
        "check": {
            "agrees": not faults,
            "differences": faults,
            "words": "The lines add up to the record." if not faults else FAULT,
        },
        "caution": CAUTION,
    }


FAULT: Final = (
    "A fault of this program: the lines do not add up to the record. Rely on neither, and report it."
)


def _seen(assessment: Assessment) -> str:
    """Name the places of the period."""
    slots = assessment.sums.keys
    inside = np.unique(slots[slots % 2 == 1] // SHIFT).tolist()
    return ", ".join(sorted(places.code(place) for place in inside)) or "none"


def _of_record(assessment: Assessment, place: int) -> dict[str, int]:
    """Add up what the run summed for the place inside the period."""
    keys = assessment.sums.keys
    chosen = (keys // SHIFT == place) & (keys % 2 == 1)
    return {name: int(assessment.sums.values[name][chosen].sum()) for name in MEASURES}


def _of_bucket(
    assessment: Assessment, number: int, place: int
) -> tuple[list[dict[str, Any]], dict[str, int]]:
    """List the lines of one bucket, and add them up."""
    run = assessment.run
    bucket = run.bucket(number)
    figures = line_figures(bucket, run.terms, by_order=run.seller.rounding == "order")
    days = bucket.lines["tax_day"]
    here = run.terms.placed.place.take(bucket.case) == place
    at = np.flatnonzero(here & (days >= run.frame.first) & (days <= run.frame.last))
    values = {name: one[at] for name, one in _values(bucket, figures, assessment).items()}
    lines = [
        _line(assessment, bucket, figures, one, values, position) for position, one in enumerate(at.tolist())
    ]
    return lines, {name: int(one.sum()) for name, one in values.items()}


def _values(bucket: Bucket, figures: LineFigures, assessment: Assessment) -> dict[str, Ints]:
    """Give every measure of every line in the reporting currency."""
    lines, goal = bucket.lines, assessment.currency
    mine, theirs = (
        Conversion(lines[name], goal, lines["day"]).of for name in ("currency", "fulfiller_currency")
    )
    sold = ~assessment.run.terms.cases.sample.take(bucket.case)
    values = {
        "sales": mine(np.where(sold, lines["item_amount"] + lines["shipping_amount"], 0)),
        "collected": mine(figures.collected),
        "fulfiller_tax_charged": theirs(figures.fulfiller_tax_charged),
    }
    values["collected_without_duty"] = np.where(figures.due, 0, values["collected"])
    for end, suffix in ENDS:
        values[f"to_collect{suffix}"] = mine(figures.to_collect[end])
        values[f"fulfiller_tax{suffix}"] = theirs(figures.fulfiller_tax[end])
    return values


def _line(
    assessment: Assessment,
    bucket: Bucket,
    figures: LineFigures,
    at: int,
    values: dict[str, npt.NDArray[np.int64]],
    position: int,
) -> dict[str, Any]:
    """Write one line: where it stands, its own amounts, and its figures in the reporting currency."""
    lines, terms = bucket.lines, assessment.run.terms
    currency = CURRENCIES[int(lines["currency"][at])]
    reason = str(terms.collect.reason[bucket.case[at]])
    return {
        "order_id": lines.order_id[at].as_py(),
        "line_id": lines.line_id[at].as_py() or None,
        "from_file": f"{assessment.run.intake.files[int(lines['file'][at])].name}, row {int(lines['row'][at])}",
        "entry": Entry(int(lines["entry"][at])).name.lower(),
        "tax_point": words.day(int(lines["tax_day"][at])),
        "destination": places.code(int(lines["destination"][at])),
        "duty": DUTIES[int(figures.duty[at])],
        "reason": reason,
        "words": REASONS[reason],
        "line_currency": currency,
        "goods": write_amount(int(lines["item_amount"][at]), currency),
        "shipping": write_amount(int(lines["shipping_amount"][at]), currency),
        "case_id": int(bucket.case[at]),
        **_written({name: int(one[position]) for name, one in values.items()}, assessment.currency),
    }


def _written(values: dict[str, int], currency: str) -> dict[str, Any]:
    """Write measures as decimal texts, with their ends put together."""

    def ends(name: str) -> dict[str, str]:
        low, expected, high = (values[f"{name}{suffix}"] for _, suffix in ENDS)
        rising = (min(low, expected), expected, max(high, expected))
        return {end: write_amount(one, currency) for (end, _), one in zip(ENDS, rising, strict=True)}

    plain = ("sales", "collected", "collected_without_duty", "fulfiller_tax_charged")
    return {
        **{name: write_amount(values[name], currency) for name in plain},
        "to_collect": ends("to_collect"),
        "fulfiller_tax": ends("fulfiller_tax"),
        "caution": CAUTION,
    }
