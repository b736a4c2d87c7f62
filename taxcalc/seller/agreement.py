"""What the tables of the profile have to agree on, and what is assumed where they are silent."""

from __future__ import annotations

from datetime import date
from itertools import combinations
from typing import TYPE_CHECKING

from taxcalc.seller.profile import (
    Certificate,
    Fulfiller,
    PriorSales,
    Registration,
    Remitted,
    unknown_fulfiller,
)

if TYPE_CHECKING:
    from taxcalc.seller.section import Faults, Section

WATCH, NEAR = 50, 80


def with_main(fulfillers: tuple[Fulfiller, ...], assumed: list[str]) -> tuple[Fulfiller, ...]:
    """Add the fulfiller `main`, which orders without a fulfiller name, unless the profile describes it."""
    for one in fulfillers:
        assumed.extend(_silent(one))
    if any(one.id == "main" for one in fulfillers):
        return fulfillers
    others = "No [[fulfiller]] table: one" if not fulfillers else "No [[fulfiller]] with id `main`: one more"
    assumed.append(
        f"{others} fulfiller `main`; where it ships from and in which states it collects tax is unknown."
    )
    return (*fulfillers, unknown_fulfiller("main"))


def _silent(one: Fulfiller) -> list[str]:
    sentences = []
    if not one.ship_from:
        sentences.append(
            f"Fulfiller `{one.id}`: where it ships from is unknown unless an order line says so."
        )
    if one.collects_in == "unknown":
        sentences.append(
            f"Fulfiller `{one.id}`: in which states it collects tax is unknown, so ranges are shown."
        )
    if one.transport_supply == "unset":
        sentences.append(
            f"Fulfiller `{one.id}`: which of the two supplies the transport belongs to is not set, so "
            "both outcomes are looked at and the adverse one is expected.",
        )
    return sentences


def status(sections: list[Section], faults: Faults, assumed: list[str]) -> tuple[int, int]:
    """Give the two shares of a threshold, percent, from which a place is watched and counts as near."""
    if not sections:
        assumed.append(f"No [status] table: thresholds are watched from {WATCH} % and near from {NEAR} %.")
        return WATCH, NEAR
    watch, near = sections[0].whole("watch", WATCH), sections[0].whole("near", NEAR)
    if watch is None or near is None or not 0 < watch < near <= 100:  # noqa: PLR2004 - percent
        faults.note("E514", ("status", 1, "watch"), watch=watch, near=near, value=str(watch))
    return watch or WATCH, near or NEAR


def check(
    registrations: tuple[Registration, ...],
    fulfillers: tuple[Fulfiller, ...],
    certificates: tuple[Certificate, ...],
    faults: Faults,
) -> None:
    """Note overlapping registrations, fulfillers of one id, and certificates for an unknown fulfiller."""
    for (n, one), (m, other) in combinations(enumerate(registrations, 1), 2):
        if (one.place, one.scheme) == (other.place, other.scheme) and _overlap(one, other):
            faults.note("E510", ("registration", m, "from"), value=other.place, scheme=other.scheme, other=n)
    ids = [one.id for one in fulfillers]
    for number, name in enumerate(ids, 1):
        if name in ids[: number - 1]:
            faults.note(
                "E515",
                ("fulfiller", number, "id"),
                value=name,
                instead="Give each its own id.",
                detail=f'two fulfillers have the id "{name}"',
            )
    for number, paper in enumerate(certificates, 1):
        if paper.fulfiller not in ids:
            faults.note(
                "E512", ("certificate", number, "fulfiller"), value=paper.fulfiller, allowed=", ".join(ids)
            )


def _overlap(one: Registration, other: Registration) -> bool:
    return one.from_day <= (other.until_day or date.max) and other.from_day <= (one.until_day or date.max)


def assume(
    registrations: tuple[Registration, ...],
    certificates: tuple[Certificate, ...],
    remitted: tuple[Remitted, ...],
    prior: tuple[PriorSales, ...],
    assumed: list[str],
) -> None:
    """Say what the absence of whole tables means."""
    if not registrations:
        assumed.append("No [[registration]] table: the shop is registered to collect nowhere.")
    if not certificates:
        assumed.append(
            "No [[certificate]] table: no fulfiller holds a resale certificate or VAT number of the shop."
        )
    if not remitted:
        assumed.append("No [[remitted]] table: nothing shows that tax collected was paid over.")
    if not prior:
        assumed.append(
            "No [[prior_sales]] table: sales before the order file are unknown; thresholds are lower bounds."
        )
    assumed.extend(
        f"Certificate no. {number} ({paper.place}): who issued its number is unknown, so ranges are shown."
        for number, paper in enumerate(certificates, 1)
        if paper.number_of is None and paper.form != "vat_number"
    )
