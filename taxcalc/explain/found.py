"""One order taken out of an assessment: its lines, whole, with everything that the engine knows of them."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from taxcalc.arrow import positions_of
from taxcalc.cases import Settled
from taxcalc.charges import Bucket
from taxcalc.figures import line_figures
from taxcalc.orders import match_refunds

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.assessment import Assessment
    from taxcalc.figures import LineFigures
    from taxcalc.spool import Lines

NEAREST: Final = 3
AROUND: Final = 200
"""Order numbers on either side, in the order of the alphabet, among which the nearest are looked for."""


@dataclass(frozen=True)
class Found:
    """An order: its lines as a bucket of their own, and the figures that the record adds up for them.

    `bucket` holds the lines of this order alone (all numbers inside it are its own), `figures` are those that the run
    computed for these lines among all others, `shown` is the order in which a person reads them (positions).
    """

    bucket: Bucket
    figures: LineFigures
    shown: tuple[int, ...]

    @property
    def size(self) -> int:
        """Number of lines."""
        return self.bucket.lines.size


def find_order(assessment: Assessment, order_id: str) -> Found | None:
    """Find the used lines of an order; None where there are none (unknown, or all set aside)."""
    run = assessment.run
    for number in run.buckets:
        if not positions_of(run.intake.spool.read(number).order_id, [order_id]).size:
            continue
        bucket = run.bucket(number)
        at = np.sort(positions_of(bucket.lines.order_id, [order_id]))
        if at.size:
            whole = line_figures(bucket, run.terms, by_order=run.seller.rounding == "order")
            alone = taken(bucket, at)
            return Found(alone, _figures_of(whole, at), _as_read(alone.lines))
    return None


def taken(bucket: Bucket, at: npt.NDArray[np.intp]) -> Bucket:
    """Give some whole orders of a bucket as a bucket of their own."""
    lines = bucket.lines.take(at)
    settled = _settled(bucket.settled, at)
    order, parcel = (
        np.unique(numbers[at], return_inverse=True)[1].reshape(-1).astype(np.int32)
        for numbers in (bucket.order, bucket.parcel)
    )
    return Bucket(lines, settled, order, parcel, match_refunds(lines, order), bucket.case[at])


def _settled(settled: Settled, at: npt.NDArray[np.intp]) -> Settled:
    """Take the answers of the profile for some lines."""
    whole = {one.name: getattr(settled, one.name) for one in fields(Settled)}
    part: dict[str, Any] = {
        name: one[at] if isinstance(one, np.ndarray) else one for name, one in whole.items()
    }
    return Settled(**part)


def _figures_of(whole: LineFigures, at: npt.NDArray[np.intp]) -> LineFigures:
    """Take the figures of some lines."""

    def part(value: Any) -> Any:  # noqa: ANN401 - an array, or the three ends of one
        return {end: one[at] for end, one in value.items()} if isinstance(value, dict) else value[at]

    changed: dict[str, Any] = {f.name: part(getattr(whole, f.name)) for f in fields(whole)}
    return replace(whole, **changed)


def _as_read(lines: Lines) -> tuple[int, ...]:
    """Put lines in the order in which they happened, as they stand in the files."""
    ids = lines.line_id.to_pylist()
    keys = [
        (int(lines["day"][at]), int(lines["entry"][at]), len(ids[at]), ids[at], int(lines["row"][at]))
        for at in range(lines.size)
    ]
    return tuple(sorted(range(lines.size), key=keys.__getitem__))


def order_ids(assessment: Assessment) -> list[str]:
    """List the numbers of all orders of which a line was read, in the order of the alphabet."""
    spool, found = assessment.run.intake.spool, set[str]()
    for bucket in assessment.run.buckets:
        found.update(spool.read(bucket).order_id.unique().to_pylist())
    return sorted(found)


def nearest(order_id: str, known: list[str]) -> list[str]:
    """Give the known order numbers that are most like one that is not among them, the most like first."""
    plain = order_id.strip().casefold()
    alike = [one for one in known if one.casefold() == plain]
    within = [one for one in known if plain and plain in one.casefold()][:AROUND]
    at = next((n for n, one in enumerate(known) if one >= order_id), len(known))
    close = known[max(0, at - AROUND) : at + AROUND]
    same_end = [one for one in known if plain[-4:] and one.casefold().endswith(plain[-4:])][:AROUND]
    like = [
        one
        for pool in (within, list(dict.fromkeys([*same_end, *close])))
        for one in difflib.get_close_matches(order_id, pool, NEAREST, 0)
    ]
    return list(dict.fromkeys([*alike, *like]))[:NEAREST]
