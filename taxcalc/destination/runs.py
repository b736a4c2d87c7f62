"""Assessments of made-up orders, with the shop's history before them where it is given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from taxcalc import places
from taxcalc.destination import made_up
from taxcalc.destination.made_up import MARK, Line
from taxcalc.destination.waterfall import Waterfall, waterfalls
from taxcalc.errors import Refusal
from taxcalc.messages import refuse
from taxcalc.run import assess

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from taxcalc.assessment import Assessment
    from taxcalc.seller import Seller
    from taxcalc.tables.load import Tables

NO_DUTY_YET: Final = ("below_threshold", "exempt_goods")
"""Answers of `duty` in the United States under which a registration would change what is collected."""

ONCE_BOUND: Final[dict[str, Callable[[Seller, str, date], Seller]]] = {
    "eu_import_without_ioss": lambda seller, place, on: made_up.registered(seller, place, on, "ioss"),
    "eu_under_limit": lambda seller, _place, on: made_up.taxed_at_destination(seller, on),
    "eu_small_business": lambda seller, _place, on: made_up.out_of_small_business(seller, on),
}
"""What a seller in the Union would be, once it had to collect or chose to, by the reason for which it does not now."""


@dataclass(frozen=True)
class Shop:
    """The shop that asks: its profile, the tables, and its order history with the map of its columns."""

    seller: Seller
    tables: Tables
    history: tuple[Path, ...] = ()
    columns: Path | None = None

    def assess(self, lines: list[Line], on: date, seller: Seller | None = None) -> Assessment:
        """Assess the history up to a day, and made-up lines after it; raises E207 where these have no exchange rate."""
        try:
            found = assess(
                [*self.history, *([made_up.orders(lines)] if lines else [])],
                seller or self.seller,
                self.tables,
                self.columns,
                on,
                (on, on),
            )
        except Refusal as refusal:
            if lines and refusal.complaint.id == "E395":
                raise _no_rate(lines) from None
            raise
        aside = found.set_aside
        if ((aside["file"] == made_up.NAME) & (aside["reason"] == "no_rate")).any():
            raise _no_rate(lines)
        return found

    def as_it_is(self, lines: list[Line], on: date) -> list[Waterfall]:
        """Give the waterfall of each line under the profile as it is; lines do not count for each other's limits."""
        found = self.assess(lines, on)
        if len(lines) > 1 and _meets_a_limit(found):
            return [one for line in lines for one in waterfalls(self.assess([line], on), [line])]
        return waterfalls(found, lines)

    def once_bound(self, now: list[Waterfall], on: date) -> list[Waterfall | None]:
        """Give each waterfall again as it would be once the seller had to collect there, None where that changes nothing."""
        found: list[Waterfall | None] = [None] * len(now)
        for wanted, at in _by_profile(now).items():
            seller = _bound(self.seller, wanted, [now[one].line.place for one in at], on)
            bound = waterfalls(
                self.assess([now[one].line for one in at], on, seller), [now[one].line for one in at]
            )
            for one, waterfall in zip(at, bound, strict=True):
                found[one] = waterfall
        return found


def _no_rate(lines: list[Line]) -> Refusal:
    """Say that made-up orders cannot be computed."""
    return refuse("E207", currency=lines[0].order.currency, day=lines[0].on)


def _meets_a_limit(assessment: Assessment) -> bool:
    """Tell whether a made-up order met a limit, so that it changed the answer for those after it."""
    return any(
        i.cause == "threshold" and (i.crossed.order_id.startswith(MARK) or i.start.order_id.startswith(MARK))
        for i in assessment.intervals
    )


def _by_profile(now: list[Waterfall]) -> dict[str, list[int]]:
    """Put positions together that one profile can answer, by what changes in it."""
    found: dict[str, list[int]] = {}
    for at, waterfall in enumerate(now):
        if waterfall.reason in ONCE_BOUND:
            found.setdefault(waterfall.reason, []).append(at)
        elif waterfall.duty in NO_DUTY_YET and places.regimes()[places.index(waterfall.place)] == places.US:
            found.setdefault("registered", []).append(at)
    return found


def _bound(seller: Seller, wanted: str, codes: list[str], on: date) -> Seller:
    """Change the profile, for every place where a registration in each is what changes."""
    if wanted != "registered":
        return ONCE_BOUND[wanted](seller, codes[0], on)
    for code in dict.fromkeys(codes):
        seller = made_up.registered(seller, code, on)
    return seller
