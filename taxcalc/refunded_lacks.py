"""What a refund takes back of the tax that its sale lacks, or had too much, where quarters are floored at nothing.

A return takes a refund off in the quarter of the refund, and so do all sums. But a quarter with too much collected pays for
no other, and a refund is no such excess: a sale that was given back lacks nothing any more. So where a quarter comes out
below nothing by refunds of earlier sales, that part lowers what the quarters of those sales lack, the latest first. Tax
that was too much and is given back later is, likewise, no lack of the later quarter.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from taxcalc.orders import refunded_part

if TYPE_CHECKING:
    import numpy.typing as npt

    from taxcalc.money import Ints
    from taxcalc.orders import Refunds
    from taxcalc.spool import Lines

LACKS: Final = ("shortfall_low", "shortfall", "shortfall_high", "shortfall_unserved")
"""The measures that are floored at nothing by place and quarter."""

TAKEN, TAKEN_FROM = "_taken", "_taken_from"
FLOWS: Final = tuple(f"{name}{word}" for name in LACKS for word in (TAKEN, TAKEN_FROM))


def sale_days(refunds: Refunds, lines: Lines) -> npt.NDArray[np.int32]:
    """Give the tax point of the sale of each matched refund (day numbers); of several lines the last one."""
    last = np.full(refunds.groups, np.iinfo(np.int32).min, np.int32)
    np.maximum.at(last, refunds.sale_group, lines["tax_day"][refunds.sales])
    return last[refunds.group]


def flows(
    values: dict[str, Ints],
    refunds: Refunds,
    lines: Lines,
    slots: tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]],
    size: int,
) -> dict[str, Ints]:
    """Add up, by slot, what refunds take back (`TAKEN`), and by the slot of their sales the same (`TAKEN_FROM`).

    `values` are the measures by line in minor units of one currency; `slots` are, for each matched refund, the slot of its
    sale and its own. What a refund of the very slot of its sale takes back is in neither.
    """
    sold = np.abs(lines["item_amount"]) + np.abs(lines["shipping_amount"])
    of_sale, own = slots
    moves = of_sale != own
    found = {f"{name}{word}": np.zeros(size, np.int64) for name in LACKS for word in (TAKEN, TAKEN_FROM)}
    if not moves.any():
        return found
    for name in LACKS:
        lack = refunded_part(refunds, lines, np.maximum(values[name], 0), sold, sold)
        excess = refunded_part(refunds, lines, np.minimum(values[name], 0), sold, sold)
        given_back = values[name][refunds.lines]
        taken = np.maximum(lack, np.minimum(given_back, 0)) + np.minimum(excess, np.maximum(given_back, 0))
        np.add.at(found[f"{name}{TAKEN}"], own[moves], taken[moves])
        np.add.at(found[f"{name}{TAKEN_FROM}"], of_sale[moves], taken[moves])
    return found


def settled(place: Ints, values: dict[str, Ints]) -> dict[str, Ints]:
    """Give the lacks of slots (sorted by place and time) with what later refunds took back of them.

    A loop over the few places and quarters that come out the wrong way round by refunds.
    """
    found = {}
    for name in LACKS:
        lack, taken, room = (
            values[name].copy(),
            values[f"{name}{TAKEN}"],
            values[f"{name}{TAKEN_FROM}"].copy(),
        )
        for at in np.flatnonzero(np.sign(lack) * np.sign(taken) > 0).tolist():
            sign = int(np.sign(lack[at]))
            left = min(sign * int(lack[at]), sign * int(taken[at]))
            first = int(np.searchsorted(place, place[at]))
            for earlier in range(at - 1, first - 1, -1):
                part = max(min(left, -sign * int(lack[earlier]), sign * int(room[earlier])), 0)
                lack[earlier] += sign * part
                room[earlier] -= sign * part
                lack[at] -= sign * part
                left -= part
        found[name] = lack
    return found
