"""What an assumption is worth: the review again with the other choice."""

from __future__ import annotations

from shop import dropped, fulfiller, orders, seller

from taxcalc import assess
from taxcalc.handoff.effects import effects


def test_a_fulfiller_that_only_the_files_name_is_an_assumption_with_an_effect() -> None:
    """Where it collects is not known either: nowhere instead of everywhere takes its tax away."""
    rows = [dropped("1", "US-TX"), dropped("2", "US-TX", fulfiller="second")]
    found = assess(orders(rows), seller(fulfiller=[fulfiller(collects_in="all")]), period="2026-Q2")
    nowhere = [one for one in effects(found, found.record()) if one.other == "it collects nowhere"]
    assert [one.assumed for one in nowhere] == [
        "Fulfillers that the profile does not name (second): where it collects is not known"
    ]
    of_one = found.lines.set_index("order_id").loc["2", "fulfiller_tax"]
    assert nowhere[0].fulfiller_tax * 100 == -int(of_one) < 0


def test_what_the_profile_says_is_no_open_choice() -> None:
    """A fulfiller of which everything is said leaves rounding and the shipping charge only."""
    profile = seller(fulfiller=[fulfiller(collects_in="all", transport_supply="second")])
    found = assess(orders([dropped("1", "US-TX")]), profile, period="2026-Q2")
    assert [one.assumed for one in effects(found, found.record())] == [
        "Tax is rounded once a line",
        "A customer cannot avoid the shipping charge",
    ]
