"""Small tables for tests, written to a folder: every table is there, most of them with a header only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from taxcalc.tables.read import fields_of
from taxcalc.tables.schema import SCHEMAS
from taxcalc.tables.where import folder

if TYPE_CHECKING:
    from pathlib import Path

SOURCES = "id,publisher,title\nlaw-a,Office A,Law A\nlaw-b,Office B,Law B\n"
RATES = (
    "place,state_percent,sourcing_in_state,valid_from,ended,source,basis,unconfirmed_columns,checked_on\n"
    "US-CA,7.25,mixed,2019-01-01,,law-a,official,,2026-11-25\n"
    "US-CA,7.5,mixed,2024-07-01,,law-a,secondary,state_percent,2026-11-20\n"
    "US-TX,6.25,origin,2019-01-01,,law-b,official,sourcing_in_state,2026-11-25\n"
    "US-TX,,,2025-01-01,yes,law-b,official,,2026-11-25\n"
)
PRODUCTS = (
    "place,product_class,part,locality,treatment,item_price,currency,valid_from,source,basis,checked_on\n"
    "US-NY,clothing,both,,exempt_below_item_price,110.00,USD,2012-04-01,law-a,official,2026-11-25\n"
    "US-NY,clothing,local,Erie County,taxable,,,2012-04-01,law-a,official,2026-11-25\n"
    "US-NY,*,both,,taxable,,,2000-01-01,law-a,official,2026-11-25\n"
)


def write_table(where: Path, name: str, content: str | bytes) -> None:
    """Write one table below `where`."""
    path = where / f"{name}.csv"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())


def write_all(where: Path, **contents: str) -> Path:
    """Write every table: those in `contents` (`us__state_rates`), the shipped places, and headers for the rest."""
    given = {name.replace("__", "/"): content for name, content in contents.items()}
    given.setdefault("sources", SOURCES)
    given.setdefault("us/state_rates", RATES)
    given.setdefault("us/product_rules", PRODUCTS)
    for schema in SCHEMAS:
        header = ",".join(field.name for field in fields_of(schema)) + "\n"
        write_table(where, schema.name, given.get(schema.name, header))
    write_table(where, "places", (folder() / "places.csv").read_bytes())
    return where
