"""Who sells, where goods leave and arrive, and who buys: the picture in tests/pictures/eu_matrix.txt, and no silent case."""

from __future__ import annotations

from itertools import product
from typing import Any

import eu_matrix
import pytest
from picture_moved import difference
from shop import answers, fulfiller, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.reasons import REASONS
from taxcalc.regime import DUTIES
from taxcalc.tables.load import load_tables

NUMBERS = {
    "none": [],
    "local": registered("DE", "PL", since=eu_matrix.SINCE),
    "union_oss": eu_matrix.scheme("union_oss", "DE"),
    "non_union_oss": eu_matrix.scheme("non_union_oss", "DE"),
    "ioss": eu_matrix.scheme("ioss", "DE"),
    "small_business": registered("DE", since=eu_matrix.SINCE, scheme="small_business"),
}
HOMES: dict[str, dict[str, Any]] = {"one": {}, "two": {"established_in": ["DE", "FR"]}, "none": {}}
TRANSPORT = ("unset", "first", "second")


def test_the_matrix_is_the_one_in_the_picture() -> None:
    """No paper: it shows movement. A change of a rule shows line by line."""
    old, new = eu_matrix.PICTURE.read_text(encoding="utf-8").splitlines(), eu_matrix.picture()
    assert old == new, difference(old, new, eu_matrix.COMMAND)


def profile(
    home: str, held: str, transport: str, *, by_choice: bool, importer: str = "customer"
) -> dict[str, Any]:
    """Build one of the sellers."""
    more = {
        "registration": NUMBERS[held],
        "fulfiller": [
            fulfiller(ship_from=list(eu_matrix.FROM), transport_supply=transport, importer=importer)
        ],
        **(eu_matrix.AT_DESTINATION if by_choice else {}),
    }
    return seller(**more) if home == "none" else union_seller("DE", **HOMES[home], **more)


EVERY_SELLER = [
    *product(HOMES, NUMBERS, TRANSPORT, (False,), ("customer",)),
    *product(("one",), NUMBERS, TRANSPORT, (True,), ("customer",)),
    *product(HOMES, ("none", "ioss"), ("unset",), (False,), ("seller", "fulfiller")),
]
"""The choice to be taxed on arrival is open to sellers established in one member state alone (art. 59c(3))."""


@pytest.mark.parametrize("home", HOMES)
def test_every_combination_has_one_answer_and_none_is_silent(home: str) -> None:
    """No paper: establishment, registrations, transport, choice, importer × dispatch × arrival × buyer × goods or service.

    Each has a duty of the contract, a reason in words on both sides, a place, and ends in order; nothing is unknown.
    """
    rows = [
        {
            "order_id": f"{leaves} {arrives} {buyer} {kind} {amount}",
            "to": arrives,
            "sent_from": leaves,
            "currency": "EUR",
            "tax_included": "no",
            "item_amount": amount,
            "product_class": kind,
            "fulfiller_item_cost": "40.00",
            "ordered_on": eu_matrix.SOLD.isoformat(),
            **eu_matrix.BUYERS[buyer],
        }
        for leaves, arrives, buyer in product(eu_matrix.FROM, eu_matrix.TO, eu_matrix.BUYERS)
        for kind, amount in (("other", "100.00"), ("other", "200.00"), ("digital", "100.00"))
    ]
    sold, tables = orders(rows), load_tables()
    for who in (one for one in EVERY_SELLER if one[0] == home):
        asked = profile(*who[:3], by_choice=who[3], importer=who[4])
        found = answers(assess(sold, asked, tables=tables, as_of=eu_matrix.AS_OF))
        assert len(found) == len(rows)
        assert set(found.duty) <= set(DUTIES) - {"unknown_place"}, who
        assert set(found.reason) | set(found.fulfiller_reason) <= set(REASONS) - {"eu_unknown"}, who
        assert (found.place != "unknown").all(), who
        inside = found.regime == "eu"
        assert found.loc[inside, "rows"].str.contains("eu/place_of_supply:EU/").all(), who
        for low, middle, high in (eu_matrix.COLLECT, eu_matrix.CHARGED):
            assert (found[low] <= found[middle]).all(), who
            assert (found[middle] <= found[high]).all(), who
        taxed = found.duty == "collect"
        assert (found.loc[taxed, "to_collect_high"] > 0).all(), who
        assert (found.loc[~taxed, "to_collect"] == 0).all(), who


def test_a_business_imports_itself_and_is_in_no_import_scheme() -> None:
    """Directive 2006/112/EC art. 14(4)(2), from memory: the scheme is for sales to consumers; a form proves no number."""
    rows = [
        {
            "order_id": buyer,
            "to": "FR",
            "sent_from": "US-IN",
            "currency": "EUR",
            "tax_included": "no",
            "item_amount": "100.00",
            **eu_matrix.BUYERS[buyer],
        }
        for buyer in ("business of FR", "consumer")
    ]
    found = answers(assess(orders(rows), seller(registration=NUMBERS["ioss"])))
    business, consumer = found.loc["business of FR"], found.loc["consumer"]
    assert (business.duty, business.to_collect, business.to_collect_high) == ("import_at_border", 0, 2000)
    assert (consumer.duty, consumer.to_collect) == ("collect", 2000)
