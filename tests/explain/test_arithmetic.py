"""Whatever the order: the arithmetic that is shown, done again, gives the figures of the review to the minor unit."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shop import fulfiller, orders, registered, seller, union_seller
from worked import ENDS, orders_tie, tax_of

from taxcalc.explain import explain
from taxcalc.reports.json_file import json_text
from taxcalc.run import assess

if TYPE_CHECKING:
    import pytest

SOME = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
STATES = (
    *(
        "US-AL",
        "US-AR",
        "US-CA",
        "US-CO",
        "US-CT",
        "US-FL",
        "US-GA",
        "US-IL",
        "US-MA",
        "US-MD",
        "US-MN",
        "US-MS",
    ),
    *(
        "US-NJ",
        "US-NV",
        "US-NY",
        "US-OR",
        "US-PA",
        "US-RI",
        "US-SC",
        "US-TN",
        "US-TX",
        "US-VA",
        "US-VT",
        "US-WA",
        "US-WI",
    ),
)
UNION = ("AT", "DE", "ES", "FR", "HU", "IE", "IT", "NL", "PL", "SE", "SK", "ES-CN")
CLASSES = ("clothing", "clothing_children", "headwear", "books", "homeware", "digital", "accessories")
HOLIDAYS = (date(2026, 8, 8), date(2026, 7, 31), date(2026, 8, 3), date(2026, 8, 17), date(2025, 8, 9))
"""Days in or beside sales-tax holidays of several states."""
US_SHOP = seller(
    registration=registered(*STATES[::2], "SK"),
    fulfiller=[fulfiller(ship_from=["US-IN", "SK"], collects_in="unknown")],
)
DE_SHOP = union_seller("DE", registration=registered("DE"), fulfiller=[fulfiller(ship_from=["DE", "PL"])])


def cents(minor: int) -> str:
    """Write cents as a plain decimal."""
    return f"{minor // 100}.{minor % 100:02}"


@st.composite
def one_line(draw: st.DrawFn, number: int, place: str, day: date) -> dict[str, str]:
    """One line: prices near the limits of item-price rules, discounts that leave odd cents, tax inside or on top."""
    quantity = draw(st.integers(1, 3))
    goods = (
        draw(st.one_of(st.integers(0, 40_000), st.sampled_from([10_999, 11_000, 17_500, 25_000, 9_999])))
        * quantity
    )
    goods = max(0, goods - draw(st.sampled_from([0, 0, 1, 333])))
    shipping = draw(st.sampled_from([0, 495, 1_000, 333]))
    return {
        "order_id": "A",
        "line_id": str(number),
        "to": place,
        "ordered_on": day.isoformat(),
        "product_class": draw(st.sampled_from(CLASSES)),
        "quantity": str(quantity),
        "item_amount": cents(goods),
        "shipping_amount": cents(shipping),
        "tax_included": draw(st.sampled_from(["", "yes", "no"])),
        "tax_collected": cents(draw(st.sampled_from([0, goods // 12]))),
        "fulfiller_item_cost": cents(goods // 2),
        "fulfiller_shipping_cost": cents(shipping // 2),
    }


@st.composite
def one_order(draw: st.DrawFn) -> list[dict[str, str]]:
    """One order of one to four lines into one or two places, refunded in parts now and then, or without its sale."""
    day = draw(st.one_of(st.sampled_from(HOLIDAYS), st.dates(date(2025, 1, 1), date(2026, 9, 1))))
    places = draw(st.lists(st.sampled_from((*STATES, *UNION)), min_size=1, max_size=2))
    currency = draw(st.sampled_from(["USD", "USD", "EUR"]))
    lines = [
        {**draw(one_line(number, draw(st.sampled_from(places)), day)), "currency": currency}
        for number in range(1, draw(st.integers(1, 4)) + 1)
    ]
    refunds = []
    for line in lines:
        for step in range(draw(st.sampled_from([0, 0, 0, 1, 2]))):
            part = int(line["item_amount"].replace(".", "")) // draw(st.integers(1, 3))
            after = (day + timedelta(days=20 + step)).isoformat()
            more = {
                "entry": "refund",
                "ordered_on": after,
                "item_amount": cents(part),
                "shipping_amount": "0.00",
            }
            none = dict.fromkeys(("tax_collected", "fulfiller_item_cost", "fulfiller_shipping_cost"), "0.00")
            refunds.append(
                {
                    **line,
                    **more,
                    **none,
                    "line_id": draw(st.sampled_from([line["line_id"], f"9{line['line_id']}"])),
                }
            )
    alone = draw(st.booleans()) and refunds
    return refunds if alone else [*lines, *refunds]


@SOME
@given(
    rows=one_order(), shop=st.sampled_from([US_SHOP, DE_SHOP]), rounding=st.sampled_from(["line", "order"])
)
def test_the_steps_done_again_give_the_figures_of_the_review(
    rows: list[dict[str, str]], shop: dict[str, Any], rounding: str
) -> None:
    """Both sides of the chain, three ends, both ways of rounding; and nothing goes out without its caution."""
    profile = {**shop, "seller": {**shop["seller"], "rounding": rounding}}
    assessment = assess(orders(rows), profile, as_of=date(2026, 11, 1))
    found = explain(assessment, "A")
    json_text(found)
    assert found["check"]["agrees"], found["check"]["differences"]
    figures = assessment.lines.sort_values(["line_id"]).reset_index(drop=True)
    assert len(found["lines"]) == len(figures)
    for side, name in (("arithmetic", "to_collect"), ("fulfiller_arithmetic", "fulfiller_tax")):
        for end in ENDS:
            column = name if end == "expected" else f"{name}_{end}"
            worked = sorted((line["line_id"], tax_of(line, side, end)) for line in found["lines"])
            assert worked == sorted(zip(figures["line_id"], figures[column].tolist(), strict=True))
            orders_tie(found["lines"], side, end)


def test_a_figure_that_does_not_come_out_again_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    """The check can fail: an engine that rounds otherwise is found out."""
    row = {"order_id": "A", "to": "US-TX", "item_amount": "10.10", "shipping_amount": "0.00"}
    assessment = assess(orders([row]), seller(registration=registered("US-TX")))
    assert explain(assessment, "A")["check"]["agrees"]
    exact = "taxcalc.explain.exact.round_fraction"
    monkeypatch.setattr(exact, lambda value: -(-value.numerator // value.denominator))
    found = explain(assessment, "A")["check"]
    assert not found["agrees"]
    assert {one["figure"] for one in found["differences"]} & {"to_collect expected", "to_collect low"}
    assert "fault of this program" in found["words"]
