"""Where the program does not (yet) give the answer of the paper. Each test says what the paper says."""

from __future__ import annotations

from datetime import date

import pytest
from shop import answers, asked, net_sale, orders, registered, seller, spread, union_seller

from taxcalc import assess


@pytest.mark.source("ia-701-207.6")
def test_iowa_seller_whose_sales_are_all_facilitated_needs_no_permit() -> None:
    """Iowa Admin. Code 701-207.6, first example: official; all of 200,000 through a collecting facilitator: no permit
    and no return, so no interval of duty.
    """
    through = {"channel": "marketplace", "marketplace": "Y"}
    found = assess(
        orders(spread("US-IA", "200000.00", 10, date(2024, 1, 10), 30, **through)),
        seller(),
        as_of=date(2024, 12, 31),
    )
    assert found.duties[found.duties.place == "US-IA"].empty


@pytest.mark.source("pa-dor-online-retailers")
def test_pennsylvania_calendar_2018_makes_the_first_period() -> None:
    """Pennsylvania DOR, Online Retailers: official; over 100,000 in 2018, collects 2019-07-01 to 2020-03-31.

    The start rule is looked up on the day of the crossing (2018-12-31), where an older row asks nothing, instead of
    on the first day of the law that the crossing is tested under.
    """
    found = assess(
        orders(spread("US-PA", "100000.01", 10, date(2018, 2, 1), 30)), seller(), as_of=date(2020, 6, 30)
    )
    duties = found.duties[found.duties.place == "US-PA"]
    assert duties[["from", "until"]].to_numpy().tolist() == [["2019-07-01", "2020-03-31"]]


def test_before_the_first_rate_row_nothing_is_known() -> None:
    """No paper: the README of the tables says that before the first row of a key nothing is known.

    A Wisconsin sale of 2018-10-01, with a duty since that day, must not read "no general sales tax here".
    """
    profile = seller(registration=registered("US-WI"))
    line = asked(profile, {"to": "US-WI", "item_amount": "10.00", "ordered_on": "2018-10-01"}).iloc[0]
    assert (line.duty, line.reason) != ("no_tax_here", "us_no_sales_tax")


@pytest.mark.source("ecb-reference-rates", "eu-dir-2006-112-art-59c")
def test_swedish_seller_passes_the_limit_at_99_681_kronor() -> None:
    """Directive 2006/112/EC art. 59c with the ECB rate of 2017-12-05: derived; the limit of a Swedish seller is
    SEK 99 680 whatever the rate of the day is. The table eu/thresholds has the row; the walk takes EUR 10 000 at the
    rate of the order day instead.
    """
    profile = union_seller("SE", reporting_currency="SEK")
    rows = [
        {"order_id": "at", "to": "DK", "item_amount": "99680.00", "ordered_on": "2026-03-02"},
        {"order_id": "over", "to": "DK", "item_amount": "1.00", "ordered_on": "2026-03-03"},
    ]
    found = answers(assess(orders(rows, currency="SEK", tax_included="no"), profile))
    assert found.loc[["at", "over"], "place"].tolist() == ["SE", "DK"]


@pytest.mark.source("fi-salo-2024")
def test_a_prepayment_takes_the_rate_of_its_own_day() -> None:
    """City of Salo on the Finnish rule: stated; paid 2024-08-30 at 24 %, delivered 2024-09-05.

    A web shop is paid with the order, so ordered_on is the day of the prepayment; the program takes supplied_on.
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
    """New York TB-ST-838: stated; a delivery charge on a bill with taxable goods is taxed. 110.00 at the state's 4 %.

    The kernel looks at the goods of the charge's own line (0.00) where no line of the order is exempt in part.
    """
    rows = [{"to": "US-NY", **line} for line in SHIPPING_ALONE]
    assert asked(seller(registration=registered("US-NY")), *rows).to_collect_low.sum() == 440


@pytest.mark.source("ca-cdtfa-pub-100")
def test_californian_shipping_on_a_line_of_its_own_may_be_taxed() -> None:
    """California CDTFA, Publication 100: stated; without a record of the postage all of a separate charge is taxable.

    High end 110.00 x 12.5 % = 13.75. The kernel asks for taxed goods on the charge's own line.
    """
    rows = [{"to": "US-CA", **line} for line in SHIPPING_ALONE]
    assert asked(seller(registration=registered("US-CA")), *rows).to_collect_high.sum() == 1375


def test_an_order_with_shipping_on_a_line_of_its_own_is_rounded_once() -> None:
    """No paper: our own rule that the lines of an order add up to its tax rounded once, also with the tax inside.

    Goods 10.04 and shipping 2.52 at 19 % inside: 12.56 x 19/119 = 2.00538. The shipping line, whose goods are 0.00, gets
    a denominator of its own in the kernel and is rounded alone: 1.6030 to 1.60, 0.4024 to 0.40.
    """
    profile = union_seller("DE", rounding="order")
    rows = [net_sale("A", "DE", "10.04", line_id="1"), net_sale("A", "DE", "0.00", line_id="2", shipping_amount="2.52")]
    found = asked(profile, *({**row, "tax_included": "yes"} for row in rows))
    assert found.to_collect.sum() == 201
