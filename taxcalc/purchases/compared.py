"""What the fulfiller charged against what it may charge: sums by place, quarter and kind of difference.

Only lines whose charge is in the files are looked at: a blank says nothing, and is not zero. A sale fits where its charge
lies in the range from low to high (with a document on file: up to the expected tax), give or take one minor unit for
rounding. Looked at are the fulfiller's sales into states of the United States for which the tables hold how it is taxed,
and its sales under the Union's VAT, each at the place whose tax it is.

- `document_on_file`: charged though a document that the state accepts was on file, or VAT on a supply that is exempt by the
  VAT number given or as an export.
- `credit_short`: the fulfiller gave back a price, but less of the tax it had charged than belongs to it.
- `more`, `less`: charged more than the high end or less than the low end, by so much.
- `not_charged`: nothing charged on a sale although the low end is above nothing (samples: `taxcalc.purchases.own_use`).
- `credit_unsaid`: as `credit_short`, but the credit stands in the files without its tax.

What the fulfiller gave back of a sale takes its part off the sale's difference, in the quarter of the sale
(`taxcalc.purchases.credits`). A refund to the customer alone does not. Credits of sales that are not in the files are not
compared, nor are sales without the fulfiller's price; `more` also leaves out lines without its shipping charge, which the
expected tax then lacks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from taxcalc import places
from taxcalc.columns import Blank, Entry
from taxcalc.days import quarter_number
from taxcalc.eu.recovery import NOT_DUE
from taxcalc.exchange import convert
from taxcalc.purchases.credits import price_back, shared_out, tax_back

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.charges import Bucket
    from taxcalc.figures import LineFigures
    from taxcalc.money import Ints
    from taxcalc.orders import Refunds
    from taxcalc.terms import AllTerms

    Index = npt.NDArray[np.intp]

DIFFERENCES = ("document_on_file", "credit_short", "more", "less", "not_charged", "credit_unsaid")
DOCUMENT, CREDIT_SHORT, MORE, LESS, NOTHING_CHARGED, CREDIT_UNSAID = range(len(DIFFERENCES))
ROUNDING = 1
"""Minor units by which a line may differ from the range, for the fulfiller's way of rounding."""

SLOTS = 2**16
NOT_JUDGED, JUDGED, DOCUMENTED = 0, 1, 2
ON_FILE = ("us_fulfiller_document", *NOT_DUE)


class Compared(NamedTuple):
    """Sums by key, sorted: (place × SLOTS + slot) × kinds + kind; a slot is quarter × 2, plus 1 inside the period reviewed.

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
    if not (bucket.lines["blanks"] & Blank.FULFILLER_TAX_CHARGED == 0).any():
        return NOTHING
    at, kind, amount = _outside(bucket, figures, judged)
    if bucket.refunds.lines.size:
        at, kind, amount = _after_credits(bucket, judged, (at, kind, amount))
    if not at.size:
        return NOTHING
    lines = bucket.lines
    days = lines["tax_day"][at]
    slot = quarter_number(days).astype(np.int64) * 2 + ((days >= period[0]) & (days <= period[1]))
    place = terms.billed_in[bucket.case[at]].astype(np.int64)
    money = convert(amount, lines["fulfiller_currency"][at], currency, lines["day"][at])
    return added(
        Compared((place * SLOTS + slot) * len(DIFFERENCES) + kind, money, np.ones(at.size, np.int64))
    )


def _outside(bucket: Bucket, figures: LineFigures, judged: npt.NDArray[np.int8]) -> tuple[Index, Ints, Ints]:
    """Find the sales and samples whose charge lies outside its range: lines, kinds, and by how much."""
    lines, charged = bucket.lines, figures.fulfiller_tax_charged
    low, documented = figures.fulfiller_tax["low"], (judged == DOCUMENTED).take(bucket.case)
    high = np.where(documented, figures.fulfiller_tax["expected"], figures.fulfiller_tax["high"])
    at = np.flatnonzero((charged > high + ROUNDING) | (charged < low - ROUNDING))
    told = lines["blanks"][at] & Blank.FULFILLER_TAX_CHARGED == 0
    at = at[told & (judged[bucket.case[at]] != NOT_JUDGED) & (lines["entry"][at] != Entry.REFUND)]
    kind, amount = _kinds(bucket, at, judged[bucket.case[at]], (low[at], charged[at], high[at]))
    some = np.flatnonzero(kind >= 0)
    return at[some], kind[some], amount[some]


def _kinds(
    bucket: Bucket, at: Index, judged: npt.NDArray[np.int8], ends: tuple[Ints, Ints, Ints]
) -> tuple[npt.NDArray[np.int64], Ints]:
    """Name the difference of each line outside its range (-1: none is named), and its amount in the line's currency."""
    low, charged, high = ends
    blanks = bucket.lines["blanks"][at]
    with_document = judged == DOCUMENTED
    priced = ~with_document & (blanks & Blank.FULFILLER_ITEM_COST == 0)
    over = priced & (charged > high) & (blanks & Blank.FULFILLER_SHIPPING_COST == 0)
    under = priced & (charged < low)
    nothing = under & (charged == 0) & (bucket.lines["entry"][at] != Entry.SAMPLE)
    masks = [with_document, over, under & (charged != 0), nothing]
    kind = np.select(masks, [DOCUMENT, MORE, LESS, NOTHING_CHARGED], -1).astype(np.int64)
    amount = np.select(masks, [charged, charged - high, low - charged, low], 0)
    return kind, amount


def _after_credits(
    bucket: Bucket, judged: npt.NDArray[np.int8], found: tuple[Index, Ints, Ints]
) -> tuple[Index, Ints, Ints]:
    """Take what came back off the differences of its sale, and add credits that gave back too little tax."""
    at, kind, amount = found
    lines, refunds = bucket.lines, bucket.refunds
    price = price_back(lines, refunds)
    tax = tax_back(bucket, price, judged[bucket.case] == DOCUMENTED)
    group_of = np.full(lines.size, -1, np.int32)
    group_of[refunds.sales] = refunds.sale_group
    group = group_of[at]
    by_price = np.flatnonzero((group >= 0) & (kind != DOCUMENT))
    amount[by_price] -= price.part(amount[by_price], group[by_price])
    by_tax = np.flatnonzero((group >= 0) & ((kind == DOCUMENT) | (kind == MORE)))
    amount[by_tax] -= shared_out(amount[by_tax], group[by_tax], tax.over)
    left = np.flatnonzero(amount > 0)
    parts = [(at[left], kind[left], amount[left])]
    last = _last_credits(bucket, refunds)
    forgiven = np.bincount(refunds.group, minlength=refunds.groups) * ROUNDING
    for name, short in ((CREDIT_SHORT, tax.missing), (CREDIT_UNSAID, tax.unsaid)):
        some = np.flatnonzero((short > forgiven) & (judged[bucket.case[last]] == JUDGED))
        parts.append((last[some], np.full(some.size, name, np.int64), short[some]))
    at, kind, amount = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    return at, kind, amount


def _last_credits(bucket: Bucket, refunds: Refunds) -> Index:
    """Give the last refund line of each group, on whose day the whole credit can be judged."""
    last = np.zeros(refunds.groups, np.intp)
    rank = np.argsort(bucket.lines["day"][refunds.lines], kind="stable")
    last[refunds.group[rank]] = refunds.lines[rank]
    return last


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
