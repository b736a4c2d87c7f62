"""Orders that several files of worked examples look at."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import NET, asked, fulfiller, net_sale, orders, registered, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd

    from taxcalc import Assessment


@pytest.fixture(scope="session")
def imports() -> pd.DataFrame:
    """Assess parcels from outside the Union by a Spanish seller with an import-scheme number."""
    ioss = [{"place": "EU", "scheme": "ioss", "identified_in": "ES", "from": date(2021, 7, 1)}]
    profile = union_seller("ES", registration=ioss)
    gross = {"currency": "EUR", "tax_included": "yes", "sent_from": "US-IN", "ordered_on": "2026-05-04"}
    return asked(
        profile,
        {"order_id": "168", "to": "FR", "item_amount": "168.00", **gross},
        {"order_id": "150 net", "to": "FR", "item_amount": "180.00", **gross},
        {"order_id": "over", "to": "FR", "item_amount": "180.02", **gross},
        {"order_id": "discounted", "to": "FR", "item_amount": "140.00", **gross, "tax_included": "no"},
        {
            "order_id": "dollars",
            "to": "FR",
            "item_amount": "165.00",
            **gross,
            "tax_included": "no",
            "currency": "USD",
            "ordered_on": "2026-09-30",
        },
        {
            "order_id": "too many dollars",
            "to": "FR",
            "item_amount": "170.33",
            **gross,
            "tax_included": "no",
            "currency": "USD",
            "ordered_on": "2026-09-30",
        },
        {"order_id": "Canary Islands", "to": "FR", "item_amount": "100.00", **gross, "sent_from": "ES-CN"},
    )


@pytest.fixture(scope="session")
def rates() -> pd.DataFrame:
    """Sales at home on both sides of each change, by sellers' states.

    One seller registered in all of them.
    """
    profile = union_seller(
        "IE",
        registration=registered("IE", "RO", "FI", "PT"),
        fulfiller=[fulfiller(ship_from=["IE", "RO", "FI", "PT"])],
    )
    gross = {"currency": "EUR", "tax_included": "yes"}
    days = (
        ("IE", "121.00", ("2020-08-31", "2020-09-01", "2020-10-01", "2021-02-28", "2021-03-01")),
        ("IE", "123.00", ("2021-03-01",)),
        ("RO", "121.00", ("2025-07-31", "2025-08-01")),
        ("FI", "125.50", ("2024-08-31", "2024-09-01")),
    )
    dated = [
        {"order_id": f"{to} {amount} {day}", "to": to, "item_amount": amount, "ordered_on": day, **gross}
        for to, amount, each in days
        for day in each
    ]
    kinds = [
        {"order_id": f"IE {kind}", "to": "IE", "item_amount": "100.00", "product_class": kind, **NET}
        for kind in ("books", "stationery", "clothing", "clothing_children")
    ]
    books = [
        {
            "order_id": f"RO book {day}",
            "to": "RO",
            "item_amount": "100.00",
            "product_class": "books",
            "ordered_on": day,
            **NET,
        }
        for day in ("2025-07-31", "2025-08-01")
    ]
    late = [
        {
            "order_id": f"delivered {day}",
            "to": "FI",
            "item_amount": "100.00",
            "ordered_on": day,
            "supplied_on": day,
            **NET,
        }
        for day in ("2024-08-31", "2024-09-01")
    ]
    islands = [
        {"order_id": f"{to} {kind}", "to": to, "item_amount": "100.00", "product_class": kind, **NET}
        for to in ("PT 9500-001", "PT 1000-001")
        for kind in ("other", "books")
    ]
    return asked(profile, *dated, *kinds, *books, *late, *islands)


@pytest.fixture(scope="session")
def irish() -> Assessment:
    """Assess the Irish trader of Example A: France 3 500, Germany 3 000, Spain 4 500."""
    rows = [
        net_sale("FR", "FR", "3500.00", "2026-02-02"),
        net_sale("DE", "DE", "3000.00", "2026-03-02"),
        net_sale("ES", "ES", "4500.00", "2026-04-02"),
        net_sale("FR again", "FR", "100.00", "2026-05-04"),
    ]
    return assess(orders(rows), union_seller("IE", registration=registered("IE")))
