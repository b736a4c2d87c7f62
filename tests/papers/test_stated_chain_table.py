"""European Union: the chain with one transport, held row by row against the 25 cases of `eu/chain`.

The table was drawn up from Directive 2006/112/EC and the papers its rows name; outcomes are stated there in words, amounts are
ours (40.00 net for the seller; 19 % in Germany, 23 % in Poland and in Ireland). `test_stated_chain.py` has the sales of the
seller to the consumer beside them. Cases that the table leaves to others (2, 4 and 11: exempt sellers) use the registration as
the profile states it.
"""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

import pytest
from shop import certificate, fulfiller, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.tables.load import load_tables

SINCE = date(2024, 1, 1)
AS_OF = date(2026, 7, 20)
SMALL = [{"place": "NL", "scheme": "small_business", "from": SINCE}]
SMALL_HERE = [{"place": "DE", "scheme": "small_business", "from": SINCE}]
IOSS = [{"place": "EU", "scheme": "ioss", "identified_in": "IE", "from": SINCE}]
FULL, PROVEN, NONE = (760, 760, 760), (0, 0, 760), (0, 0, 0)


def given(*states: str) -> dict[str, Any]:
    """Registrations, each number given to the fulfiller."""
    return {
        "registration": registered(*states, since=SINCE),
        "certificate": [certificate("EU", "vat_number", state, SINCE) for state in states],
    }


def site(**more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """One fulfiller in Germany."""
    return {"fulfiller": [fulfiller(ship_from=["DE"], **more)]}


FIRST, SECOND = site(transport_supply="first"), site(transport_supply="second")
BY_SELLER, BY_FULFILLER = site(transport_arranged_by="seller"), site(transport_arranged_by="fulfiller")


class Case(NamedTuple):
    """A seller, where the goods leave and arrive, and the outcome: the fulfiller's VAT and what becomes of it."""

    profile: dict[str, Any]
    leaves: str
    arrives: str
    vat: tuple[int, int, int]
    ways: set[str]


LOCAL, AFTER, SMALL_WAY = {"local_return"}, {"after_registering"}, {"small_business"}
CASES: dict[int, list[Case]] = {
    1: [Case(union_seller("DE", **given("DE"), **site()), "DE", "DE", FULL, LOCAL)],
    2: [Case(union_seller("DE", registration=SMALL_HERE, **site()), "DE", "DE", FULL, SMALL_WAY)],
    3: [Case(union_seller("DE", **given("DE"), **SECOND), "DE", "FR", FULL, LOCAL)],
    4: [Case(union_seller("DE", registration=SMALL_HERE, **SECOND), "DE", "FR", FULL, SMALL_WAY)],
    5: [Case(union_seller("NL", **given("NL"), **FIRST), "DE", "FR", PROVEN, set())],
    6: [Case(union_seller("NL", **given("NL", "DE"), **SECOND), "DE", "FR", FULL, LOCAL)],
    7: [Case(union_seller("NL", **given("NL"), **FIRST), "DE", "NL", PROVEN, set())],
    8: [Case(union_seller("NL", **given("NL", "DE"), **SECOND), "DE", "NL", FULL, LOCAL)],
    9: [Case(union_seller("NL", **given("NL"), **site()), "DE", "DE", FULL, AFTER)],
    10: [
        Case(union_seller("NL", registration=SMALL, **site()), "DE", "FR", (760, 760, 800), SMALL_WAY),
        Case(union_seller("NL", registration=SMALL, **FIRST), "DE", "NL", (760, 760, 840), SMALL_WAY),
        Case(union_seller("NL", registration=SMALL, **FIRST), "DE", "LU", (680, 760, 760), SMALL_WAY),
    ],
    11: [
        Case(
            union_seller(
                "NL",
                registration=[*SMALL, {**SMALL_HERE[0], "identified_in": "NL"}],
                certificate=[certificate("EU", "vat_number", "NL", SINCE)],
                **site(),
            ),
            "DE",
            "DE",
            FULL,
            SMALL_WAY,
        )
    ],
    12: [Case(seller(**site()), "DE", "DE", FULL, AFTER)],
    13: [Case(seller(**SECOND), "DE", "FR", FULL, AFTER), Case(seller(**site()), "DE", "FR", FULL, AFTER)],
    14: [Case(seller(**given("DE"), **SECOND), "DE", "FR", FULL, LOCAL)],
    15: [Case(seller(**given("NL"), **FIRST), "DE", "FR", PROVEN, set())],
    16: [Case(union_seller("DE", **given("DE"), **BY_FULFILLER), "DE", "NO", PROVEN, set())],
    17: [Case(union_seller("NL", **given("NL"), **BY_SELLER), "DE", "NO", PROVEN, set())],
    18: [Case(union_seller("DE", **given("DE"), **BY_SELLER), "DE", "NO", FULL, LOCAL)],
    19: [
        Case(union_seller("DE", registration=SMALL_HERE, **BY_FULFILLER), "DE", "NO", PROVEN, set()),
        Case(union_seller("NL", registration=SMALL, **BY_SELLER), "DE", "NO", PROVEN, set()),
        Case(union_seller("DE", registration=SMALL_HERE, **BY_SELLER), "DE", "NO", FULL, SMALL_WAY),
    ],
    20: [Case(seller(registration=IOSS), "US-IN", "FR", NONE, set())],
    21: [Case(seller(), "US-IN", "FR", NONE, set())],
    22: [Case(seller(fulfiller=[fulfiller(importer="seller")]), "US-IN", "FR", NONE, set())],
    23: [
        Case(
            union_seller(
                "NL", **given("NL", "PL"), fulfiller=[fulfiller(collects_in=[{"place": "DE", "from": SINCE}])]
            ),
            "PL",
            "PL",
            (0, 920, 920),
            LOCAL,
        ),
        Case(
            union_seller(
                "NL", **given("NL", "DE"), fulfiller=[fulfiller(collects_in=[{"place": "PL", "from": SINCE}])]
            ),
            "DE",
            "DE",
            FULL,
            LOCAL,
        ),
    ],
    24: [Case(union_seller("ES"), "ES-CN", "FR", NONE, set())],
    25: [
        Case(seller(**given("XI"), **FIRST), "IE", "XI", (0, 0, 920), set()),
        Case(seller(**given("IE"), **FIRST), "XI", "IE", (0, 0, 800), set()),
        Case(seller(**given("XI"), **SECOND), "XI", "IE", (800, 800, 800), LOCAL),
    ],
}
"""By number of the case. Rates: FR 20, NL 21, LU 17 %, Northern Ireland 20 %."""

CHARGES = {
    "vat_of_dispatch": "full",
    "zero_if_article_138_else_vat_of_dispatch": "free",
    "vat_of_dispatch_or_arrival": "full",
    "zero_as_export": "free",
    "as_exports": "either",
    "no_union_vat": "free",
    "reverse_charge_or_vat_of_dispatch": "full",
    "as_a_member_state": "either",
}
"""What the words of the table ask of the expected end."""

RECOVERS = {
    "yes": LOCAL,
    "no": SMALL_WAY,
    "only_after_registering": AFTER,
    "acquisition_vat_in_arrival": set(),
    "importer": set(),
    "nothing_to_recover": set(),
}
"""Ways that the words of the table leave open; none where nothing is charged."""


def outcome(case: Case) -> tuple[tuple[int, int, int], set[str]]:
    """Assess one order and give the fulfiller's VAT and the ways of it."""
    row = {
        "to": case.arrives,
        "sent_from": case.leaves,
        "currency": "EUR",
        "tax_included": "no",
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "ordered_on": "2026-05-04",
    }
    found = assess(orders([row]), case.profile, as_of=AS_OF)
    line = found.lines.iloc[0]
    ways = {way["route"] for part in found.record()["fulfiller_tax_split"] for way in part["ways"]}
    return (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high), ways


@pytest.mark.source(
    "eu-dir-2006-112-art-36a", "eu-dir-2006-112-art-194", "ie-vatca-2010-sch-2", "ie-tdm-sme-domestic"
)
@pytest.mark.parametrize(
    ("number", "case"),
    [
        pytest.param(number, case, id=f"row {number}, {case.leaves} to {case.arrives}, {index}")
        for number, cases in CASES.items()
        for index, case in enumerate(cases)
    ],
)
def test_what_the_fulfiller_may_charge_and_what_becomes_of_it(number: int, case: Case) -> None:
    """The outcome typed here, and the words of the table's row."""
    table = load_tables()["eu/chain"]
    (row,) = table.rows(case=number).tolist()
    vat, ways = outcome(case)
    assert (vat, ways) == (case.vat, case.ways)
    asked = CHARGES[str(table["fulfiller_charges"][row])]
    assert asked == "either" or (vat[1] > 0) == (asked == "full")
    assert not ways or ways == RECOVERS[str(table["recovers"][row])]


def test_every_case_of_the_table_is_walked() -> None:
    """A new row of the table asks for its order here."""
    table = load_tables()["eu/chain"]
    assert sorted(CASES) == table["case"][:-1].tolist()
    assert set(CHARGES) == set(table["fulfiller_charges"][:-1].tolist())
