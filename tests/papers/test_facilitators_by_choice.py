"""Where a marketplace may choose to collect or only to report, its sales are open until its statement is seen."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from shop import answers, orders, registered, seller

from taxcalc import assess

if TYPE_CHECKING:
    from taxcalc import Assessment


@pytest.fixture(scope="module")
def sold() -> Assessment:
    """Sell through a marketplace into Oklahoma, and into Pennsylvania on both sides of its change of law."""
    through = {"item_amount": "100.00", "channel": "marketplace", "marketplace": "m"}
    rows = [
        {"order_id": "OK", "to": "US-OK", "ordered_on": "2026-05-04", **through},
        {"order_id": "PA choice", "to": "US-PA", "ordered_on": "2019-06-30", **through},
        {"order_id": "PA duty", "to": "US-PA", "ordered_on": "2019-07-01", **through},
        {"order_id": "KY before", "to": "US-KY", "ordered_on": "2019-06-30", **through},
    ]
    profile = seller(registration=registered("US-OK", "US-PA", "US-KY"))
    return assess(orders(rows), profile, as_of=date(2026, 6, 30), period="2026-Q2")


@pytest.mark.source("ok-68-1392")
@pytest.mark.parametrize(
    ("order", "duty", "low", "some"),
    [
        pytest.param("OK", "collect", 0, True, id="Oklahoma to this day"),
        pytest.param("PA choice", "collect", 0, True, id="Pennsylvania to June 2019"),
        pytest.param("PA duty", "marketplace_collects", 0, False, id="Pennsylvania from July 2019"),
        pytest.param("KY before", "collect", 600, True, id="Kentucky before any law: the seller's own sale"),
    ],
)
def test_a_marketplace_that_may_choose_leaves_nothing_at_the_low_end(
    sold: Assessment, order: str, duty: str, low: int, *, some: bool
) -> None:
    """68 O.S. 1392: stated; each year a facilitator chooses to collect or to give notice.

    Pennsylvania: the row of us/facilitator_laws for the time before Act 13 of 2019; Kentucky's law begins on 2019-07-01.
    """
    line = answers(sold).loc[order]
    assert (line.duty, line.to_collect_low, bool(line.to_collect_high)) == (duty, low, some)


def test_the_choice_is_said(sold: Assessment) -> None:
    """The seller is told to ask the marketplace; a missing law is another thing."""
    kinds = [finding["id"] for finding in sold.record()["findings"]]
    assert "facilitator_by_election:US-OK" in kinds
    assert "no_facilitator_law:US-OK" not in kinds
