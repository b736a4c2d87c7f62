"""From the repeated tables of the profile ([[registration]], [[certificate]]...) to their dataclasses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from taxcalc.seller.numbers import number_fits
from taxcalc.seller.profile import (
    Certificate,
    Collecting,
    Election,
    Fulfiller,
    Presence,
    PriorSales,
    Registration,
    Remitted,
)
from taxcalc.seller.section import STAND_IN_DAY, Section

if TYPE_CHECKING:
    from taxcalc.seller.known_places import Kind

SCHEMES: Final = ("standard", "union_oss", "non_union_oss", "ioss", "small_business")
EU_SCHEMES: Final = ("union_oss", "non_union_oss", "ioss")
PRESENCE_KINDS: Final = ("staff", "premises", "event", "stock")
FORMS: Final = ("state", "multijurisdiction", "streamlined", "vat_number")
ELECTIONS: Final = ("eu_tax_at_destination", "flat_rate")
_PARTIES: Final = ("customer", "seller", "fulfiller")

_REGISTER: Final[tuple[Kind, ...]] = ("state", "member_state", "union", "country", "territory")
_GROUND: Final[tuple[Kind, ...]] = ("state", "member_state", "country", "territory")
_REGISTER_WORDS: Final = 'a US state, a country or "EU" (the United States register state by state)'
_GROUND_WORDS: Final = "a US state or a country (for the United States name the state)"


def registration(section: Section) -> Registration:
    """Read one [[registration]]."""
    section.require("place", "from")
    place = section.place("place", _REGISTER, _REGISTER_WORDS) or ""
    scheme = section.choice("scheme", SCHEMES, "standard")
    member = section.place("identified_in", ("member_state",), "a member state of the European Union")
    if scheme in EU_SCHEMES and place and place not in {"EU", member}:
        section.note(
            "E515",
            "place",
            value=place,
            detail=f'"{place}" cannot be the place of scheme "{scheme}"',
            instead='Write place = "EU", and in identified_in the member state that registered you.',
        )
    if scheme == "union_oss" and not section.has("identified_in"):
        section.require("identified_in")
    if place == "EU" and scheme == "standard":
        section.note(
            "E515",
            "place",
            value=place,
            detail="there is no standard registration for the whole Union",
            instead='Name the member state, or write scheme = "union_oss".',
        )
    if place.startswith("US-") and scheme == "small_business":
        section.note(
            "E515",
            "scheme",
            value=scheme,
            detail="no US state has a small-business scheme",
            instead='Write scheme = "standard".',
        )
    number = _number(section, member if scheme in EU_SCHEMES else place, scheme)
    return Registration("EU" if scheme in EU_SCHEMES else place, scheme, member, number, *section.span())


def _number(section: Section, issuer: str | None, scheme: str = "standard") -> str | None:
    number = section.text("number")
    if number and issuer and not number_fits(number, issuer, scheme):
        section.note(
            "E511", "number", value=number, issuer=issuer if scheme == "standard" else f"{issuer} ({scheme})"
        )
    return number


def presence(section: Section) -> Presence:
    """Read one [[presence]]."""
    section.require("place", "kind", "from")
    place = section.place("place", _GROUND, _GROUND_WORDS) or ""
    return Presence(place, section.choice("kind", PRESENCE_KINDS, ""), *section.span())


def certificate(section: Section) -> Certificate:
    """Read one [[certificate]]."""
    section.require("place", "form", "from")
    place = (
        section.place(
            "place", (*_REGISTER, "us"), 'a US state, "US" for a multi-state form, a country or "EU"'
        )
        or ""
    )
    form = section.choice("form", FORMS, "")
    issuer = section.place("number_of", (*_GROUND, "us"), "the US state or country that issued the number")
    if place and form and (form == "vat_number") == (place == "US" or place.startswith("US-")):
        section.note(
            "E515",
            "form",
            value=form,
            detail=f'the form "{form}" does not work in {place}',
            instead='A VAT number works in "EU" or a country, the other forms in US states.',
        )
    number = _number(section, issuer or (place if form == "vat_number" else None))
    return Certificate(place, form, issuer, number, section.text("fulfiller") or "main", *section.span())


def fulfiller(section: Section) -> Fulfiller:
    """Read one [[fulfiller]]."""
    return Fulfiller(
        id=section.text("id") or "main",
        ship_from=section.places("ship_from", _GROUND, _GROUND_WORDS) or (),
        collects_in=_collects_in(section),
        transport_arranged_by=section.choice(
            "transport_arranged_by", ("fulfiller", "seller", "customer"), "fulfiller"
        ),
        transport_supply=section.choice("transport_supply", ("unset", "first", "second"), "unset"),
        importer=section.choice("importer", _PARTIES, "customer"),
    )


def _collects_in(section: Section) -> Any:  # noqa: ANN401 - "unknown", "all" or a tuple of Collecting
    value = section.values.get("collects_in", "unknown")
    if value in ("unknown", "all"):
        return value
    if not isinstance(value, (list, tuple)) or not all(isinstance(entry, dict) for entry in value):
        section.wrong("collects_in", '"unknown", "all" or a list of places with their first day')
        return ()
    return tuple(
        _collecting(Section("collects_in", n, entry, section.faults)) for n, entry in enumerate(value, 1)
    )


def _collecting(section: Section) -> Collecting:
    section.require("place", "from")
    return Collecting(section.place("place", _REGISTER, _REGISTER_WORDS) or "", *section.span())


def remitted(section: Section, currency: str) -> Remitted:
    """Read one [[remitted]]."""
    section.require("place", "from", "until", "amount")
    begin, end = section.span()
    place = section.place("place", _REGISTER, _REGISTER_WORDS) or ""
    return Remitted(place, begin, end or STAND_IN_DAY, section.amount("amount", currency))


def prior_sales(section: Section, currency: str) -> PriorSales:
    """Read one [[prior_sales]]."""
    section.require("place", "from", "until", "amount")
    begin, end = section.span()
    place = section.place("place", _REGISTER, _REGISTER_WORDS) or ""
    amount = section.amount("amount", currency)
    return PriorSales(place, begin, end or STAND_IN_DAY, amount, section.whole("transactions"))


def election(section: Section) -> Election:
    """Read one [[election]]."""
    section.require("name", "from")
    name = section.choice("name", ELECTIONS, "")
    if name == "flat_rate":
        section.require("place")
        return Election(name, section.place("place", ("state",), "a US state"), *section.span())
    if section.has("place") and section.values["place"] != "EU":
        section.note(
            "E515",
            "place",
            value=str(section.values["place"]),
            detail="this election holds for the whole European Union",
            instead="Take the `place` line out.",
        )
    return Election(name, None, *section.span())
