"""What the profile holds once it is read and checked. Days are inclusive; amounts stay texts as written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@dataclass(frozen=True)
class Registration:
    """Where, and under which scheme, the seller is registered to collect."""

    place: str
    scheme: str
    identified_in: str | None
    number: str | None
    from_day: date
    until_day: date | None


@dataclass(frozen=True)
class Presence:
    """A physical presence of the seller."""

    place: str
    kind: str
    from_day: date
    until_day: date | None


@dataclass(frozen=True)
class Certificate:
    """A document given to a fulfiller; `number_of` is the issuer of the number in it, None where unknown."""

    place: str
    form: str
    number_of: str | None
    number: str | None
    fulfiller: str
    from_day: date
    until_day: date | None


@dataclass(frozen=True)
class Collecting:
    """A place where a fulfiller is registered to collect."""

    place: str
    from_day: date
    until_day: date | None


@dataclass(frozen=True)
class Fulfiller:
    """Who makes and sends the goods. `transport_supply` "unset" means: both outcomes have to be shown."""

    id: str
    ship_from: tuple[str, ...]
    collects_in: Literal["unknown", "all"] | tuple[Collecting, ...]
    transport_arranged_by: str
    transport_supply: str
    importer: str


def unknown_fulfiller(name: str) -> Fulfiller:
    """Give a fulfiller of whom nothing but the id is known."""
    return Fulfiller(name, (), "unknown", "fulfiller", "unset", "customer")


@dataclass(frozen=True)
class Remitted:
    """What the seller paid over for a period, in the reporting currency."""

    place: str
    from_day: date
    until_day: date
    amount: str


@dataclass(frozen=True)
class PriorSales:
    """Sales before the order file begins; `transactions` is None where the seller does not say."""

    place: str
    from_day: date
    until_day: date
    amount: str
    transactions: int | None


@dataclass(frozen=True)
class Election:
    """A choice that the law leaves to the seller; it works from its day only."""

    name: str
    place: str | None
    from_day: date
    until_day: date | None


@dataclass(frozen=True)
class Seller:
    """The seller as the rules see it. `assumptions` lists, in sentences, every default that was taken."""

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
    registrations: tuple[Registration, ...]
    presences: tuple[Presence, ...]
    certificates: tuple[Certificate, ...]
    fulfillers: tuple[Fulfiller, ...]
    remitted: tuple[Remitted, ...]
    prior_sales: tuple[PriorSales, ...]
    elections: tuple[Election, ...]
    watch: int
    near: int
    tables: Path | None
    assumptions: tuple[str, ...]

    def fulfiller(self, name: str) -> Fulfiller:
        """Give the fulfiller of this id; one that the profile does not describe has every default."""
        return next((one for one in self.fulfillers if one.id == name), unknown_fulfiller(name))

    def includes_tax(self, country_code: str) -> bool:
        """Tell whether the prices shown to buyers in this country contain the tax.

        `country_code` may also be a place code ("US-TX", "XI"). Without an answer in the profile prices
        include tax everywhere but in the United States and Canada (common practice, no source).
        """
        from taxcalc.seller.known_places import follows_eu_rules  # noqa: PLC0415 - loads the tables

        country = country_code.partition("-")[0]
        if self.prices_include_tax is None:
            return country not in {"US", "CA"}
        if country in self.prices_include_tax:
            return True
        if country == "XI":
            return bool({"EU", "GB"} & set(self.prices_include_tax))
        return "EU" in self.prices_include_tax and follows_eu_rules(country)
