"""One-stop-shop returns: days, rates of exchange and contents as authorities state them; amounts are ours."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import asked, fulfiller, net_sale, orders, registered, seller, union_seller

from taxcalc import assess

LONG_SINCE = date(2021, 7, 1)
CHOICE = [{"name": "eu_tax_at_destination", "from": date(2022, 1, 1)}]
IOSS = registered("EU", since=LONG_SINCE, scheme="ioss", identified_in="NL")


def union_shop(state: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build a shop in the Union scheme that is taxed on arrival."""
    held = [*registered(state), *registered("EU", since=LONG_SINCE, scheme="union_oss", identified_in=state)]
    return union_seller(state, registration=held, election=CHOICE, **more)


def returns(profile: dict[str, Any], period: str, *rows: dict[str, str]) -> dict[str, dict[str, Any]]:
    """Give the returns of a quarter by their period."""
    record = assess(orders(rows), profile, as_of=date(2026, 11, 20), period=period).record()
    return {each["period"]: each for each in record["one_stop_shop"]}


@pytest.mark.source("se-skv-oss", "eu-com-explanatory-notes-2027")
def test_days_on_which_returns_are_due() -> None:
    """Swedish Tax Agency: Q3 by 31 October, import scheme July by 31 August; Commission question 3: September by 31 October."""
    sale = net_sale("A", "FR", "100.00", "2026-08-03")
    assert returns(union_shop("SE"), "2026-Q3", sale)["2026-Q3"]["due"] == "2026-10-31"
    monthly = returns(seller(registration=IOSS), "2026-Q3", {**sale, "sent_from": "US-IN"})
    assert {period: each["due"] for period, each in monthly.items()} == {
        "2026-07": "2026-08-31",
        "2026-08": "2026-09-30",
        "2026-09": "2026-10-31",
    }


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_an_import_under_the_scheme_is_of_the_day_of_its_payment() -> None:
    """Art. 369n in the Commission's notes: chargeable when the payment is accepted, not when the parcel is sent.

    Estonia went from 22 to 24 % on 2025-07-01 (press of June 2025).
    """
    late = net_sale("A", "FR", "100.00", "2026-08-31", supplied_on="2026-09-02", sent_from="US-IN")
    above = net_sale("B", "FR", "150.01", "2026-08-31", supplied_on="2026-09-02", sent_from="US-IN")
    monthly = returns(seller(registration=IOSS), "2026-Q3", late, above)
    assert {
        period: [row["taxable_amount"] for row in each["supplies"]] for period, each in monthly.items()
    } == {
        "2026-07": [],
        "2026-08": ["100.00"],
        "2026-09": [],
    }
    estonian = {"ordered_on": "2025-06-30", "supplied_on": "2025-07-02", "sent_from": "US-IN"}
    sold = {"late": {}, "by the fulfiller": {"fulfiller": "importer"}, "inside": {"sent_from": "PL"}}
    profile = seller(
        registration=IOSS, fulfiller=[fulfiller(), fulfiller(id="importer", importer="fulfiller")]
    )
    found = asked(
        profile, *(net_sale(name, "EE", "100.00", **{**estonian, **more}) for name, more in sold.items())
    )
    assert found["to_collect"].to_dict() == {"late": 2200, "by the fulfiller": 2400, "inside": 2400}


@pytest.mark.source("se-skv-oss")
def test_a_quarter_without_sales_still_asks_for_a_return() -> None:
    """Swedish Tax Agency: stated; a nil return is required."""
    nothing = returns(union_shop("SE"), "2026-Q3", net_sale("A", "FR", "100.00", "2026-05-04"))["2026-Q3"]
    assert (nothing["nil"], nothing["due"]) == (True, "2026-10-31")


@pytest.mark.source("ecb-reference-rates", "eu-dir-2006-112-art-366")
@pytest.mark.parametrize(
    ("period", "day", "currency", "amount", "euro"),
    [
        pytest.param(
            "2026-Q3", "2026-08-03", "SEK", "11331.00", "1000.00", id="last day of the quarter, 11.3310"
        ),
        pytest.param(
            "2024-Q1",
            "2024-02-05",
            "USD",
            "1074.90",
            "1000.00",
            id="Easter: next publication on 2 April 2024",
        ),
    ],
)
def test_amounts_of_a_return_at_the_rate_of_its_last_day_or_the_next(
    period: str, day: str, currency: str, amount: str, euro: str
) -> None:
    """Art. 366, 369h with the ECB's history file: derived; SEK 11.3310 on 2026-09-30, USD 1.0749 on 2024-04-02."""
    sale = net_sale("A", "FR", amount, day, currency=currency)
    (supply,) = returns(union_shop("SE"), period, sale)[period]["supplies"]
    assert supply["taxable_amount"] == euro


@pytest.mark.source("eu-dir-2006-112-art-369k")
def test_records_are_kept_ten_years_from_the_end_of_the_year() -> None:
    """Art. 369k(2): stated; a sale of 2026-03-05 is kept until 2036-12-31 (derived)."""
    found = returns(union_shop("DE"), "2026-Q1", net_sale("A", "FR", "100.00", "2026-03-05"))["2026-Q1"]
    assert found["records_kept_until"] == "2036-12-31"


@pytest.mark.source("eu-com-explanatory-notes-2027")
def test_a_return_names_the_state_of_dispatch_and_holds_no_input_vat() -> None:
    """Commission's scenarios 18 and 19: stated; a Polish seller with stock in Germany selling to the Netherlands and France."""
    shop = union_shop("PL", fulfiller=[fulfiller(ship_from=["DE"])])
    billed = {"fulfiller_item_cost": "40.00", "fulfiller_tax_charged": "7.60"}
    rows = [net_sale(to, to, "100.00", "2026-08-03", **billed) for to in ("NL", "FR")]
    found = returns(shop, "2026-Q3", *rows)["2026-Q3"]
    named = [
        (row["member_state_of_consumption"], row["member_state_of_dispatch"]) for row in found["supplies"]
    ]
    assert named == [("FR", "DE"), ("NL", "DE")]
    assert found["payable"]["vat_amount"]["expected"] == "41.00"
