"""Where the program does not (yet) give the answer of the paper. Each test says what the paper says."""

from __future__ import annotations

import pytest
from shop import asked, net_sale, registered, seller, union_seller


@pytest.mark.source("fi-salo-2024")
def test_a_prepayment_takes_the_rate_of_its_own_day() -> None:
    """City of Salo on the Finnish rule: stated; paid 2024-08-30 at 24 %, delivered 2024-09-05.

    A web shop is paid with the order, so ordered_on is the day of the prepayment; the program takes
    supplied_on.
    """
    sale = {"to": "FI", "item_amount": "100.00", "ordered_on": "2024-08-30", "supplied_on": "2024-09-05"}
    profile = union_seller("FI", registration=registered("FI"))
    assert asked(profile, sale, currency="EUR", tax_included="no").iloc[0].to_collect == 2400


SHIPPING_ALONE = [
    {"order_id": "A", "line_id": "goods", "item_amount": "100.00"},
    {"order_id": "A", "line_id": "shipping", "item_amount": "0.00", "shipping_amount": "10.00"},
]
"""An order whose shipping stands on a line of its own, as many exports have it."""


@pytest.mark.source("ny-tb-st-838")
def test_shipping_on_a_line_of_its_own_is_taxed_with_the_goods_of_the_order() -> None:
    """New York TB-ST-838: stated; a delivery charge on a bill with taxable goods is taxed.

    110.00 at the state's 4 %.

    The kernel looks at the goods of the charge's own line (0.00) where no line of the order is exempt in
    part.
    """
    rows = [{"to": "US-NY", **line} for line in SHIPPING_ALONE]
    assert asked(seller(registration=registered("US-NY")), *rows).to_collect_low.sum() == 440


@pytest.mark.source("ca-cdtfa-pub-100")
def test_californian_shipping_on_a_line_of_its_own_may_be_taxed() -> None:
    """California CDTFA, Publication 100: stated.

    Without a record of the postage all of a separate charge is taxable.

    High end 110.00 x 12.5 % = 13.75. The kernel asks for taxed goods on the charge's own line.
    """
    rows = [{"to": "US-CA", **line} for line in SHIPPING_ALONE]
    assert asked(seller(registration=registered("US-CA")), *rows).to_collect_high.sum() == 1375


def test_an_order_with_shipping_on_a_line_of_its_own_is_rounded_once() -> None:
    """No paper: our own rule that the lines of an order add up to its tax rounded once.

    Also with the tax inside.

    Goods 10.04 and shipping 2.52 at 19 % inside: 12.56 x 19/119 = 2.00538. The shipping line, whose goods are
    0.00, gets a denominator of its own in the kernel and is rounded alone: 1.6030 to 1.60, 0.4024 to 0.40.
    """
    profile = union_seller("DE", rounding="order")
    rows = [
        net_sale("A", "DE", "10.04", line_id="1"),
        net_sale("A", "DE", "0.00", line_id="2", shipping_amount="2.52"),
    ]
    found = asked(profile, *({**row, "tax_included": "yes"} for row in rows))
    assert found.to_collect.sum() == 201
