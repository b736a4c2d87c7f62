"""What an assumption is worth: the review computed again with the other choice, on the same lines, nothing else changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from taxcalc.passes import Run
from taxcalc.seller import Fulfiller, Seller

if TYPE_CHECKING:
    from collections.abc import Iterator

    from taxcalc.assessment import Assessment
    from taxcalc.facts import Facts


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
    for assumed, other, decides, seller in _choices(assessment.run.seller, assessment.run.facts):
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


Choice = tuple[str, str, str, Seller]
"""What is assumed, the other choice, who decides, and the profile with the other choice."""


def _choices(seller: Seller, facts: Facts) -> Iterator[Choice]:
    """List what is assumed or chosen, with the other choice."""
    for one in seller.fulfillers:
        yield from _of_fulfillers(f"Fulfiller {one.id}", [one], seller)
    named = {one.id for one in seller.fulfillers}
    unnamed = [facts.fulfiller(code) for code, name in enumerate(facts.fulfillers) if name not in named]
    if unnamed:
        words = ", ".join(sorted(one.id for one in unnamed))
        yield from _of_fulfillers(f"Fulfillers that the profile does not name ({words})", unnamed, seller)
    yield from _of_registrations(seller)
    other = "order" if seller.rounding == "line" else "line"
    yield (
        *(
            f"Tax is rounded once a {seller.rounding}",
            f"rounded once {'an' if other == 'order' else 'a'} {other}",
        ),
        *("you", replace(seller, rounding=other)),
    )
    assumed, otherwise = "A customer cannot avoid the shipping charge", "it can"
    if seller.pickup_offered:
        assumed, otherwise = "A customer can pick goods up", "it cannot"
    yield assumed, otherwise, "you", replace(seller, pickup_offered=not seller.pickup_offered)


def _of_fulfillers(named: str, alike: list[Fulfiller], seller: Seller) -> Iterator[Choice]:
    """List what is open of fulfillers that are alike."""
    others = tuple(one for one in seller.fulfillers if one not in alike)

    def changed(**open_no_more: Any) -> Seller:  # noqa: ANN401 - fields of a fulfiller
        return replace(seller, fulfillers=(*others, *(replace(one, **open_no_more) for one in alike)))

    if alike[0].transport_supply == "unset":
        assumed = f"{named}: to which sale the transport belongs is open"
        for supply, words in (
            ("first", "the fulfiller's sale to you"),
            ("second", "your sale to the customer"),
        ):
            decides = "contract and a professional"
            yield assumed, f"it belongs to {words}", decides, changed(transport_supply=supply)
    if alike[0].collects_in == "unknown":
        assumed = f"{named}: where it collects is not known"
        yield assumed, "it collects everywhere", "the fulfiller", changed(collects_in="all")
        yield assumed, "it collects nowhere", "the fulfiller", changed(collects_in=())


def _of_registrations(seller: Seller) -> Iterator[Choice]:
    """List elections, and the small-business scheme, without which things would be otherwise."""
    for election in seller.elections:
        left = tuple(each for each in seller.elections if each is not election)
        where = f" in {election.place}" if election.place else ""
        yield f"Election {election.name}{where}", "not chosen", "you", replace(seller, elections=left)
    for one in seller.registrations:
        if one.scheme == "small_business":
            kept = tuple(each for each in seller.registrations if each is not one)
            without = replace(seller, registrations=kept)
            yield f"Small-business scheme in {one.place}", "not used", "you and a professional", without
