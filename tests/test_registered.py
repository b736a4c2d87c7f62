"""Findings on registrations and thresholds: charging, nil returns, marketplaces, duties from before the files."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import orders, registered, seller, spread

from taxcalc import assess
from taxcalc.reports.terminal import review_text

AS_OF = date(2026, 10, 5)
LATE_SUMMER = {"ordered_on": "2026-08-03", "item_amount": "100.00"}


def record_of(rows: list[dict[str, str]], profile: dict[str, Any], **more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Assess some orders and give the record of the third quarter, unless told otherwise."""
    return assess(orders(rows), profile, as_of=AS_OF, **{"period": "2026-Q3", **more}).record()


def found(rows: list[dict[str, str]], profile: dict[str, Any], **more: Any) -> dict[str, dict[str, Any]]:  # noqa: ANN401
    """Give the findings of some orders by id."""
    return {finding["id"]: finding for finding in record_of(rows, profile, **more)["findings"]}


def test_a_past_duty_is_the_first_line_whatever_else_is_found() -> None:
    """The warning about disclosure comes before every other finding, in the record and on the screen."""
    rows = [
        {"to": "US-GA", "ordered_on": "2025-02-03", "item_amount": "1000.00"},
        {"to": "US-WA", **LATE_SUMMER},
        {"to": "US-CO", "tax_collected": "500.00", **LATE_SUMMER},
    ]
    profile = seller(
        registration=registered("US-WA"),
        presence=[{"place": "US-GA", "kind": "stock", "from": date(2025, 1, 1)}],
    )
    record = record_of(rows, profile)
    first = record["findings"][0]
    assert first["id"] == "past_duty:US-GA"
    assert "disclosure before you register" in first["text"]
    shown = review_text(record).split("What needs attention first")[1]
    assert shown.index("A duty in the past") < min(
        shown.index(words) for words in ("Registered, but not", "Collected without", "Not collected:")
    )


@pytest.mark.parametrize(
    ("tax", "since", "said"),
    [
        pytest.param("0.00", date(2020, 1, 1), True, id="nothing charged"),
        pytest.param("0.01", date(2020, 1, 1), False, id="too little charged is another finding"),
        pytest.param("20.00", date(2020, 1, 1), False, id="enough charged"),
        pytest.param("0.00", date(2026, 10, 1), False, id="registered after the period"),
    ],
)
def test_registered_and_not_charging_is_said(tax: str, since: date, *, said: bool) -> None:
    """With what was not collected in the period."""
    rows = [{"to": "US-WA", "tax_collected": tax, **LATE_SUMMER}]
    kinds = found(rows, seller(registration=registered("US-WA", since=since)))
    assert ("registered_not_charging:US-WA" in kinds) == said
    if said:
        assert kinds["registered_not_charging:US-WA"]["amount"] == kinds["not_collected:US-WA"]["amount"]


@pytest.mark.practice
def test_a_quarter_without_sales_under_a_registration_asks_for_a_nil_return() -> None:
    """Common practice, no source. A refund is a line; a quarter that is not over or not reached asks for nothing."""
    rows = [
        {"to": "US-WA", **LATE_SUMMER},
        {"to": "US-CO", "ordered_on": "2026-05-04", "item_amount": "10.00"},
    ]
    profile = seller(registration=registered("US-WA", "US-TX", since=date(2026, 5, 1)))
    kinds = found(rows, profile, period=(date(2026, 1, 1), date(2026, 12, 31)))
    assert "2026-Q2:" in kinds["nil_return:US-WA"]["text"]
    assert "no sale in 2026-Q2, 2026-Q3:" in kinds["nil_return:US-TX"]["text"]
    assert "nil_return:US-CO" not in kinds


def test_nil_returns_end_with_the_registration() -> None:
    """Deregistered at the end of June: the third quarter asks for nothing."""
    profile = seller(registration=registered("US-TX", until=date(2026, 6, 30)))
    assert "nil_return:US-TX" not in found([{"to": "US-WA", **LATE_SUMMER}], profile)


@pytest.mark.parametrize(
    ("own", "said"),
    [
        pytest.param("0.00", True, id="marketplace sales alone"),
        pytest.param("50000.00", True, id="own sales below the limit"),
        pytest.param("100000.01", False, id="own sales cross it alone"),
    ],
)
def test_a_threshold_met_only_with_marketplace_sales_is_said(own: str, *, said: bool) -> None:
    """Washington counts them: 100,000 of gross income a year (from 2020)."""
    rows = spread("US-WA", "110000.00", 10, date(2026, 2, 1), channel="marketplace", marketplace="m")
    rows += [{"order_id": "own", "to": "US-WA", "item_amount": own, "ordered_on": "2026-01-05"}]
    kinds = found(rows, seller())
    assert any(name.startswith("crossed") for name in kinds)
    assert ("marketplace_crossing:US-WA" in kinds) == said


def test_nothing_is_said_of_marketplaces_where_earlier_sales_have_no_channel() -> None:
    """[[prior_sales]] does not say through whom they went."""
    rows = spread("US-WA", "110000.00", 10, date(2026, 2, 1), channel="marketplace", marketplace="m")
    prior = {"place": "US-WA", "from": date(2025, 1, 1), "until": date(2025, 12, 31), "amount": "40000.00"}
    assert "marketplace_crossing:US-WA" not in found(rows, seller(prior_sales=[prior]))


@pytest.mark.parametrize(
    ("since", "said"),
    [
        pytest.param(None, True, id="never registered"),
        pytest.param(date(2025, 12, 1), False, id="registered before the files"),
        pytest.param(date(2026, 8, 1), True, id="registered later"),
    ],
)
def test_a_duty_from_before_the_files_is_said(since: date | None, *, said: bool) -> None:
    """Georgia was crossed by the sales before the files; what they lacked is in no figure."""
    prior = {"place": "US-GA", "from": date(2025, 1, 1), "until": date(2025, 12, 31), "amount": "150000.00"}
    more = {"registration": registered("US-GA", since=since)} if since else {}
    kinds = found([{"to": "US-GA", **LATE_SUMMER}], seller(prior_sales=[prior], **more))
    assert ("duty_before_files:US-GA" in kinds) == said
    if said:
        assert "2026-08-03" in kinds["duty_before_files:US-GA"]["text"]


def test_a_duty_that_began_inside_the_files_is_not_called_older() -> None:
    """Presence from the day of the first order on."""
    here = [{"place": "US-GA", "kind": "stock", "from": date(2026, 8, 3)}]
    assert "duty_before_files:US-GA" not in found([{"to": "US-GA", **LATE_SUMMER}], seller(presence=here))


@pytest.mark.source("wa-dor-marketplace-sellers", "tax-foundation-2026-01")
@pytest.mark.parametrize(
    ("place", "words"),
    [
        pytest.param("US-WA", "Business and occupation tax: it comes beside", id="beside the sales tax"),
        pytest.param("US-HI", "General excise tax: what is computed here", id="computed like one"),
        pytest.param("US-TX", None, id="a state without a row"),
    ],
)
def test_a_tax_on_turnover_is_named_where_there_is_a_duty(place: str, words: str | None) -> None:
    """Without a duty nothing is said."""
    row = {"to": place, **LATE_SUMMER}
    bound = found([row], seller(registration=registered(place))).get(f"turnover_tax:{place}")
    assert (bound["text"].startswith(words) if bound and words else bound is None) is True
    assert f"turnover_tax:{place}" not in found([row], seller())
