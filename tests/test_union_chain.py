"""Findings about the chain of two sales in the Union: what hangs on the transport, and the reverse charge."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import certificate, fulfiller, orders, registered, union_seller

from taxcalc import assess

SINCE = date(2024, 1, 1)
AS_OF = date(2026, 7, 20)


def sale(to: str, leaves: str = "PL", day: str = "2026-05-04") -> dict[str, str]:
    """Write one order of 100.00 that costs the seller 40.00, both net."""
    prices = {
        "item_amount": "100.00",
        "fulfiller_item_cost": "40.00",
        "currency": "EUR",
        "tax_included": "no",
    }
    return {"to": to, "sent_from": leaves, "ordered_on": day, **prices}


def german(**more: Any) -> dict[str, Any]:  # noqa: ANN401 - values of a profile
    """Build a German seller, registered at home, that gave its number to a fulfiller in Poland."""
    site = {"ship_from": ["PL"], "collects_in": "unknown", **more.pop("site", {})}
    return union_seller(
        "DE",
        **{
            "registration": registered("DE", since=SINCE),
            "certificate": [certificate("EU", "vat_number", "DE", SINCE)],
            "fulfiller": [fulfiller(**site)],
            **more,
        },
    )


def findings(profile: dict[str, Any], *rows: dict[str, str]) -> dict[tuple[str, str | None], dict[str, Any]]:
    """Give the findings of the second quarter of 2026 by kind and place."""
    found = assess(orders(rows), profile, as_of=AS_OF, period="2026-Q2").record()["findings"]
    return {(one["kind"], one["place"]): one for one in found}


def amounts(found: dict[tuple[str, str | None], dict[str, Any]], kind: str) -> dict[str | None, str]:
    """Give the amounts of one kind by place."""
    return {place: one["amount"] for (of, place), one in found.items() if of == kind}


@pytest.mark.source("eu-dir-2006-112-art-36a", "eu-com-quick-fixes-2020")
@pytest.mark.parametrize(
    ("sender", "number", "words"),
    [
        pytest.param("fulfiller", "DE", "points to the fulfiller's sale", id="the fulfiller sends"),
        pytest.param(
            "seller", "DE", "points to the fulfiller's sale", id="the seller sends, no number of dispatch"
        ),
        pytest.param(
            "seller", "PL", "points to your own sale", id="the seller sends, with its number of dispatch"
        ),
        pytest.param("customer", "DE", "points to your own sale", id="the customer sends"),
    ],
)
def test_an_open_transport_names_both_sums_and_where_the_law_points(
    sender: str, number: str, words: str
) -> None:
    """Art. 36a(1) and (2), Commission's notes: rows of eu/transport. 23 % of 40.00 there, 20 % and 25 % of 100.00 here."""
    papers = [certificate("EU", "vat_number", state, SINCE) for state in sorted({"DE", number})]
    mine = german(site={"transport_arranged_by": sender}, certificate=papers)
    found = findings(mine, sale("FR"), sale("SE"), sale("DE"))
    assert amounts(found, "transport_open") == {"EU": "27.60"}
    assert words in found["transport_open", "EU"]["text"]
    assert "professional" in found["transport_open", "EU"]["text"]
    assert amounts(found, "transport_open_own_sales") == {"FR": "20.00", "SE": "25.00"}
    assert ("local_after_transport", "FR") not in found


def test_a_transport_with_the_first_sale_makes_own_sales_local() -> None:
    """Art. 36a(1), 40, 31: outside the one-stop shop; where the seller is registered nothing new is needed (rows 5 and 7)."""
    found = findings(german(site={"transport_supply": "first"}), sale("FR"), sale("DE"))
    assert amounts(found, "local_after_transport") == {"FR": "20.00"}
    assert "one-stop shop does not cover" in found["local_after_transport", "FR"]["text"]
    kinds = {kind for kind, _ in found}
    assert not kinds & {"transport_open", "transport_open_own_sales", "local_registration", "one_stop_shop"}
    registrations = registered("DE", "FR", since=SINCE)
    there = findings(german(site={"transport_supply": "first"}, registration=registrations), sale("FR"))
    assert not amounts(there, "local_after_transport")


def test_a_union_one_stop_shop_does_not_serve_sales_that_the_transport_makes_local() -> None:
    """Art. 369a: the scheme is for distance sales; the finding stays."""
    shop = registered("EU", since=SINCE, scheme="union_oss", identified_in="DE")
    registrations = [*registered("DE", since=SINCE), *shop]
    found = findings(german(site={"transport_supply": "first"}, registration=registrations), sale("FR"))
    assert amounts(found, "local_after_transport") == {"FR": "20.00"}


def test_exempt_sales_to_businesses_ask_for_a_number_where_the_goods_leave() -> None:
    """Art. 138, 262, from memory; and whoever sells from there asks for no refund there (Directive 2008/9/EC art. 3)."""
    order = {**sale("FR"), "buyer_tax_number": "FR40303265045"}
    mine = german(site={"transport_supply": "second"})
    assert amounts(findings(mine, order), "exempt_sales_from_here") == {"PL": "23.00"}
    (poland,) = assess(orders([order]), mine, as_of=AS_OF).record()["fulfiller_tax_split"]
    assert [way["route"] for way in poland["ways"]] == ["after_registering"]
    there = german(site={"transport_supply": "second"}, registration=registered("DE", "PL", since=SINCE))
    assert not amounts(findings(there, order), "exempt_sales_from_here")


def test_the_second_sale_hangs_on_nothing() -> None:
    """The choice is made; the distance sale goes into the one-stop shop."""
    found = findings(german(site={"transport_supply": "second"}), sale("FR"))
    assert not {kind for kind, _ in found} & {
        "transport_open",
        "transport_open_no_number",
        "transport_open_own_sales",
        "local_after_transport",
    }


@pytest.mark.source("fr-bofip-decla-10-10-20", "de-ustg-13b", "nl-belastingdienst-reverse")
@pytest.mark.parametrize(
    ("state", "numbers", "named"),
    [
        pytest.param("FR", ("FR",), True, id="France: the buyer's French number is enough"),
        pytest.param("FR", (), False, id="France: without a number the seller cannot account for it"),
        pytest.param("DE", ("DE",), False, id="Germany: not for plain goods"),
        pytest.param("NL", ("NL",), False, id="Netherlands: the buyer must be established there"),
        pytest.param("ES", (), True, id="Spain: any business"),
    ],
)
def test_the_reverse_charge_is_named_where_the_state_uses_it(
    state: str,
    numbers: tuple[str, ...],
    named: bool,  # noqa: FBT001 - drawn
) -> None:
    """Art. 194 in French doctrine, German UStG 13b, the Dutch administration; Spain by Ley 37/1992 art. 84."""
    mine = union_seller(
        "IE",
        registration=registered("IE", *numbers, since=SINCE),
        fulfiller=[fulfiller(ship_from=[state], collects_in="unknown")],
    )
    found = findings(mine, sale(state, state))
    assert (("reverse_charge", state) in found) == named
    assessment = assess(orders([sale(state, state)]), mine, as_of=AS_OF)
    assert any("taken to be established" in words for words in assessment.record()["assumptions"])
    line = assessment.lines.iloc[0]
    assert line.fulfiller_tax_low == line.fulfiller_tax > 0


@pytest.mark.parametrize(
    ("collects_in", "low", "named"),
    [
        pytest.param("all", 800, False, id="it collects everywhere"),
        pytest.param("unknown", 800, True, id="not known"),
        pytest.param([{"place": "FR", "from": SINCE}], 800, False, id="it collects here"),
        pytest.param([{"place": "PL", "from": SINCE}], 0, True, id="it collects in other member states only"),
        pytest.param(
            [{"place": "US-IN", "from": SINCE}], 800, False, id="a list of states says nothing here"
        ),
    ],
)
def test_only_a_fulfiller_that_does_not_collect_here_may_leave_the_vat_out(
    collects_in: Any,  # noqa: ANN401 - a value of a profile
    low: int,
    named: bool,  # noqa: FBT001 - drawn
) -> None:
    """Art. 194, our rule: the VAT stays expected, because whoever makes goods somewhere is mostly established there."""
    mine = union_seller(
        "IE",
        registration=registered("IE", "FR", since=SINCE),
        fulfiller=[fulfiller(ship_from=["FR"], collects_in=collects_in)],
    )
    assessment = assess(orders([sale("FR", "FR")]), mine, as_of=AS_OF, period="2026-Q2")
    line = assessment.lines.iloc[0]
    assert (line.fulfiller_tax_low, line.fulfiller_tax, line.fulfiller_tax_high) == (low, 800, 800)
    assert any(one["kind"] == "reverse_charge" for one in assessment.record()["findings"]) == named
    assert ("eu/reverse_charge:FR" in assessment.cases["fulfiller_rows"].iloc[0]) == (low == 0)


@pytest.mark.source("eu-dir-2025-516")
@pytest.mark.parametrize(("day", "low"), [("2028-06-30", 760), ("2028-07-01", 0)])
def test_from_july_2028_every_state_uses_the_reverse_charge(day: str, low: int) -> None:
    """Directive (EU) 2025/516: obligatory for a supplier neither established nor registered there (wording from memory)."""
    mine = union_seller(
        "IE",
        registration=registered("IE", "DE", since=SINCE),
        fulfiller=[fulfiller(ship_from=["DE"], collects_in=[{"place": "PL", "from": SINCE}])],
    )
    line = assess(orders([sale("DE", "DE", day)]), mine).lines.iloc[0]
    assert (line.fulfiller_tax_low, line.fulfiller_tax) == (low, 760)


def test_a_review_without_any_threshold_can_be_written() -> None:
    """A seller whom no limit concerns has an empty table of limits, and the writers take it."""
    mine = german(site={"ship_from": ["DE"]}, established_in=["DE", "FR"])
    found = assess(orders([sale("DE", "DE")]), mine, as_of=AS_OF)
    assert found.figures("thresholds").frame.empty
    assert all(found.figures("thresholds").frame[name].dtype == object for name in ("value", "limit"))
