"""What an assumption is worth: the review computed again with the other choice, on the same lines, nothing else changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Literal

from taxcalc.passes import Run

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.assessment import Assessment
    from taxcalc.seller import Seller


@dataclass(frozen=True)
class Effect:
    """One assumption, the other choice, and by how much expected amounts would change (reporting currency)."""

    assumed: str
    other: str
    decides: str
    to_collect: Decimal
    since_duty: Decimal
    fulfiller_tax: Decimal


def effects(assessment: Assessment, record: dict[str, Any]) -> list[Effect]:
    """Compute every other choice that the profile leaves open or has made; each takes about as long as the review itself."""
    ours = _sums(record)
    found = []
    for assumed, other, decides, seller in _choices(assessment.run.seller):
        theirs = _sums(_again(assessment, seller).record())
        found.append(
            Effect(assumed, other, decides, *(one - our for one, our in zip(theirs, ours, strict=True)))
        )
    return found


def _again(assessment: Assessment, seller: Seller) -> Assessment:
    """Assess the lines that are read already under another profile."""
    run = assessment.run
    return Run(run.intake, run.facts.tables, seller, run.as_of, run.period, lambda _: None).assessment()


def _sums(record: dict[str, Any]) -> tuple[Decimal, Decimal, Decimal]:
    """Take the three totals that are compared."""
    totals = record["totals"]
    since = totals["since_duty"]["shortfall"]["expected"] if totals["since_duty"] else "0"
    return (
        Decimal(totals["to_collect"]["expected"]),
        Decimal(since),
        Decimal(totals["fulfiller_tax"]["expected"]),
    )


def _choices(seller: Seller) -> Iterator[tuple[str, str, str, Seller]]:
    """List what is assumed or chosen, with the other choice."""
    for one in seller.fulfillers:
        named = f"Fulfiller {one.id}"
        others = tuple(each for each in seller.fulfillers if each is not one)
        for supply in ("first", "second") if one.transport_supply == "unset" else ():
            words = "the fulfiller's sale to you" if supply == "first" else "your sale to the customer"
            changed = (*others, replace(one, transport_supply=supply))
            yield (
                f"{named}: to which sale the transport belongs is open",
                f"it belongs to {words}",
                "contract and a professional",
                replace(seller, fulfillers=changed),
            )
        if one.collects_in == "unknown":
            choices: tuple[tuple[Literal["all"] | tuple[()], str], ...] = (
                ("all", "it collects everywhere"),
                ((), "it collects nowhere"),
            )
            for wide, words in choices:
                changed = (*others, replace(one, collects_in=wide))
                yield (
                    f"{named}: where it collects is not known",
                    words,
                    "the fulfiller",
                    replace(seller, fulfillers=changed),
                )
    other = "order" if seller.rounding == "line" else "line"
    yield (
        f"Tax is rounded once a {seller.rounding}",
        f"rounded once an {other}" if other == "order" else "rounded once a line",
        "you",
        replace(seller, rounding=other),
    )
    for election in seller.elections:
        left = tuple(each for each in seller.elections if each is not election)
        where = f" in {election.place}" if election.place else ""
        yield (f"Election {election.name}{where}", "not chosen", "you", replace(seller, elections=left))
    for one_registration in seller.registrations:
        if one_registration.scheme == "small_business":
            left_regs = tuple(each for each in seller.registrations if each is not one_registration)
            yield (
                "Small-business scheme",
                "not used",
                "you and a professional",
                replace(seller, registrations=left_regs),
            )
    yield (
        "A customer cannot avoid the shipping charge"
        if not seller.pickup_offered
        else "A customer can pick goods up",
        "it can" if not seller.pickup_offered else "it cannot",
        "you",
        replace(seller, pickup_offered=not seller.pickup_offered),
    )
