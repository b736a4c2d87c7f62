"""What the fulfiller charged against what it may charge: sums by place, quarter and kind of difference.

Only lines whose charge is in the files are looked at: a blank says nothing, and is not zero. A line fits where its charge
lies in the range from low to high (with a document on file: up to the expected tax), give or take one minor unit. Looked
at are the fulfiller's sales into states of the United States for which the tables hold how it is taxed, and its sales under
the Union's VAT, each at the place whose tax it is.

- `document_on_file`: charged though a document that the state accepts was on file, or VAT on a supply that is exempt by the
  VAT number given or as an export; a refund takes its part back.
- `more`, `less`: charged more than the high end or less than the low end, by so much.
- `not_charged`: nothing charged on a sale although the low end is above nothing (samples: `taxcalc.purchases.own_use`).

The last three leave refunds out, and lines without the fulfiller's price; `more` also leaves out lines without its
shipping charge, which the expected tax then lacks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.columns import Blank, Entry
from taxcalc.days import quarter_number
from taxcalc.eu.recovery import NOT_DUE
from taxcalc.exchange import convert

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.figures import Bucket, LineFigures
    from taxcalc.money import Ints
    from taxcalc.terms import AllTerms

DIFFERENCES = ("document_on_file", "more", "less", "not_charged")
ROUNDING = 1
"""Minor units by which a line may differ from the range, for the fulfiller's way of rounding."""

SLOTS = 2**16
NOT_JUDGED, JUDGED, DOCUMENTED = 0, 1, 2
ON_FILE = ("us_fulfiller_document", *NOT_DUE)


class Compared(NamedTuple):
    """Sums by key, sorted: (place × SLOTS + slot) × 4 + kind; a slot is quarter × 2, plus 1 inside the period reviewed.

    `amounts` minor units of the reporting currency, `lines` counts, both int64.
    """

    keys: Ints
    amounts: Ints
    lines: Ints


NOTHING = Compared(*(np.zeros(0, np.int64) for _ in range(3)))


def judged(terms: AllTerms) -> npt.NDArray[np.int8]:
    """Tell per case whether its charge can be compared, and whether it is one with an accepted document on file."""
    reason = terms.fulfiller.reason
    mine = np.isin(terms.billed_by, (places.US, places.EU)) & (reason != "us_fulfiller_no_rule")
    documented = np.isin(reason, ON_FILE)
    return np.where(documented, DOCUMENTED, np.where(mine, JUDGED, NOT_JUDGED)).astype(np.int8)


def compared(
    bucket: Bucket,
    figures: LineFigures,
    terms: AllTerms,
    judged: npt.NDArray[np.int8],
    currency: str,
    period: tuple[int, int],
) -> Compared:
    """Compare the lines of a bucket; `judged` is what the function of that name says of the cases."""
    lines, charged = bucket.lines, figures.fulfiller_tax_charged
    if not (lines["blanks"] & Blank.FULFILLER_TAX_CHARGED == 0).any():
        return NOTHING
    low = figures.fulfiller_tax["low"]
    documented = (judged == DOCUMENTED).take(bucket.case)
    high = np.where(documented, figures.fulfiller_tax["expected"], figures.fulfiller_tax["high"])
    at = np.flatnonzero((charged > high + ROUNDING) | (charged < low - ROUNDING))
    at = at[
        (lines["blanks"][at] & Blank.FULFILLER_TAX_CHARGED == 0) & (judged[bucket.case[at]] != NOT_JUDGED)
    ]
    kind, amount = _kinds(bucket, at, judged[bucket.case[at]], (low[at], charged[at], high[at]))
    some = np.flatnonzero(kind >= 0)
    at, kind, amount = at[some], kind[some], amount[some]
    if not at.size:
        return NOTHING
    days = lines["tax_day"][at]
    slot = quarter_number(days).astype(np.int64) * 2 + ((days >= period[0]) & (days <= period[1]))
    place = terms.billed_in[bucket.case[at]].astype(np.int64)
    money = convert(amount, lines["fulfiller_currency"][at], currency, lines["day"][at])
    return added(
        Compared((place * SLOTS + slot) * len(DIFFERENCES) + kind, money, np.ones(at.size, np.int64))
    )


def _kinds(
    bucket: Bucket, at: npt.NDArray[np.intp], judged: npt.NDArray[np.int8], ends: tuple[Ints, Ints, Ints]
) -> tuple[npt.NDArray[np.int64], Ints]:
    """Name the difference of each line outside its range (-1: none is named), and its amount in the line's currency."""
    low, charged, high = ends
    blanks = bucket.lines["blanks"][at]
    with_document = judged == DOCUMENTED
    entry = bucket.lines["entry"][at]
    priced = (entry != Entry.REFUND) & ~with_document & (blanks & Blank.FULFILLER_ITEM_COST == 0)
    over = priced & (charged > high) & (blanks & Blank.FULFILLER_SHIPPING_COST == 0)
    under = priced & (charged < low)
    nothing = under & (charged == 0) & (entry != Entry.SAMPLE)
    masks = [with_document, over, under & (charged != 0), nothing]
    kind = np.select(masks, list(range(len(DIFFERENCES))), -1).astype(np.int64)
    amount = np.select(masks, [charged, charged - high, low - charged, low], 0)
    return kind, amount


def added(parts: Compared) -> Compared:
    """Add up entries of the same key."""
    keys, position = np.unique(parts.keys, return_inverse=True)
    sums = [np.zeros(keys.size, np.int64) for _ in range(2)]
    for total, values in zip(sums, (parts.amounts, parts.lines), strict=True):
        np.add.at(total, position.reshape(-1), values)
    return Compared(keys, *sums)


def all_compared(parts: list[Compared]) -> Compared:
    """Put the sums of all buckets together."""
    return added(Compared(*(np.concatenate(columns) for columns in zip(*parts, strict=True))))


class Difference(NamedTuple):
    """One sum: a place code, a quarter number, whether it is in the period, the kind, minor units and lines."""

    place: int
    quarter: int
    inside: bool
    kind: str
    amount: int
    lines: int


def differences(sums: Compared) -> list[Difference]:
    """Write the sums out, by place, quarter and kind."""
    rows = zip(sums.keys.tolist(), sums.amounts.tolist(), sums.lines.tolist(), strict=True)
    return [
        Difference(
            key // len(DIFFERENCES) // SLOTS,
            key // len(DIFFERENCES) % SLOTS // 2,
            bool(key // len(DIFFERENCES) % 2),
            DIFFERENCES[key % len(DIFFERENCES)],
            amount,
            lines,
        )
        for key, amount, lines in rows
    ]
