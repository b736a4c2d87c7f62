"""What the seller states in its profile, in short sentences without numbers of registrations: for a record to remember."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from taxcalc.seller import Seller


def statements(seller: Seller) -> list[str]:
    """List every statement, sorted; two profiles that say the same give the same list."""
    return sorted(_statements(seller))


def _statements(seller: Seller) -> Iterator[str]:
    """Write each part of the profile."""
    home = seller.region or seller.country
    yield f"home {home}, established in {', '.join(seller.established_in)}{_since(seller.established_on)}"
    yield f"figures in {seller.reporting_currency}, rounded once a {seller.rounding}"
    included = (
        "everywhere but US and CA (default)"
        if seller.prices_include_tax is None
        else ", ".join(seller.prices_include_tax) or "nowhere"
    )
    yield f"prices include tax: {included}"
    yield f"a customer {'can' if seller.pickup_offered else 'cannot'} avoid the shipping charge"
    for r in seller.registrations:
        where = f" identified in {r.identified_in}" if r.identified_in else ""
        yield f"registration {r.place} {r.scheme}{where}{_span(r.from_day, r.until_day)}"
    for p in seller.presences:
        yield f"presence {p.place} {p.kind}{_span(p.from_day, p.until_day)}"
    for c in seller.certificates:
        issuer = f" with a number of {c.number_of}" if c.number_of else ""
        yield f"document {c.place} {c.form}{issuer} for {c.fulfiller}{_span(c.from_day, c.until_day)}"
    for f in seller.fulfillers:
        collects = (
            f.collects_in
            if isinstance(f.collects_in, str)
            else ", ".join(f"{c.place}{_span(c.from_day, c.until_day)}" for c in f.collects_in) or "nowhere"
        )
        yield (
            f"fulfiller {f.id}: sends from {', '.join(f.ship_from) or 'not said'}; collects in {collects}; transport arranged by "
            f"{f.transport_arranged_by}, part of the {f.transport_supply} supply; importer {f.importer}"
        )
    for m in seller.remitted:
        yield f"paid over {m.place}{_span(m.from_day, m.until_day)}: {m.amount}"
    for s in seller.prior_sales:
        yield f"sales before the files {s.place}{_span(s.from_day, s.until_day)}: {s.amount}, {s.transactions} orders"
    for e in seller.elections:
        yield f"election {e.name} {e.place or ''}{_span(e.from_day, e.until_day)}"


def _span(first: date, last: date | None) -> str:
    """Write from when until when."""
    return f" from {first}" + (f" until {last}" if last else "")


def _since(day: date | None) -> str:
    """Write a first day that may be missing."""
    return f" since {day}" if day else ""
