"""The keys of the profile, table by table, each with an example; reading and complaints derive from it."""

from __future__ import annotations

from typing import Final

SINGLE: Final = ("seller", "status")
"""Tables that stand once, as [name]; all others stand any number of times, as [[name]]."""

EXAMPLES: Final[dict[str, dict[str, str]]] = {
    "seller": {
        "name": 'name = "My shop"',
        "country": 'country = "US"',
        "region": 'region = "US-OR"',
        "established_on": "established_on = 2023-01-01",
        "established_in": 'established_in = ["US"]',
        "reporting_currency": 'reporting_currency = "USD"',
        "time_zone": 'time_zone = "America/Los_Angeles"',
        "rounding": 'rounding = "line"',
        "prices_include_tax": 'prices_include_tax = ["EU", "GB"]',
        "pickup_offered": "pickup_offered = false",
    },
    "registration": {
        "place": 'place = "US-WA"',
        "scheme": 'scheme = "standard"',
        "identified_in": 'identified_in = "DE"',
        "number": 'number = "604123456"',
        "from": "from = 2025-04-01",
        "until": "until = 2026-12-31",
    },
    "presence": {
        "place": 'place = "US-NV"',
        "kind": 'kind = "stock"',
        "from": "from = 2025-01-01",
        "until": "until = 2026-12-31",
    },
    "certificate": {
        "place": 'place = "US-TX"',
        "form": 'form = "state"',
        "number_of": 'number_of = "US-WA"',
        "number": 'number = "604123456"',
        "fulfiller": 'fulfiller = "main"',
        "from": "from = 2025-01-01",
        "until": "until = 2026-12-31",
    },
    "fulfiller": {
        "id": 'id = "main"',
        "ship_from": 'ship_from = ["US-IN", "SK"]',
        "collects_in": 'collects_in = [{ place = "US-IN", from = 2022-01-01 }]',
        "transport_arranged_by": 'transport_arranged_by = "fulfiller"',
        "transport_supply": 'transport_supply = "unset"',
        "importer": 'importer = "customer"',
    },
    "collects_in": {
        "place": 'place = "US-IN"',
        "from": "from = 2022-01-01",
        "until": "until = 2026-12-31",
    },
    "remitted": {
        "place": 'place = "US-WA"',
        "from": "from = 2026-01-01",
        "until": "until = 2026-03-31",
        "amount": 'amount = "120.50"',
    },
    "prior_sales": {
        "place": 'place = "US-CA"',
        "from": "from = 2025-01-01",
        "until": "until = 2025-12-31",
        "amount": 'amount = "40000.00"',
        "transactions": "transactions = 900",
    },
    "election": {
        "name": 'name = "eu_tax_at_destination"',
        "place": 'place = "US-AL"',
        "from": "from = 2026-01-01",
        "until": "until = 2026-12-31",
    },
    "status": {"watch": "watch = 50", "near": "near = 80"},
}

TABLES: Final = tuple(name for name in EXAMPLES if name != "collects_in")


def title(table: str, number: int | None) -> str:
    """Write a table as the profile does: [seller], [[registration]] no. 2."""
    if table == "collects_in":
        return f"[[fulfiller]] collects_in no. {number}"
    return f"[{table}]" if table in SINGLE else f"[[{table}]] no. {number}"
