"""The [seller] table: who the seller is, where it lives, and how its figures are shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from taxcalc.seller.known_places import Kind, is_subdivision, kind_of

if TYPE_CHECKING:
    from datetime import date

    from taxcalc.seller.section import Section

_COUNTRY: Final[tuple[Kind, ...]] = ("us", "member_state", "country", "territory")
_COUNTRY_WORDS: Final = "a country by its two-letter ISO code"


@dataclass(frozen=True)
class Home:
    """The fields of `Seller` that stand in [seller]."""

    name: str
    country: str
    region: str | None
    established_on: date | None
    established_in: tuple[str, ...]
    reporting_currency: str
    time_zone: str
    rounding: str
    prices_include_tax: tuple[str, ...] | None
    pickup_offered: bool


def read_home(section: Section, assumed: list[str]) -> Home:
    """Read [seller]; defaults taken are added to `assumed` as sentences."""
    section.require("country")
    country = section.place("country", _COUNTRY, _COUNTRY_WORDS) or ""
    for key, sentence in _DEFAULTS.items():
        if not section.has(key):
            assumed.append(sentence)
    return Home(
        name=section.text("name") or "Unnamed shop",
        country=country,
        region=_region(section, country, assumed),
        established_on=section.day("established_on"),
        established_in=_established_in(section, country, assumed),
        reporting_currency=_currency(section, country, assumed),
        time_zone=_time_zone(section),
        rounding=section.choice("rounding", ("line", "order"), "line"),
        prices_include_tax=section.places("prices_include_tax", (*_COUNTRY, "union"), 'countries and "EU"'),
        pickup_offered=section.yes_no("pickup_offered", default=False),
    )


_ALWAYS_PUBLISHED: Final = ("EUR", "USD")

_DEFAULTS: Final = {
    "name": "No name: the shop is called `Unnamed shop`.",
    "established_on": "No established_on: the shop is taken to be established since its first order.",
    "time_zone": "No time_zone: timestamps are dated in UTC, so orders near midnight may move a day.",
    "rounding": "No rounding: tax is rounded line by line.",
    "prices_include_tax": "No prices_include_tax: prices contain the tax everywhere but in the United States "
    "and Canada.",
    "pickup_offered": "No pickup_offered: customers cannot avoid the shipping charge by picking up.",
}


def _region(section: Section, country: str, assumed: list[str]) -> str | None:
    region = section.text("region")
    if region is None and country == "US":
        assumed.append("No region: physical presence in the home state is unknown and not counted.")
    if not region:
        return None
    if not is_subdivision(region):
        section.note("E506", "region", value=region)
    elif country and region.partition("-")[0] != country:
        section.note(
            "E515",
            "region",
            value=region,
            detail=f'the region "{region}" is not in "{country}"',
            instead="Correct `country` or `region`.",
        )
    return region


def _established_in(section: Section, country: str, assumed: list[str]) -> tuple[str, ...]:
    written = section.places("established_in", _COUNTRY, "countries by their two-letter ISO codes")
    if written is None:
        assumed.append(f"No established_in: the shop has a fixed establishment in {country} only.")
        return (country,)
    if country not in written:
        assumed.append(f"established_in does not name {country}, the home country; it is taken as one more.")
    return tuple(dict.fromkeys((country, *written))) if country not in written else written


def _currency(section: Section, country: str, assumed: list[str]) -> str:
    from taxcalc.exchange import quotes  # noqa: PLC0415 - loads numpy
    from taxcalc.money import CURRENCY_CODE  # noqa: PLC0415 - as above

    code = section.text("reporting_currency")
    if code is None:
        code = _home_currency(country)
        assumed.append(f"No reporting_currency: figures are shown in {code}.")
    elif code and code not in CURRENCY_CODE:
        section.wrong("reporting_currency", "a currency by its three-letter ISO 4217 code")
    elif code not in _ALWAYS_PUBLISHED and not quotes(code).days.size:
        section.wrong("reporting_currency", "a currency for which the European Central Bank publishes a rate")
    return code


def _home_currency(country: str) -> str:
    from babel.numbers import get_territory_currencies  # noqa: PLC0415 - heavy

    if kind_of(country) == "member_state":
        return "EUR"
    return next(iter(get_territory_currencies(country)), "USD") if country else "USD"


def _time_zone(section: Section) -> str:
    from zoneinfo import ZoneInfo  # noqa: PLC0415 - reads the time-zone files

    zone = section.text("time_zone")
    if not zone:
        return "UTC"
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        section.wrong("time_zone", "a time zone of the IANA list")
    return zone
