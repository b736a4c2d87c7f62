"""Duties that end and begin again, registrations that do not fit, and what is said of both."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from shop import fulfiller, orders, registered, seller, union_seller

from taxcalc import assess

AS_OF = date(2026, 10, 5)
EUROS = {"currency": "EUR", "fulfiller_item_cost": "40.00", "fulfiller_currency": "EUR"}
ON_ARRIVAL = [{"name": "eu_tax_at_destination", "from": date(2026, 1, 1)}]


def record_of(rows: list[dict[str, str]], profile: dict[str, Any], **more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Assess some orders and give the record."""
    return assess(orders(rows), profile, as_of=AS_OF, **more).record()


def kinds_of(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give findings by id."""
    return {finding["id"]: finding for finding in record["findings"]}


def scheme(name: str, member: str) -> list[dict[str, Any]]:
    """Write a registration for one of the Union's schemes."""
    return [{"place": "EU", "scheme": name, "identified_in": member, "from": date(2018, 1, 1)}]


def test_a_second_stretch_of_duty_leaves_out_the_first() -> None:
    """Two registrations with a year between them: since duty began is since the second."""
    twice = [
        *registered("US-WA", since=date(2024, 1, 1), until=date(2024, 6, 30)),
        *registered("US-WA", since=date(2026, 1, 1)),
    ]
    rows = [
        {"to": "US-WA", "item_amount": "1000.00", "ordered_on": "2024-02-01"},
        {"to": "US-WA", "item_amount": "1000.00", "ordered_on": "2026-02-01"},
    ]
    once = record_of(rows[1:], seller(registration=twice))["places"][0]["since_duty"]
    both = record_of(rows, seller(registration=twice))["places"][0]["since_duty"]
    assert both == once
    assert (both["from"], both["to_collect"]["low"]) == ("2026-01-01", "65.00")  # WA state rate 6.5 %


def test_a_duty_that_ended_says_so_and_its_lack_is_found() -> None:
    """Nothing was collected under a registration that ended in 2025: the lack stays a finding."""
    rows = [
        {"to": "US-WA", "item_amount": "1000.00", "ordered_on": "2024-02-01"},
        {"to": "US-WA", "item_amount": "1000.00", "ordered_on": "2026-08-01"},
    ]
    record = record_of(rows, seller(registration=registered("US-WA", until=date(2025, 12, 31))))
    place = record["places"][0]
    assert (place["duty_from"], place["duty_until"]) == ("2018-01-01", "2025-12-31")
    found = kinds_of(record)["not_collected_earlier:US-WA"]
    assert found["amount"] == place["since_duty"]["shortfall"]["expected"] != "0.00"


def test_a_refund_in_a_later_quarter_keeps_low_below_high() -> None:
    """The ends of a sale turn around when it is refunded."""
    sale = {"order_id": "x", "to": "US-WA", "item_amount": "100.00", "tax_collected": "9.51"}
    rows = [
        {**sale, "ordered_on": "2026-05-01"},
        {**sale, "ordered_on": "2026-08-01", "entry": "refund"},
    ]
    record = record_of(rows, seller(registration=registered("US-WA")))
    ranges = [
        part[name]
        for place in (*record["places"], record["totals"])
        for part in (place, place["since_duty"])
        if part
        for name in ("to_collect", "shortfall")
    ]
    assert record["places"][0]["to_collect"]["high"] == "-6.50"
    for ends in ranges:
        assert Decimal(ends["low"]) <= Decimal(ends["expected"]) <= Decimal(ends["high"])


@pytest.mark.parametrize(
    "profile",
    [
        pytest.param(seller(region="US-CA", established_on=None), id="a state"),
        pytest.param(union_seller("DE", established_on=None), id="a member state"),
    ],
)
def test_without_a_day_of_establishment_the_duty_begins_with_the_first_order(profile: dict[str, Any]) -> None:
    """No day long before the shop is ever shown."""
    to = profile["seller"].get("region") or "DE"
    rows = [{"to": to, "item_amount": "100.00", "ordered_on": "2026-05-04"}]
    assert record_of(rows, profile)["places"][0]["duty_from"] == "2026-05-04"


def test_a_duty_renewed_without_a_gap_is_one_stretch_to_its_end() -> None:
    """Missouri looks at each quarter's end; a duty that goes on waits for no new own sale.

    The windows to 2025-03-31 and to 2025-12-31 hold the sale: 2025-07-01 to twelve months after 2026-04-01.
    """
    rows = [
        {"order_id": "a", "to": "US-MO", "item_amount": "100001.00", "ordered_on": "2025-02-10"},
        {"order_id": "b", "to": "US-MO", "item_amount": "1.00", "ordered_on": "2026-09-02"},
    ]
    found = assess(orders(rows), seller(), as_of=AS_OF)
    row = found.thresholds.iloc[0]
    assert (row.duty_from, row.duty_until) == ("2025-07-01", "2027-03-31")
    starts = found.duties[found.duties.place == "US-MO"]["from"].tolist()
    assert starts == ["2025-07-01", "2025-10-01", "2026-01-01", "2026-04-01"]


@pytest.mark.parametrize(
    ("profile", "sent_from", "expected"),
    [
        pytest.param(
            union_seller("PL", registration=scheme("union_oss", "PL")),
            "DE",
            {"past_duty:DE", "local_registration:DE"},
            id="the Union scheme covers nothing inside one member state",
        ),
        pytest.param(
            seller(registration=scheme("ioss", "IE")),
            "PL",
            {"past_duty:DE", "one_stop_shop:DE"},
            id="the import scheme covers nothing that starts in the Union",
        ),
        pytest.param(
            seller(registration=scheme("non_union_oss", "IE")),
            "PL",
            {"past_duty:DE", "one_stop_shop:DE"},
            id="the non-Union scheme covers services only",
        ),
        pytest.param(
            seller(registration=scheme("union_oss", "PL")),
            "PL",
            set(),
            id="the Union scheme covers goods from one member state to another",
        ),
    ],
)
def test_a_scheme_serves_only_the_supplies_it_is_made_for(
    profile: dict[str, Any], sent_from: str, expected: set[str]
) -> None:
    """Source of the scopes: Directive 2006/112/EC, art. 358a-369x."""
    rows = [{"to": "DE", "item_amount": "119.00", "sent_from": sent_from, **EUROS}]
    found = set(kinds_of(record_of(rows, profile, period="2026-Q2")))
    asked = {"past_duty:DE", "local_registration:DE", "one_stop_shop:DE", "duty_before_registration:DE"}
    assert found & asked == expected


@pytest.mark.parametrize(
    ("row", "profile", "kind"),
    [
        pytest.param(
            {"to": "US-KS", "item_amount": "120000.00", "channel": "marketplace", "marketplace": "b"},
            seller(),
            "crossed_without_duty",
            id="facilitated sales only",
        ),
        pytest.param({"to": "US-AL", "item_amount": "400000.00"}, seller(), "crossed_ahead", id="next year"),
        pytest.param(
            {"to": "US-GA", "item_amount": "400000.00"},
            seller(registration=registered("US-GA")),
            "crossed_registered",
            id="registered",
        ),
        pytest.param({"to": "US-GA", "item_amount": "400000.00"}, seller(), "crossed", id="bound by now"),
    ],
)
def test_a_crossed_limit_says_what_follows_from_it(
    row: dict[str, str], profile: dict[str, Any], kind: str
) -> None:
    """Only one that binds now is said to have bound."""
    found = kinds_of(record_of([row], profile))
    assert {name for name in found if name.startswith("crossed")} == {f"{kind}:{row['to']}"}


@pytest.mark.parametrize(
    ("supply", "kinds"),
    [
        pytest.param("first", set(), id="stated, so not open"),
        pytest.param(
            "unset",
            {"transport_open_no_number:EU", "transport_open_own_sales:DE"},
            id="open: no charge hangs on it without a number, but the own sales do",
        ),
    ],
)
def test_no_charge_hangs_on_the_transport_while_the_fulfiller_has_no_number(
    supply: str, kinds: set[str]
) -> None:
    """Without a number its VAT is the same either way; the sum of the seller's own sales is named by state."""
    site = [fulfiller(ship_from=["PL"], transport_supply=supply)]
    profile = seller(fulfiller=site, reporting_currency="EUR")
    rows = [{"to": "DE", "item_amount": "119.00", "sent_from": "PL", **EUROS}]
    found = kinds_of(record_of(rows, profile, period="2026-Q2"))
    assert {name for name in found if name.startswith("transport")} == kinds
    assert {name: found[name]["amount"] for name in kinds} == {
        name: "19.00" if name == "transport_open_own_sales:DE" else None for name in kinds
    }


def test_tax_of_the_fulfiller_on_the_retail_price_may_be_set_off() -> None:
    """Massachusetts taxes the retail price; the seller's own debt stays whole."""
    here = [{"place": "US-MA", "kind": "staff", "from": date(2020, 1, 1)}]
    rows = [
        {
            "to": "US-MA",
            "item_amount": "100.00",
            "fulfiller_item_cost": "40.00",
            "fulfiller_tax_charged": "6.25",
        }
    ]
    record = record_of(rows, seller(presence=here), period="2026-Q2")
    assert kinds_of(record)["possible_offset:US-MA"]["amount"] == "6.25"
    assert record["totals"]["shortfall"]["expected"] == "6.25"  # MA rate 6.25 %


def test_a_past_duty_names_only_the_lack_of_sales_that_no_registration_serves() -> None:
    """The Union one-stop shop serves what comes from another member state, not what starts in Germany as well.

    19 % inside 119.00 and inside 238.00: 19.00 and 38.00. Source: Directive 2006/112/EC, art. 369a-369k.
    """
    rows = [
        {"to": "DE", "item_amount": "119.00", "sent_from": "DE", **EUROS},
        {"to": "DE", "item_amount": "238.00", "sent_from": "PL", **EUROS},
    ]
    profile = union_seller("PL", registration=scheme("union_oss", "PL"), election=ON_ARRIVAL)
    found = kinds_of(record_of(rows, profile, period="2026-Q2"))
    assert found["past_duty:DE"]["amount"] == "19.00"
    assert found["not_collected:DE"]["amount"] == "57.00"
    assert found["local_registration:DE"]["amount"] == "19.00"
    assert "not_collected_earlier:DE" not in found
    found = kinds_of(record_of(rows, profile, period="2026-Q3"))
    assert found["past_duty:DE"]["amount"] == "19.00"
    assert found["not_collected_earlier:DE"]["amount"] == "38.00"


def test_a_scheme_joined_late_is_told_apart_from_sales_it_never_serves() -> None:
    """Both lacks, each under its own name."""
    rows = [
        {"to": "DE", "item_amount": "119.00", "sent_from": "DE", "ordered_on": "2026-05-04", **EUROS},
        {"to": "DE", "item_amount": "238.00", "sent_from": "PL", "ordered_on": "2026-05-04", **EUROS},
    ]
    late = [{**scheme("union_oss", "PL")[0], "from": date(2026, 7, 1)}]
    profile = union_seller("PL", registration=late, election=ON_ARRIVAL)
    found = kinds_of(record_of(rows, profile, period="2026-Q3"))
    assert found["past_duty:DE"]["amount"] == "19.00"
    assert found["duty_before_registration:DE"]["amount"] == "38.00"


@pytest.mark.parametrize(
    ("ordered", "supplied", "duty"),
    [
        pytest.param("2026-06-30", "", "below_threshold", id="before it"),
        pytest.param("2026-06-29", "2026-06-30", "below_threshold", id="dispatched the day before"),
        pytest.param("2026-06-29", "2026-07-01", "collect", id="ordered before, dispatched on its first day"),
        pytest.param("2026-08-31", "2026-08-31", "collect", id="dispatched on its last day"),
        pytest.param("2026-08-31", "2026-09-01", "below_threshold", id="ordered in it, dispatched after it"),
    ],
)
@pytest.mark.parametrize("cause", ["registration", "presence"])
def test_a_registration_or_presence_has_to_hold_at_the_tax_point(
    cause: str, ordered: str, supplied: str, duty: str
) -> None:
    """Common practice, no source: a sale falls into the time in which it is supplied."""
    span = {"from": date(2026, 7, 1), "until": date(2026, 8, 31)}
    kinds = {"registration": {"scheme": "standard"}, "presence": {"kind": "staff"}}
    profile = seller(**{cause: [{"place": "US-WA", **kinds[cause], **span}]})
    row = {"to": "US-WA", "item_amount": "100.00", "ordered_on": ordered, "supplied_on": supplied}
    lines = assess(orders([row]), profile, as_of=AS_OF).lines
    assert lines["duty"].tolist() == [duty]


def test_a_threshold_binds_by_the_order_whatever_the_day_of_dispatch() -> None:
    """Georgia from 2020: more than 100 000 dollars or 200 sales; an order placed before the crossing stays free."""
    rows = [
        {
            "order_id": "before",
            "item_amount": "10.00",
            "ordered_on": "2026-03-01",
            "supplied_on": "2026-03-20",
        },
        {"order_id": "crossing", "item_amount": "100001.00", "ordered_on": "2026-03-02"},
        {"order_id": "after", "item_amount": "10.00", "ordered_on": "2026-03-03"},
    ]
    found = assess(orders([{"to": "US-GA", **row} for row in rows]), seller(), as_of=AS_OF)
    duty = found.lines.set_index("order_id")["duty"].to_dict()
    assert (duty["before"], duty["after"]) == ("below_threshold", "collect")


def test_a_refund_without_its_sale_goes_by_the_day_of_that_sale() -> None:
    """Its own dispatch day changes nothing: the registration began after the sale."""
    row = {"to": "US-WA", "entry": "refund", "item_amount": "50.00", "original_ordered_on": "2026-06-01"}
    profile = seller(registration=registered("US-WA", since=date(2026, 7, 1)))
    rows = [{**row, "ordered_on": "2026-08-01", "supplied_on": "2026-08-03"}]
    assert assess(orders(rows), profile, as_of=AS_OF).lines["to_collect"].tolist() == [0]
