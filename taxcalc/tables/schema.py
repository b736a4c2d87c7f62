"""The columns of every rate table, in one place; loading, checking and the tables' README derive from it.

A table is a CSV file under `rate_tables/`. Rows of a dated table hold from `valid_from` until the next row of
the same key; an end without a successor is a row with `ended` = yes. Values stand as the law prints them
(percent, amount with its currency) and are turned into integers on loading.
"""

from __future__ import annotations

from taxcalc.tables.fields import BASES, CLASS, DATED, NO_VALUE, PLACE, SOURCED, Field, Kind, Schema
from taxcalc.tables.schema_elsewhere import ELSEWHERE
from taxcalc.tables.schema_eu import EU
from taxcalc.tables.schema_eu_borders import EU_BORDERS
from taxcalc.tables.schema_eu_chain import EU_CHAIN
from taxcalc.tables.schema_eu_schemes import EU_SCHEMES
from taxcalc.tables.schema_eu_small import EU_SMALL
from taxcalc.tables.schema_us import US_RATES_AND_DUTIES
from taxcalc.tables.schema_us_late import US_LATE
from taxcalc.tables.schema_us_more import US_MORE
from taxcalc.tables.schema_us_sales import US_SALES

__all__ = [
    "BASES",
    "BY_NAME",
    "CLASS",
    "DATED",
    "NO_VALUE",
    "PLACE",
    "SCHEMAS",
    "SOURCED",
    "Field",
    "Kind",
    "Schema",
]

GENERAL: tuple[Schema, ...] = (
    Schema(
        "sources",
        "Published sources",
        (
            Field("id", "text", "short name that rows refer to", key=True),
            Field("publisher", "text", "who published it"),
            Field(
                "title",
                "text",
                "what it is called; the official document first, then `read in a copy` where so",
            ),
            Field("link", "text", "where it stands", required=False),
            Field("published_on", "text", "date or edition that the source bears", required=False),
        ),
        dated=False,
        sourced=False,
    ),
    Schema(
        "places",
        "Places",
        (
            Field("place", "text", "code used everywhere: US-TX, DE, XI, ES-CN, unknown", key=True),
            Field("name", "text", "English name"),
            Field(
                "country", "text", "ISO 3166-1 alpha-2 code of the country it is written under in an address"
            ),
            Field("regime", "choice", "whose rules apply", choices=("us", "eu", "elsewhere", "none")),
            Field(
                "kind",
                "choice",
                "what it is",
                choices=(
                    "state",
                    "district",
                    "territory",
                    "military",
                    "member_state",
                    "special_territory",
                    "country",
                    "union",
                    "unknown",
                ),
            ),
            Field(
                "understood", "text", "other spellings understood on intake, separated by |", required=False
            ),
        ),
        dated=False,
        sourced=False,
    ),
)

SCHEMAS: tuple[Schema, ...] = (
    *GENERAL,
    *US_RATES_AND_DUTIES,
    *US_SALES,
    *US_MORE,
    *US_LATE,
    *EU,
    *EU_SMALL,
    *EU_SCHEMES,
    *EU_BORDERS,
    *EU_CHAIN,
    *ELSEWHERE,
)
"""All tables, in the order in which they are described and loaded."""

BY_NAME: dict[str, Schema] = {schema.name: schema for schema in SCHEMAS}
