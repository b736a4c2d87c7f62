"""The Union-wide limit for cross-border sales: who has it, what counts, how long it binds, and what the review says of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import answers, fulfiller, net_sale, orders, registered, union_seller

from taxcalc import assess

TWO_SITES = [fulfiller(ship_from=["DE", "PL"])]
AS_OF = date(2026, 7, 15)


def findings(
    profile: dict[str, Any], *rows: dict[str, str], as_of: date = AS_OF
) -> dict[str, dict[str, Any]]:
    """Give the findings of a review by id."""
    record = assess(orders(rows), profile, as_of=as_of, period="2026-Q2").record()
    return {finding["id"]: finding for finding in record["findings"]}


def placed(profile: dict[str, Any], *rows: dict[str, str], as_of: date | None = None) -> dict[str, str]:
    """Give the place of each order."""
    return dict(answers(assess(orders(rows), profile, as_of=as_of)).place)


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_goods_made_and_sold_inside_another_state_are_named_with_their_sum() -> None:
    """Commission's notes (sales inside one state stay out of the one-stop shop): stated; from the first sale on."""
    profile = union_seller("DE", fulfiller=TWO_SITES, registration=registered("DE"))
    found = findings(profile, net_sale("A", "PL", "10.00", "2026-05-04", sent_from="PL"))
    local = found["local_registration:PL"]
    assert local["amount"] == "2.30"
    for words in (
        "made and delivered here",
        "EUR 10.00 of sales",
        "from the first sale",
        "does not cover it",
    ):
        assert words in local["text"]


@pytest.mark.source("es-aeat-iva-2023", "eu-dir-2006-112-art-59c")
@pytest.mark.parametrize(("home", "cautious"), [("ES", False), ("DE", True)])
def test_goods_sent_from_another_state_are_outside_the_limit_and_do_not_count(
    home: str, *, cautious: bool
) -> None:
    """Agencia Tributaria 2023 (goods sent from home only): stated; the Union's own text of 2021 is read differently."""
    profile = union_seller(home, fulfiller=[fulfiller(ship_from=[home, "PL"])])
    rows = (
        net_sale("from home", "FR", "9000.00", "2026-05-04", sent_from=home),
        net_sale("from Poland", "FR", "5000.00", "2026-05-05", sent_from="PL"),
    )
    found = findings(profile, *rows)["outside_union_limit:EU"]
    assert "Poland (EUR 5,000.00)" in found["text"]
    assert "EUR 10,000.00 from the first euro" in found["text"]
    assert ("cautious reading" in found["text"]) is cautious
    assert found["amount"] == "1000.00"
    thresholds = assess(orders(rows), profile).thresholds.set_index("place")
    assert thresholds.loc["EU", ["value", "status"]].tolist() == [900_000, "near"]


def test_a_registration_below_the_limit_without_the_choice_is_a_contradiction() -> None:
    """No paper: by our own word. With the choice, above the limit or without the registration there is none."""
    shop = registered("EU", scheme="union_oss", identified_in="DE")
    chosen = [{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]
    small, large = (net_sale("A", "FR", amount, "2026-05-04") for amount in ("100.00", "10000.01"))
    assert (
        "EUR 10,000.00" in findings(union_seller("DE", registration=shop), small)["contradiction:EU"]["text"]
    )
    for profile, sale in (
        (union_seller("DE", registration=shop, election=chosen), small),
        (union_seller("DE", registration=shop), large),
        (union_seller("DE"), small),
    ):
        assert "contradiction:EU" not in findings(profile, sale)


@pytest.mark.source("ie-tdm-distance-sales")
def test_a_seller_in_two_states_is_told_that_there_is_no_limit() -> None:
    """Irish Revenue: stated; any establishment in a second member state takes the limit away."""
    found = findings(
        union_seller("AT", established_in=["AT", "HU"]), net_sale("A", "DE", "10.00", "2026-05-04")
    )
    assert "Austria, Hungary" in found["no_union_limit_established:EU"]["text"]


@pytest.mark.source("eu-dir-2006-112-art-59c")
def test_a_year_over_the_limit_binds_the_whole_next_one_and_no_longer() -> None:
    """Art. 59c(1)(c): not passed in the current year nor in the one before; days derived."""
    days = ("2024-12-31", "2025-01-01", "2025-12-31", "2026-01-01")
    rows = [
        net_sale("over", "FR", "10000.01", "2024-06-03"),
        *(net_sale(day, "FR", "50.00", day) for day in days),
    ]
    found = placed(union_seller("DE"), *rows)
    assert [found[order] for order in ("over", *days)] == ["FR", "FR", "FR", "FR", "DE"]


@pytest.mark.source("eu-dir-2006-112-art-59c")
def test_exactly_the_limit_is_not_over_it_and_a_cent_more_is() -> None:
    """Art. 59c(1)(c): must not exceed 10 000; amounts net of VAT, so 11 900.00 with German VAT is just within."""
    gross = {"tax_included": "yes"}
    rows = [net_sale("A", "FR", "11900.00", "2026-03-02") | gross, net_sale("B", "FR", "0.01", "2026-03-03")]
    assert placed(union_seller("DE"), *rows) == {"A": "DE", "B": "FR"}


@pytest.mark.source("eu-dir-2006-112-art-59c")
@pytest.mark.parametrize(
    ("until", "last_bound", "free"),
    [
        pytest.param(date(2025, 6, 30), "2026-12-31", "2027-01-01", id="ended in its first year"),
        pytest.param(date(2027, 3, 31), "2027-03-31", "2027-04-01", id="ended after its two years"),
    ],
)
def test_the_choice_binds_for_two_calendar_years(until: date, last_bound: str, free: str) -> None:
    """Art. 59c(3): two calendar years; that the first is the year of the choice is our reading."""
    choice = [{"name": "eu_tax_at_destination", "from": date(2025, 3, 1), "until": until}]
    profile = union_seller("DE", election=choice)
    days = ("2025-02-28", "2025-03-01", last_bound, free)
    rows = [net_sale(day, "FR", "50.00", day) for day in days]
    assert [placed(profile, *rows)[day] for day in days] == ["DE", "FR", "FR", "DE"]
    bound = findings(profile, rows[0], net_sale("B", "FR", "1.00", "2026-05-04"))
    assert ("choice_binds:EU" in bound) is (until.isoformat() < last_bound)


@pytest.mark.source("ie-tdm-distance-sales")
def test_sales_at_home_to_businesses_and_abroad_do_not_count() -> None:
    """Irish Revenue: stated; only distance sales and digital services to consumers in other member states count."""
    rows = [
        net_sale("counts", "FR", "60.00", "2026-05-04"),
        net_sale("counts too", "FR", "40.00", "2026-05-04", product_class="digital"),
        net_sale("home", "DE", "5000.00", "2026-05-04"),
        net_sale("business", "FR", "5000.00", "2026-05-04", buyer_tax_number="FR40303265045"),
        net_sale("export", "CH", "5000.00", "2026-05-04"),
        net_sale("import", "FR", "5000.00", "2026-05-04", sent_from="US-IN"),
    ]
    found = assess(orders(rows), union_seller("DE")).thresholds.set_index("place")
    assert found.loc["EU", "value"] == 10_000


@pytest.mark.source("ie-vatca-2010")
def test_goods_that_are_imported_before_the_sale_leave_the_one_stop_shop_open() -> None:
    """VATCA 2010 s. 30(b), art. 33(b): imported in another member state, it is a distance sale, which the Union scheme serves.

    Sales of goods that are made and delivered in one member state have no such way out.
    """
    words = "unless the goods are imported in another member state"
    imported = union_seller("DE", fulfiller=[fulfiller(ship_from=["US-IN"], importer="seller")])
    made = union_seller("DE", fulfiller=[fulfiller(ship_from=["FR"])])
    texts = [
        findings(profile, net_sale("A", "FR", "100.00", "2026-05-04"))["local_registration:FR"]["text"]
        for profile in (imported, made)
    ]
    assert [words in text for text in texts] == [True, False]
    assert all("the one-stop shop does not cover it" in text for text in texts)
