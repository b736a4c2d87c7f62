"""Papers that a state takes without a registration: which of them are sure, and which the fulfiller may still refuse."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from shop import asked, certificate, dropped, fulfiller, registered, seller

HOME = {"region": "US-WA", "registration": registered("US-WA")}
SINCE = date(2026, 1, 1)
FREE, OPEN, CHARGED = (False, False, False), (False, False, True), (True, True, True)


def ends(state: str, *papers: dict[str, Any], **profile: Any) -> tuple[tuple[bool, ...], str]:  # noqa: ANN401
    """Tell at which of the three ends the fulfiller may charge tax on a drop shipment, and the reason."""
    shop = seller(**{**HOME, "certificate": list(papers), **profile})
    line = asked(shop, dropped("A", state)).loc["A"]
    figures = line[["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]]
    return tuple(bool(amount) for amount in figures), line.fulfiller_reason


@pytest.mark.parametrize(
    ("state", "found"),
    [
        pytest.param("US-NY", FREE, marks=pytest.mark.source("ny-tb-st-190"), id="New York, ST-120"),
        pytest.param("US-VA", FREE, id="Virginia, ST-10"),
        pytest.param("US-KY", FREE, id="Kentucky, 51A105 as a nonresident"),
        pytest.param(
            "US-IL", OPEN, marks=pytest.mark.source("il-86iac-130.225"), id="Illinois: its resale number"
        ),
        pytest.param(
            "US-NM", OPEN, marks=pytest.mark.source("nm-3.2.201.13"), id="New Mexico: the multistate form"
        ),
        pytest.param(
            "US-PA", OPEN, marks=pytest.mark.source("pa-61-32.3"), id="Pennsylvania: papers disagree"
        ),
    ],
)
def test_another_states_number_on_a_states_own_form(state: str, found: tuple[bool, ...]) -> None:
    """Stated: a bare number of another state is not the proof that Illinois and New Mexico list.

    Illinois wants its own number without returns or a statement of the facts, New Mexico the multistate form or other
    evidence; whether the seller's paper is that one is not known here, so the fulfiller may still charge.
    """
    answer, reason = ends(state, certificate(state, "state", "US-WA", SINCE))
    assert answer == found
    assert reason == ("us_fulfiller_document" if found == FREE else "us_fulfiller_document_to_check")


@pytest.mark.parametrize("state", ["US-IL", "US-NM"])
def test_the_multistate_form_settles_it(state: str) -> None:
    """Both states are on the list of the Multistate Tax Commission's form, with any state's number."""
    both = [certificate(state, form, "US-WA", SINCE) for form in ("state", "multijurisdiction")]
    assert ends(state, *both) == (FREE, "us_fulfiller_document")


def test_once_obliged_the_paper_is_to_be_replaced() -> None:
    """New Mexico: only from a buyer not required to register there."""
    here = [{"place": "US-NM", "kind": "premises", "from": SINCE}]
    paper = certificate("US-NM", "state", "US-WA", SINCE)
    assert ends("US-NM", paper, presence=here) == (OPEN, "us_fulfiller_replace_document")


@pytest.mark.source("ct-drs-ruling-90-16")
@pytest.mark.parametrize(
    ("papers", "found", "reason"),
    [
        pytest.param([], (False, True, True), "us_fulfiller_law_unclear", id="no paper"),
        pytest.param(
            [certificate("US-CT", "state", "US-WA", SINCE)],
            (False, True, True),
            "us_fulfiller_law_unclear",
            id="another state's number",
        ),
        pytest.param(
            [certificate("US-CT", "state", "US-CT", SINCE)], FREE, "us_fulfiller_document", id="its own"
        ),
    ],
)
def test_connecticut_may_leave_out_what_a_common_carrier_brings(
    papers: list[dict[str, Any]], found: tuple[bool, ...], reason: str
) -> None:
    """Connecticut DRS, Ruling 90-16, and a policy statement of 2013 that was read in a summary only.

    The statement limits the rule to own vehicles and goods sold delivered: a parcel may be charged, or not.
    """
    assert ends("US-CT", *papers) == (found, reason)


def test_a_fulfiller_that_does_not_collect_there_charges_nothing() -> None:
    """Whatever the paper, and whatever the law leaves open."""
    only = fulfiller(collects_in=[{"place": "US-IN", "from": SINCE}])
    assert ends("US-CT", fulfiller=[only]) == (FREE, "us_fulfiller_does_not_collect")
