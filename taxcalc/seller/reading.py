"""Read and check the whole profile: `read_seller`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from taxcalc.seller import agreement, keys, parts
from taxcalc.seller.home import Home, read_home
from taxcalc.seller.profile import Presence, Seller
from taxcalc.seller.section import Faults, Section, nearest_words
from taxcalc.seller.source import load, numbered

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

T = TypeVar("T")
OWN_TABLES = "own_tables"


def read_seller(source: Path | str | dict[str, Any]) -> Seller:
    """Read a profile from a file or from a dict with the same keys.

    Raises `Refusal` E500 to E515 with every fault found (`Refusal.more` holds all but the first).
    """
    if isinstance(source, dict):
        return _seller(source, Faults("seller profile"), None)
    path = Path(source)
    raw, rows = load(path)
    tables = path.parent / OWN_TABLES
    return _seller(raw, Faults(str(path), rows), tables if tables.is_dir() else None)


def _seller(raw: dict[str, Any], faults: Faults, tables: Path | None) -> Seller:
    sections = _sections(raw, faults)
    assumed: list[str] = []
    home = read_home(sections["seller"][0], assumed)

    def every(name: str, read: Callable[[Section], T]) -> tuple[T, ...]:
        return tuple(read(section) for section in sections[name])

    registrations = every("registration", parts.registration)
    fulfillers = agreement.with_main(every("fulfiller", parts.fulfiller), assumed)
    certificates = every("certificate", parts.certificate)
    remitted = every("remitted", lambda section: parts.remitted(section, home.reporting_currency))
    prior = every("prior_sales", lambda section: parts.prior_sales(section, home.reporting_currency))
    watch, near = agreement.status(sections["status"], faults, assumed)
    agreement.check(registrations, fulfillers, certificates, faults)
    agreement.assume(registrations, certificates, remitted, prior, assumed)
    presences, elections = every("presence", parts.presence), every("election", parts.election)
    faults.refuse_if_any()
    return Seller(
        **_fields(home),
        registrations=registrations,
        presences=presences,
        certificates=certificates,
        fulfillers=fulfillers,
        remitted=remitted,
        prior_sales=prior,
        elections=elections,
        watch=watch,
        near=near,
        tables=tables,
        assumptions=tuple(assumed),
    )


def _fields(home: Home) -> dict[str, Any]:
    return {name: getattr(home, name) for name in home.__dataclass_fields__}


def _sections(raw: dict[str, Any], faults: Faults) -> dict[str, list[Section]]:
    """Give the sections of every table; note unknown tables and tables of the wrong shape."""
    sections: dict[str, list[Section]] = {name: [] for name in keys.TABLES}
    for name, value in raw.items():
        if name not in sections:
            faults.note(
                "E502",
                ("", 1, name),
                value=name,
                table="the profile",
                column=None,
                nearest=nearest_words(name, keys.TABLES, "tables"),
            )
            continue
        entries = numbered(name, value)
        if entries is None:
            example = f"[{name}]" if name in keys.SINGLE else f"[[{name}]]"
            faults.note(
                "E504",
                (name, 1, ""),
                table="the profile",
                column=name,
                value="what stands there",
                expected=f"a table headed {example}",
                example=example,
            )
            continue
        sections[name] = [Section(name, number, entry, faults) for number, entry in enumerate(entries, 1)]
    sections["seller"] = sections["seller"] or [Section("seller", 1, {}, faults)]
    return sections


def resident_presence(seller: Seller, first_order: date) -> Presence | None:
    """Give the seller's home as a physical presence from the day it was established.

    None where the profile names no home place that can be a presence (a US seller without its state). Where
    the day is not given the presence begins with the first order; the assumptions say so.
    """
    place = seller.region if seller.country == "US" else seller.country
    if place is None:
        return None
    return Presence(place, "premises", seller.established_on or first_order, None)
