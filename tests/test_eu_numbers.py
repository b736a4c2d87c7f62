"""Which VAT number counts for the fulfiller's exemption: by issuer, day, and what the seller is in that state."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import asked, certificate, fulfiller, registered, seller, union_seller

SINCE = date(2024, 1, 1)
FREE, FULL, OPEN = (0, 0, 760), (760, 760, 760), (0, 760, 760)
NUMBER, NONE, UNCLEAR = "eu_fulfiller_number", "eu_fulfiller_no_number", "eu_fulfiller_number_unclear"


def charge(day: str = "2026-05-04", **profile: Any) -> tuple[tuple[int, int, int], str]:  # noqa: ANN401 - values of a profile
    """Give the fulfiller's VAT on 40.00 for goods from Germany to France, transport with the first sale, and the reason."""
    more = {"fulfiller": [fulfiller(ship_from=["DE"], transport_supply="first")], **profile}
    row = {
        "to": "FR",
        "sent_from": "DE",
        "currency": "EUR",
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "ordered_on": day,
    }
    line = asked(union_seller("NL", **more), row).iloc[0]
    return (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high), line.fulfiller_reason


def paper(number_of: str | None, place: str = "EU", **more: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - as above
    """Give one VAT number."""
    return [certificate(place, "vat_number", number_of, SINCE, **more)]


@pytest.mark.source("eu-dir-2006-112-art-36a")
@pytest.mark.parametrize(
    ("papers", "outcome"),
    [
        pytest.param(paper("NL"), (FREE, NUMBER), id="of another member state"),
        pytest.param(paper("DE"), (FULL, NONE), id="of the state of dispatch"),
        pytest.param(paper("GB"), (FULL, NONE), id="of no member state"),
        pytest.param(paper("XI"), (FREE, NUMBER), id="of Northern Ireland, which counts as one for goods"),
        pytest.param(paper(None), (OPEN, UNCLEAR), id="nobody says whose"),
        pytest.param(paper(None, number="PL8567346215"), (FREE, NUMBER), id="the number says whose"),
        pytest.param(
            paper(None, number="DE136695976"), (FULL, NONE), id="and that it is of the state of dispatch"
        ),
        pytest.param(paper(None, place="PL"), (FREE, NUMBER), id="the place says whose"),
        pytest.param([], (FULL, NONE), id="none"),
    ],
)
def test_the_number_is_of_another_member_state_than_dispatch(
    papers: list[dict[str, Any]], outcome: tuple[tuple[int, int, int], str]
) -> None:
    """Directive 2006/112/EC art. 138(1)(b), from memory: form is not validity, so the high end keeps the VAT."""
    assert charge(certificate=papers) == outcome


@pytest.mark.parametrize(
    ("day", "outcome"),
    [
        pytest.param("2026-03-31", (FULL, NONE), id="the day before the fulfiller had it"),
        pytest.param("2026-04-01", (FREE, NUMBER), id="the first day"),
        pytest.param("2026-06-30", (FREE, NUMBER), id="the last day of the registration behind it"),
        pytest.param("2026-07-01", (FULL, NONE), id="the number has lapsed with its registration"),
    ],
)
def test_only_a_number_that_holds_on_the_day_counts(
    day: str, outcome: tuple[tuple[int, int, int], str]
) -> None:
    """No paper: what the profile says of the registration goes before the document that was given once."""
    held = registered("NL", since=SINCE, until=date(2026, 6, 30))
    given = paper("NL")
    given[0]["from"] = date(2026, 4, 1)
    assert charge(day, registration=held, certificate=given) == outcome


@pytest.mark.source("ie-tdm-sme-domestic")
def test_the_number_of_an_exempt_small_business_is_unclear() -> None:
    """Irish Revenue, SME scheme: the number of the scheme is none for art. 138; one for acquisitions would be."""
    small = [{"place": "NL", "scheme": "small_business", "from": SINCE}]
    assert charge(registration=small, certificate=paper("NL")) == (OPEN, UNCLEAR)
    both = [*small, *registered("PL", since=SINCE)]
    assert charge(registration=both, certificate=paper("PL")) == (FREE, NUMBER)


def test_an_exempt_seller_without_a_number_meets_the_rate_of_dispatch_or_of_arrival() -> None:
    """Art. 3(1), 14(4), 33(a), from memory: below its limit for acquisitions the fulfiller sells at a distance.

    France 20 % against Germany 19 %; a seller that is exempt in the state of dispatch itself is no such case.
    """
    exempt = {"place": "NL", "scheme": "small_business", "from": SINCE}
    assert charge(registration=[exempt]) == ((760, 760, 800), "eu_fulfiller_exempt_seller")
    assert charge(registration=[exempt, *registered("NL", since=SINCE)]) == (FULL, NONE)


def test_the_union_one_stop_shop_runs_under_the_number_of_its_state() -> None:
    """Art. 369d, from memory: a number lapses only where neither a registration nor the one-stop shop holds it."""
    shop = registered("EU", since=SINCE, scheme="union_oss", identified_in="NL")
    over = registered("NL", since=SINCE, until=date(2025, 12, 31))
    assert charge(registration=[*over, *shop], certificate=paper("NL")) == (FREE, NUMBER)
    assert charge(registration=over, certificate=paper("NL")) == (FULL, NONE)


@pytest.mark.parametrize("supply", ["unset", "first", "second"])
def test_with_a_deemed_supplier_the_transport_is_the_marketplaces(supply: str) -> None:
    """Art. 36b, from memory: the sales before the marketplace's are placed where the goods leave."""
    profile = seller(
        registration=registered("NL", since=SINCE),
        certificate=paper("NL"),
        fulfiller=[fulfiller(ship_from=["DE"], transport_supply=supply)],
    )
    row = {"to": "FR", "sent_from": "DE", "item_amount": "100.00", "fulfiller_item_cost": "40.00"}
    more = {"channel": "marketplace", "marketplace": "bazaar", "currency": "EUR"}
    line = asked(profile, {**row, **more}).iloc[0]
    assert (line.reason, line.fulfiller_reason) == ("eu_deemed_supplier", "eu_fulfiller_deemed_supplier")
    assert (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high) == FULL


@pytest.mark.parametrize("supply", ["unset", "first", "second"])
def test_goods_for_oneself_are_sold_once_so_that_sale_carries_the_transport(supply: str) -> None:
    """Art. 138: there is no second sale to choose; exempt with a number of another member state, if proven."""
    site = [fulfiller(ship_from=["DE"], transport_supply=supply)]
    row = {
        "to": "NL",
        "sent_from": "DE",
        "item_amount": "0",
        "fulfiller_item_cost": "40.00",
        "entry": "sample",
    }
    profile = union_seller("NL", certificate=paper("NL"), fulfiller=site)
    line = asked(profile, {**row, "currency": "EUR"}).iloc[0]
    assert (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high) == FREE


@pytest.mark.parametrize(
    ("to", "buyer", "supply", "collect"),
    [
        pytest.param("FR", "", "unset", (1900, 1900, 2000), id="below the limit, transport open"),
        pytest.param("FR", "", "second", (1900, 1900, 1900), id="below the limit"),
        pytest.param("FR", "", "first", (2000, 2000, 2000), id="local on arrival"),
        pytest.param("FR", "FR40303265045", "unset", (0, 0, 2000), id="to a business, transport open"),
        pytest.param("FR", "FR40303265045", "second", (0, 0, 1900), id="to a business"),
        pytest.param("FR", "FR40303265045", "first", (0, 2000, 2000), id="to a business, local on arrival"),
    ],
)
def test_both_sides_of_the_chain_follow_one_choice(
    to: str, buyer: str, supply: str, collect: tuple[int, int, int]
) -> None:
    """Art. 36a: the seller's sale is exempt or a distance sale only while it carries the transport (19 % DE, 20 % FR)."""
    profile = union_seller(
        "DE",
        registration=registered("DE", "NL", since=SINCE),
        certificate=paper("NL"),
        fulfiller=[fulfiller(ship_from=["DE"], transport_supply=supply)],
    )
    row = {"to": to, "item_amount": "100.00", "fulfiller_item_cost": "40.00", "buyer_tax_number": buyer}
    line = asked(profile, row, currency="EUR", tax_included="no").iloc[0]
    assert (line.to_collect_low, line.to_collect, line.to_collect_high) == collect
    wanted = {"unset": OPEN, "second": FULL, "first": FREE}[supply]
    assert (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high) == wanted
