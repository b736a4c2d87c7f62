"""The small-business scheme: what counts, across borders, beside other schemes, and what a profile leaves open.

No paper unless one is named; national limits stand in `papers/test_small_business_limits.py`.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from exempt_shop import EXEMPT, SINCE, scheme, sold
from shop import answers, orders, registered, seller, union_seller

from taxcalc import assess

if TYPE_CHECKING:
    import pandas as pd


def limit(found: Any, place: str, kind: str = "small_business") -> pd.Series:  # noqa: ANN401 - an assessment
    """Give the row of one limit."""
    rows = found.thresholds[(found.thresholds.place == place) & (found.thresholds.kind == kind)]
    assert len(rows) == 1
    return rows.iloc[0]


def said(found: Any) -> set[str]:  # noqa: ANN401 - an assessment
    """Give the ids of the findings."""
    return {each["id"] for each in found.record()["findings"]}


COUNTS = {
    "at home": (sold("x", "AT", "1000"), 100_000),
    "through a marketplace": (sold("x", "AT", "1000", channel="marketplace", marketplace="bazaar"), 100_000),
    "to a business of another state": (
        sold("x", "FR", "1000", sent_from="AT", buyer_tax_number="FR40303265045"),
        100_000,
    ),
    "to a consumer abroad, below EUR 10 000": (sold("x", "FR", "1000", sent_from="AT"), 100_000),
    "to a consumer abroad, above EUR 10 000": (sold("x", "FR", "11000", sent_from="AT"), 0),
    "export": (sold("x", "NO", "1000", sent_from="AT"), 100_000),
    "export to the United States": (sold("x", "US-OR", "1000", sent_from="AT"), 100_000),
    "digital supply to a place outside": (sold("x", "NO", "1000", product_class="digital"), 0),
    "made and sold in another state": (sold("x", "DE", "1000"), 0),
    "brought home from another state": (sold("x", "AT", "1000", sent_from="PL"), 100_000),
    "import by the customer": (sold("x", "AT", "100", sent_from="US-IN"), 0),
    "own order": (sold("x", "AT", "1000", entry="sample"), 0),
    "VAT charged by mistake": (sold("x", "AT", "1200", tax_collected="200"), 100_000),
    "shipping": (sold("x", "AT", "900", shipping_amount="100"), 100_000),
    "dollars, by the day's rate": (sold("x", "AT", "1000", currency="USD", on="2026-03-04"), None),
}


@pytest.mark.parametrize("what", COUNTS)
def test_turnover_is_what_is_supplied_in_the_state(what: str) -> None:
    """Directive 2006/112/EC art. 288, from memory: by place of supply, exports in, imports and own orders out."""
    row, counted = COUNTS[what]
    found = assess(orders([row]), union_seller("AT", registration=scheme("AT")))
    value = limit(found, "AT").value
    assert 0 < value < 100_000 if counted is None else value == counted


def test_a_refund_takes_nothing_off_and_sales_before_the_file_count() -> None:
    """Our rule as for every threshold; [[prior_sales]] of the state, in the reporting currency."""
    rows = [sold("a", "AT", "55000"), sold("a", "AT", "55000", entry="refund"), sold("b", "AT", "10")]
    prior = [{"place": "AT", "from": date(2026, 1, 1), "until": date(2026, 1, 31), "amount": "5490.00"}]
    alone = assess(orders(rows), union_seller("AT", registration=scheme("AT")))
    assert limit(alone, "AT").value == 5_501_000
    both = assess(orders(rows), union_seller("AT", registration=scheme("AT"), prior_sales=prior))
    assert limit(both, "AT").value == 6_050_000
    assert limit(both, "AT", "small_business_ceiling").status == "near"
    over = assess(
        orders([*rows, sold("c", "AT", "1")]),
        union_seller("AT", registration=scheme("AT"), prior_sales=prior),
    )
    assert limit(over, "AT", "small_business_ceiling").crossed_by == "c"


def test_the_end_of_the_exemption_is_a_duty_with_its_cause() -> None:
    """From the crossing order to the end of the closed year after; before it no duty is shown, presence or not."""
    rows = [
        sold("a", "FI", "20000"),
        sold("b", "FI", "1", "2026-03-05"),
        sold("c", "FI", "100", "2026-03-06"),
    ]
    found = assess(orders(rows), union_seller("FI", registration=scheme("FI")))
    after = found.duties[found.duties["from"] >= "2025"]
    assert after.fillna("").to_numpy().tolist() == [
        ["FI", "2026-03-05", "b", "2026-12-31", "threshold"],
        ["FI", "2027-01-01", "", "2027-12-31", "threshold"],
    ]
    row = limit(found, "FI")
    assert row[["status", "crossed_on", "crossed_by", "duty_from", "duty_until"]].tolist() == [
        "crossed",
        "2026-03-05",
        "b",
        "2026-03-05",
        "2027-12-31",
    ]
    assert answers(found).loc["c", "reason"] == "eu_small_business_over"
    assert "small_crossed:FI" in said(found)


def test_a_limit_that_is_near_is_said_with_what_passing_it_does() -> None:
    """In words, on the screen and in the record."""
    found = assess(orders([sold("a", "FI", "17000")]), union_seller("FI", registration=scheme("FI")))
    (text,) = (each["text"] for each in found.record()["findings"] if each["id"] == "small_near:FI")
    assert text == (
        "You are near the limit of EUR 20,000.00 of the small-business scheme (85 % used). From the sale that passes it on "
        "you would have to charge VAT."
    )
    (row,) = (each for each in found.record()["thresholds"] if each["place"] == "FI")
    assert (row["kind"], row["effect"], row["status"]) == ("small_business", "from_the_sale", "near")


ACROSS = [
    sold("DE 1", "DE", "20000", "2026-01-05"),
    sold("FR 1", "FR", "50000", "2026-02-05"),
    sold("AT 1", "AT", "30000", "2026-03-05"),
    sold("FR 2", "FR", "0.01", "2026-03-07"),
    sold("DE 2", "DE", "119", "2026-03-08"),
    sold("AT 2", "AT", "100", "2026-03-08"),
    sold("DE 3", "DE", "119", "2027-03-08"),
]


@pytest.mark.source("ie-tdm-sme-domestic", "eu-dir-2006-112-art-288a")
def test_the_limit_of_the_union_ends_the_exemption_in_all_other_states() -> None:
    """Art. 284(2), 288a: EUR 100 000 in the whole Union; at home the national limit alone decides."""
    profile = union_seller("AT", registration=[*scheme("AT"), *scheme("DE", "FR", identified_in="AT")])
    found = assess(orders(ACROSS), profile)
    assert answers(found).duty.to_dict() == {
        **dict.fromkeys(("DE 1", "FR 1", "AT 1", "AT 2"), EXEMPT),
        **dict.fromkeys(("FR 2", "DE 2", "DE 3"), "collect"),
    }
    as_of_2026 = assess(orders(ACROSS), profile, as_of=date(2026, 12, 31))
    row = limit(as_of_2026, "EU", "small_business_union")
    assert row[["limit", "status", "crossed_by", "duty_from"]].tolist() == [
        10_000_000,
        "crossed",
        "FR 2",
        "2026-03-07",
    ]
    causes = as_of_2026.duties.set_index("place").loc["DE"]
    assert ("2026-03-07", "FR 2", "threshold") in set(
        causes[["from", "from_order", "cause"]].itertuples(index=False, name=None)
    )


REFUSED = {
    "a seller outside the Union": (
        seller(registration=scheme("DE"), established_in=["US", "DE"]),
        "2026-03-04",
    ),
    "before 2025": (
        union_seller("AT", registration=scheme("DE", since=date(2024, 1, 1), identified_in="AT")),
        "2024-12-31",
    ),
    "a state that was not open": (
        union_seller("AT", registration=scheme("BG", identified_in="AT")),
        "2025-12-31",
    ),
    "a state without a scheme": (
        union_seller("AT", registration=scheme("ES", identified_in="AT")),
        "2026-03-04",
    ),
    "a number of a third state": (
        union_seller("AT", registration=scheme("DE", identified_in="FR")),
        "2026-03-04",
    ),
    "beside a standard registration": (
        union_seller("DE", registration=[*scheme("DE"), *registered("DE")]),
        "2026-03-04",
    ),
}


@pytest.mark.source("ie-tdm-sme-domestic")
@pytest.mark.parametrize("why", REFUSED)
def test_a_registration_that_cannot_be_has_no_effect_and_is_said(why: str) -> None:
    """The sale is taxed as if the scheme were not named."""
    profile, on = REFUSED[why]
    place = profile["registration"][0]["place"]
    found = assess(orders([sold("a", place, "1000", on)]), profile)
    assert answers(found).loc["a", ["duty", "place"]].tolist() == ["collect", place]
    assert answers(found).loc["a", "to_collect_low"] > 0
    assert f"small_refused:{place}" in said(found)


@pytest.mark.source("ie-tdm-sme-domestic")
@pytest.mark.parametrize(("on", "duty"), [("2025-12-31", "collect"), ("2026-01-01", EXEMPT)])
def test_bulgaria_is_open_to_other_states_from_2026(on: str, duty: str) -> None:
    """Its law applies the Union's rules from 2026-01-01 (revenue agency's opinion VK-30-18416)."""
    profile = union_seller("AT", registration=scheme("BG", identified_in="AT"))
    assert answers(assess(orders([sold("a", "BG", "1000", on)]), profile)).loc["a", "duty"] == duty


def test_northern_ireland_is_closed() -> None:
    """Irish Revenue, SME scheme 1.4: neither a home nor a state of the scheme."""
    profile = union_seller("DE", registration=[*scheme("XI", identified_in="DE"), *registered("DE")])
    found = answers(assess(orders([sold("a", "XI", "1000")]), profile))
    assert found.loc["a", "duty"] == "collect"


def test_above_10_000_a_sale_is_taxed_on_arrival_unless_the_scheme_covers_it_there() -> None:
    """Chain row 4 (art. 59c, 284(2)): below, located at home and exempt."""
    rows = [sold(str(month), "FR", "3000", f"2026-0{month}-05", sent_from="DE") for month in range(1, 6)]
    alone = answers(assess(orders(rows), union_seller("DE", registration=scheme("DE"))))
    assert alone.place.tolist() == ["DE", "DE", "DE", "FR", "FR"]
    assert alone.duty.tolist() == [EXEMPT] * 3 + ["collect"] * 2
    both = union_seller("DE", registration=[*scheme("DE"), *scheme("FR", identified_in="DE")])
    covered = answers(assess(orders(rows), both))
    assert covered.place.tolist() == ["DE", "DE", "DE", "FR", "FR"]
    assert covered.duty.tolist() == [EXEMPT] * 5
    assert covered.reason.tolist()[3:] == ["eu_small_business_abroad"] * 2


def test_the_price_of_an_exempt_seller_holds_no_vat_for_the_10_000() -> None:
    """10 000.01 as charged passes the limit; with German VAT taken out it would not."""
    rows = [sold("a", "FR", "10000", sent_from="DE"), sold("b", "FR", "0.01", "2026-03-05", sent_from="DE")]
    found = assess(orders(rows), union_seller("DE", registration=scheme("DE")))
    assert limit(found, "EU", "distance_sales").crossed_by == "b"


def test_a_one_stop_shop_beside_the_scheme_is_asked_about() -> None:
    """The import scheme only from the day on which the two exclude each other (2027-01-01)."""
    shops = [
        {"place": "EU", "scheme": name, "identified_in": "DE", "from": SINCE}
        for name in ("union_oss", "ioss")
    ]
    profile = union_seller("DE", registration=[*scheme("DE"), *shops])
    before = said(assess(orders([sold("a", "DE", "100")]), profile, as_of=date(2026, 12, 31)))
    assert {"small_oss:EU", "small_ioss:EU"} & before == {"small_oss:EU"}
    assert "small_ioss:EU" in said(assess(orders([sold("a", "DE", "100")]), profile, as_of=date(2027, 1, 1)))


def test_imports_are_outside_the_scheme() -> None:
    """IOSS and goods imported for the sale are taxed though the seller is exempt at home."""
    ioss = [{"place": "EU", "scheme": "ioss", "identified_in": "DE", "from": SINCE}]
    profile = union_seller("DE", registration=[*scheme("DE"), *ioss])
    line = answers(assess(orders([sold("a", "DE", "100", sent_from="US-IN")]), profile)).loc["a"]
    assert (line.duty, line.reason) == ("collect", "eu_ioss")


def test_a_silent_profile_leaves_the_exemption_open_as_the_low_end() -> None:
    """Without any registration at home, where no application is needed; over the limit it is open no more."""
    rows = [sold("a", "FI", "20000"), sold("b", "FI", "125.50", "2026-03-05")]
    found = assess(orders(rows), union_seller("FI"))
    lines = answers(found)
    assert lines.duty.tolist() == ["collect", "collect"]
    assert (lines.to_collect_low > 0).tolist() == [False, True]
    assert (lines.to_collect == lines.to_collect_high).all()
    assert "small_possible:FI" in said(found)
    assert set(found.duties.cause) == {"presence", "first_sale"}
    known = answers(assess(orders(rows), union_seller("FI", registration=registered("FI"))))
    assert (known.to_collect_low > 0).all()


def test_a_possible_exemption_reaches_what_the_10_000_keep_at_home() -> None:
    """The reason stays the limit, which decides the place; the low end is without tax."""
    found = assess(orders([sold("a", "FR", "119", sent_from="DE")]), union_seller("DE"))
    line = answers(found).loc["a"]
    assert (line.place, line.reason, line.to_collect_low, line.to_collect) == (
        "DE",
        "eu_under_limit",
        0,
        1900,
    )
    assert "small_possible:DE" in said(found)


def test_where_the_scheme_needs_an_application_a_silent_profile_is_taxed() -> None:
    """The Netherlands: on request only; the finding names the limit."""
    found = assess(orders([sold("a", "NL", "121")]), union_seller("NL"))
    assert answers(found).loc["a", "to_collect_low"] == 2100
    assert "small_on_request:NL" in said(found)


def test_an_exempt_number_of_which_no_issuer_is_named_is_taken_as_one_of_home() -> None:
    """It is used, and the assumption is listed."""
    found = assess(orders([sold("a", "DE", "1000")]), union_seller("AT", registration=scheme("DE")))
    assert answers(found).loc["a", "reason"] == "eu_small_business_abroad"
    assert any(each.startswith("DE: identified_in is not given") for each in found.record()["assumptions"])


def test_the_fulfillers_vat_on_exempt_sales_is_a_cost() -> None:
    """Art. 289: no deduction. Named with its amount, in no other figure."""
    row = sold("a", "DE", "100", fulfiller_item_cost="100.00")
    found = assess(orders([row]), union_seller("DE", registration=scheme("DE")), period="2026-Q1")
    amounts = {each["id"]: each["amount"] for each in found.record()["findings"]}
    assert amounts["small_no_input_vat:DE"] == "19.00"
