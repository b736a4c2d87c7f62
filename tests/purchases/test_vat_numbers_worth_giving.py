"""VAT numbers worth giving: what they would have saved in a year, and what is needed first."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import certificate, fulfiller, orders, registered, seller, union_seller

from taxcalc import assess
from taxcalc.reports.terminal import review_text

SINCE = date(2024, 1, 1)
AS_OF = date(2026, 7, 20)


def sale(to: str, leaves: str = "PL", **more: str) -> dict[str, str]:
    """Write one order of 100.00 that costs the seller 40.00, both net."""
    prices = {
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "currency": "EUR",
        "tax_included": "no",
    }
    return {"to": to, "sent_from": leaves, "ordered_on": "2026-05-04", **prices, **more}


def reviewed(supply: str, *rows: dict[str, str], **profile: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Give the record of a German seller whose goods are made in Poland and Spain."""
    site = [fulfiller(ship_from=["PL", "ES"], transport_supply=supply)]
    mine = union_seller("DE", **{"registration": registered("DE", since=SINCE), "fulfiller": site, **profile})
    return assess(orders(rows), mine, as_of=AS_OF).record()


def told(record: dict[str, Any]) -> list[tuple[str, str, str, list[str]]]:
    """Give form, need, saving and states of each entry."""
    return [
        (a["form"], a["needs"], a["saved"], [s["place"] for s in a["states"]]) for a in record["certificates"]
    ]


@pytest.mark.source("eu-dir-2006-112-art-36a")
@pytest.mark.parametrize(
    ("supply", "held", "needs"),
    [
        pytest.param("first", ["DE"], "nothing", id="a number at hand"),
        pytest.param("unset", ["DE"], "transport", id="a number at hand, transport open"),
        pytest.param("first", [], "vat_number_elsewhere", id="no number"),
        pytest.param("unset", [], "vat_number_elsewhere_and_transport", id="neither"),
    ],
)
def test_what_is_needed_first_follows_from_numbers_and_transport(
    supply: str, held: list[str], needs: str
) -> None:
    """Directive 2006/112/EC art. 36a, 138: VAT at 23 % (Poland) and 21 % (Spain) on 40.00; Germany's number helps in both."""
    rows = (sale("FR"), sale("SE", "ES"), sale("DE", "ES"), sale("PL"))
    record = reviewed(supply, *rows, registration=registered(*held, since=SINCE))
    assert told(record) == [("vat_number", needs, "26.00", ["ES", "PL"])]
    (worth,) = [f for f in record["findings"] if f["kind"] == "vat_number_worth"]
    assert worth["amount"] == "26.00"
    assert "Spain or Poland" in worth["text"]
    text = review_text(record)
    assert "a VAT number of another member state" in " ".join(text.split())
    assert "registration in each such state" in " ".join(text.split())


@pytest.mark.parametrize(
    ("supply", "profile"),
    [
        pytest.param("second", {}, id="the transport belongs to the seller's sale"),
        pytest.param(
            "first", {"certificate": [certificate("EU", "vat_number", "DE", SINCE)]}, id="it was given"
        ),
        pytest.param(
            "unset", {"registration": registered("PL", "ES", since=SINCE)}, id="it is deducted on the spot"
        ),
        pytest.param(
            "first",
            {"registration": [{"place": "DE", "scheme": "small_business", "from": SINCE}]},
            id="an exempt small business would owe VAT on arrival instead",
        ),
    ],
)
def test_no_number_is_worth_giving_where_it_saves_nothing(supply: str, profile: dict[str, Any]) -> None:
    """Each for a reason of its own; goods that stay, exports and samples are never helped."""
    rows = (sale("FR"), sale("PL"), sale("NO"), sale("DE", entry="sample", item_amount="0"))
    assert told(reviewed(supply, *rows, **profile)) == []


def test_where_vat_was_charged_the_smaller_of_the_two_counts() -> None:
    """As with other documents: 9.20 may be charged, 5.00 was."""
    record = reviewed("first", sale("FR", fulfiller_tax_charged="5.00"))
    assert told(record)[0][2] == "5.00"
    assert record["certificates"][0]["states"][0]["rests_on"] == "charged"


def test_documents_of_states_and_numbers_are_ranked_together() -> None:
    """The larger saving first; the review names what follows from a number once."""
    site = [fulfiller(ship_from=["PL", "US-IN"], transport_supply="first")]
    mine = seller(
        registration=registered("NL", "US-WA", since=SINCE), fulfiller=site, reporting_currency="EUR"
    )
    big = sale("FR", item_amount="1000.00", fulfiller_item_cost="400.00")
    record = assess(orders([big, sale("US-WA", "US-IN")]), mine, as_of=AS_OF).record()
    assert [(a["rank"], a["form"]) for a in record["certificates"]] == [(1, "vat_number"), (2, "own_number")]
    assert review_text(record).count("Weigh both") == 1
