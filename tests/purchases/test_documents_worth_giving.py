"""Documents worth giving: ranked by what they would have saved in the last four quarters that were over.

The state rates behind the sums are those of the tests in `papers/`; here expected figures are the lines' own.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import certificate, dropped, fulfiller, orders, registered, seller

from taxcalc import assess
from taxcalc.caution import CAUTION
from taxcalc.reports.terminal import review_text

if TYPE_CHECKING:
    from taxcalc import Assessment

AS_OF = date(2026, 10, 20)
DAY = "2026-05-04"


def reviewed(*rows: dict[str, str], **profile: Any) -> Assessment:  # noqa: ANN401 - values of a profile
    """Assess some orders of one seller, seen from one day."""
    return assess(orders(rows, ordered_on=DAY), seller(**profile), as_of=AS_OF)


def found(*rows: dict[str, str], **profile: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - values of a profile
    """Give the ranked list."""
    ranked: list[dict[str, Any]] = reviewed(*rows, **profile).record()["certificates"]
    return ranked


def saved_of(ranked: list[dict[str, Any]]) -> dict[tuple[str, str], list[str]]:
    """Give the states by form and need."""
    return {(a["form"], a["needs"]): [state["place"] for state in a["states"]] for a in ranked}


@pytest.mark.source("sst-exemptions")
def test_one_multistate_form_is_one_action_with_its_sum_and_its_states() -> None:
    """The Streamlined certificate works in its member states; the dearer state stands first and the sum is theirs."""
    places = ("US-NJ", "US-WA", "US-IN")
    assessment = reviewed(*(dropped(place, place) for place in places))
    (action,) = assessment.record()["certificates"]
    tax = assessment.lines.set_index("order_id")["fulfiller_tax"]
    assert (action["form"], action["needs"], action["rank"]) == ("streamlined", "nothing", 1)
    assert [s["place"] for s in action["states"]] == sorted(places, key=lambda place: -tax[place])
    assert action["saved"] == f"{tax.sum() / 100:.2f}"
    assert [action["from"], action["to"], action["whole"]] == ["2025-10-01", "2026-09-30", False]


def test_what_is_needed_first_follows_from_the_numbers_at_hand() -> None:
    """Alabama asks for some state's number: nothing once the seller has one; Massachusetts asks for its own.

    The rules of both are rows of us/resale_rules (Alabama DOR, FAQ on drop shipping; Massachusetts, Directive 86-21).
    """
    rows = (dropped("AL", "US-AL"), dropped("MA", "US-MA"))
    assert saved_of(found(*rows)) == {
        ("multijurisdiction", "home_state_number"): ["US-AL"],
        ("own_number", "registration"): ["US-MA"],
    }
    with_number = found(*rows, registration=registered("US-WA"))
    assert saved_of(with_number) == {
        ("multijurisdiction", "nothing"): ["US-AL"],
        ("own_number", "registration"): ["US-MA"],
    }
    assert saved_of(found(*rows, registration=registered("US-MA")))[("own_number", "nothing")] == ["US-MA"]


@pytest.mark.source("fl-dor-faq-1443")
def test_florida_takes_no_other_states_number() -> None:
    """Florida: goods that leave a Florida facility are a Florida sale, and only its annual certificate helps.

    So nothing was avoidable with another state's number, and the certificate ends with the calendar year.
    """
    assessment = reviewed(dropped("FL", "US-FL", sent_from="US-FL"), registration=registered("US-WA"))
    (action,) = assessment.record()["certificates"]
    assert (action["form"], action["needs"], action["first_expiry"]) == (
        "own_number",
        "registration",
        "2026-12-31",
    )
    assert assessment.lines["fulfiller_tax_avoidable"].tolist() == [0]
    assert assessment.lines["fulfiller_tax"].gt(0).all()


def test_where_tax_was_charged_the_smaller_of_the_two_counts() -> None:
    """A blank charge says nothing, so the expected tax stands; a charge of 1.00 or of nothing is what was to be saved."""
    rows = (
        dropped("blank", "US-WA"),
        dropped("one", "US-WA", fulfiller_tax_charged="1.00"),
        dropped("none", "US-WA", fulfiller_tax_charged="0.00"),
        dropped("much", "US-WA", fulfiller_tax_charged="40.00"),
    )
    assessment = reviewed(*rows)
    tax = int(assessment.lines["fulfiller_tax"].iloc[0])
    ((state,),) = (action["states"] for action in assessment.record()["certificates"])
    assert state["saved"] == f"{(2 * tax + 100) / 100:.2f}"
    assert state["rests_on"] == "both"


def test_states_that_are_left_out_because_nothing_was_charged_are_named() -> None:
    """Their tax was avoidable all the same."""
    rows = (dropped("WA", "US-WA", fulfiller_tax_charged="0.00"), dropped("IN", "US-IN"))
    record = reviewed(*rows).record()
    assert [s["place"] for a in record["certificates"] for s in a["states"]] == ["US-IN"]
    text = " ".join(review_text(record).split())
    assert "a document would have saved nothing yet: Washington (US-WA)." in text


def test_samples_documents_on_file_and_days_outside_the_year_save_nothing() -> None:
    """Only what a document would have changed in the four quarters is in the list."""
    rows = (
        dropped("sample", "US-WA", entry="sample"),
        dropped("older", "US-WA", ordered_on="2025-09-30"),
        dropped("newer", "US-WA", ordered_on="2026-10-01"),
        dropped("on file", "US-IN"),
    )
    papers = [certificate("US-IN", "streamlined", "US-WA")]
    assert found(*rows, certificate=papers) == []


def test_a_strict_state_shows_what_registering_would_have_saved() -> None:
    """The tax of the year, and no invented cost beside it; a state with a duty already is no choice to weigh."""
    present = [{"place": "US-CT", "kind": "premises", "from": date(2026, 1, 1)}]
    assessment = reviewed(dropped("MA", "US-MA"), dropped("CT", "US-CT"), presence=present)
    record = assessment.record()
    (row,) = record["break_even"]
    assert (row["place"], row["saved"], row["caution"]) == ("US-MA", "6.25", CAUTION)
    connecticut = next(s for a in record["certificates"] for s in a["states"] if s["place"] == "US-CT")
    assert connecticut["registration_due"] is True
    assert "Only registering there would help" in review_text(record)


def test_tax_under_a_duty_of_ones_own_may_come_back() -> None:
    """Who had to register counts on no other state's number; what it resold with tax may be credited.

    Common practice, no source.
    """
    present = [{"place": "US-WA", "kind": "premises", "from": date(2026, 1, 1)}]
    rows = (dropped("sale", "US-WA"), dropped("sample", "US-WA", entry="sample"))
    record = reviewed(*rows, registration=registered("US-ID"), presence=present).record()
    (part,) = record["fulfiller_tax_split"]
    assert part["avoidable"] == "0.00"
    assert part["recoverable"] == part["final"] != "0.00"


@pytest.mark.source("tx-comptroller-refunds")
def test_texas_refunds_can_be_asked_for_four_years() -> None:
    """Texas Comptroller: four years from the due day; counted from the first day of the four quarters, which is earlier."""
    rows = (dropped("TX", "US-TX", fulfiller_tax_charged="3.30"), dropped("MN", "US-MN"))
    parts = {part["place"]: part for part in reviewed(*rows).record()["fulfiller_tax_split"]}
    assert (parts["US-TX"]["ask_by"], parts["US-TX"]["ask_by_basis"]) == ("2029-09-30", "official")
    assert parts["US-TX"]["avoidable_charged"] == "3.30"
    assert parts["US-MN"]["ask_by"] is None


@pytest.mark.source("fl-dor-faq-1443")
def test_a_document_that_runs_out_soon_is_named() -> None:
    """Florida's annual certificate by its rule, another by the profile; a newer document in its place is enough."""

    def named(*papers: dict[str, Any]) -> list[str]:
        rows = (
            dropped("FL", "US-FL", ordered_on="2026-08-04"),
            dropped("TX", "US-TX", ordered_on="2026-08-04"),
        )
        record = reviewed(*rows, certificate=list(papers)).record()
        return [f["text"] for f in record["findings"] if f["kind"] == "document_runs_out"]

    florida = certificate("US-FL", "state", "US-FL", date(2026, 3, 1))
    (text,) = named(florida)
    assert "runs out on 2026-12-31" in text
    (text,) = named(certificate("US-FL", "state", "US-FL", date(2025, 3, 1)))
    assert "ran out on 2025-12-31" in text
    assert (
        named(florida, certificate("US-FL", "state", "US-FL", date(2026, 3, 1), until=date(2027, 12, 31)))
        == []
    )
    texas = certificate("US-TX", "state", "US-ID", date(2026, 3, 1))
    assert named(texas) == []
    assert len(named({**texas, "until": date(2027, 3, 31)})) == 1
    assert named({**texas, "until": date(2027, 4, 1)}) == []


@pytest.mark.source("fl-dor-faq-1443")
def test_a_form_that_the_state_does_not_take_stands_in_for_no_document() -> None:
    """Florida takes only its own certificate: a multistate form without an end does not keep its end quiet."""
    papers = [
        certificate("US-FL", "state", "US-FL", date(2026, 3, 1)),
        certificate("US", "multijurisdiction", "US-ID", date(2026, 3, 1)),
    ]
    rows = (dropped("FL", "US-FL", ordered_on="2026-08-04"),)
    record = reviewed(*rows, certificate=papers, registration=registered("US-FL", "US-ID")).record()
    (text,) = [f["text"] for f in record["findings"] if f["kind"] == "document_runs_out"]
    assert "2026-12-31" in text


def test_each_fulfiller_needs_a_document_of_its_own() -> None:
    """One without an end at another fulfiller does not help; one that is used no more is not named."""
    makers = [fulfiller(), fulfiller(id="second")]
    papers = [
        certificate("US-TX", "state", "US-ID", until=date(2026, 12, 31)),
        certificate("US-TX", "state", "US-ID", fulfiller="second"),
    ]
    profile = {"certificate": papers, "registration": registered("US-ID"), "fulfiller": makers}

    def named(*used: str) -> int:
        rows = (dropped(name, "US-TX", ordered_on="2026-08-04", fulfiller=name) for name in used)
        found = reviewed(*rows, **profile).record()["findings"]
        return sum(f["kind"] == "document_runs_out" for f in found)

    assert named("main", "second") == 1
    assert named("second") == 0


def test_a_registration_where_there_is_no_sales_tax_gives_no_number() -> None:
    """Oregon has none, so that Alabama still asks for some state's number first (Alabama DOR, FAQ on drop shipping)."""
    ranked = found(dropped("AL", "US-AL"), registration=registered("US-OR"))
    assert saved_of(ranked) == {("multijurisdiction", "home_state_number"): ["US-AL"]}


def test_the_screen_begins_with_what_can_be_given_at_once() -> None:
    """A shop in Oregon: the Streamlined form first though another saves more, and strict states only where they are weighed.

    The words on numbers are those of us/resale_rules.
    """
    rows = (
        dropped("GA", "US-GA"),
        dropped("NJ", "US-NJ"),
        *(dropped(f"AL {at}", "US-AL") for at in range(4)),
        dropped("MA", "US-MA"),
    )
    record = reviewed(*rows).record()
    assert record["certificates"][0]["form"] == "multijurisdiction"
    text = review_text(record)
    part = " ".join(text[text.index("Documents worth giving") : text.index("Fulfiller's tax, four")].split())
    first, second = (
        part.index("1. Streamlined certificate, one for 2 states"),
        part.index("2. Alabama (US-AL)"),
    )
    weighed = part.index("Only registering there would help")
    assert first < second < weighed < part.index("Massachusetts (US-MA)")
    assert part.count("Massachusetts") == 1
    needs = "Needs a sales-tax number of some state of the United States first"
    assert first < part.index("Needs no new number") < part.index("In the place of a state's number") < second
    assert second < part.index(needs) < weighed
    assert part.count("In the place of") == 1


@pytest.mark.source("ny-tb-st-190")
def test_a_document_to_replace_is_named_among_the_documents() -> None:
    """New York TB-ST-190: who had to register there may not rely on another state's number; our high end is the full tax."""
    present = [{"place": "US-NY", "kind": "premises", "from": date(2026, 1, 1)}]
    rows = (dropped("NY", "US-NY", ordered_on="2026-08-04"), dropped("MA", "US-MA"))
    papers = [certificate("US-NY", "state", "US-CT")]
    record = reviewed(*rows, registration=registered("US-CT"), presence=present, certificate=papers).record()
    (stake,) = (f["amount"] for f in record["findings"] if f["kind"] == "replace_document")
    text = " ".join(review_text(record).split())
    assert f"old document at the high end: New York (US-NY) ${stake}." in text


def test_only_a_few_actions_and_states_are_on_the_screen() -> None:
    """Five of each; those left out are named in a sentence, with what they save, and the split adds all states up."""
    states = ("US-NY", "US-TX", "US-VA", "US-PA", "US-IL", "US-NM", "US-GA", "US-AL")
    record = reviewed(*(dropped(state, state) for state in states)).record()
    assert len(record["certificates"]) == 8
    whole = review_text(record)
    text = " ".join(
        whole[whole.index("Documents worth giving") : whole.index("Assumptions and defaults")].split()
    )
    assert " 5. " in text
    assert " 6. " not in text
    assert "Less was to be saved, in record.json:" in text
    assert "All states together" in text
    assert "And 3 more, in record.json." in text


def test_a_number_of_the_state_itself_is_not_described_by_papers_for_other_numbers() -> None:
    """Tennessee, where the seller has to register: its paper for the home state's number is not what is to be given."""
    present = [{"place": "US-TN", "kind": "premises", "from": date(2026, 1, 1)}]
    (action,) = found(dropped("A", "US-TN"), presence=present)
    assert (action["form"], action["states"][0]["document"]) == ("own_number", "")
    (strict,) = found(dropped("A", "US-MA"))
    assert strict["states"][0]["document"].startswith("ST-4")


SOME = ("US-TX", "US-WA", "US-NJ", "US-CA", "US-MA", "US-AL", "US-CO", "US-NY", "US-FL", "US-PA", "US-AK")


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(SOME), st.sampled_from(("", "0.00", "0.50", "9.00")), st.booleans()),
        min_size=1,
        max_size=12,
    ),
    st.booleans(),
)
def test_actions_and_parts_add_up_to_the_lines(sales: list[tuple[str, str, bool]], number: bool) -> None:  # noqa: FBT001
    """The parts of the split are the whole expected tax; no action saves more; every state stands in one action."""
    rows = [
        dropped(str(at), place, fulfiller_tax_charged=charged, entry="sample" if sample else "sale")
        for at, (place, charged, sample) in enumerate(sales)
    ]
    assessment = reviewed(*rows, registration=registered("US-ID") if number else [])
    record = assessment.record()

    def cents(text: str) -> int:
        return int(text.replace(".", ""))

    expected = int(assessment.lines["fulfiller_tax"].sum())
    split = record["fulfiller_tax_split"]
    assert sum(cents(p["expected"]) for p in split) == expected
    assert all(
        cents(p["expected"]) == sum(cents(p[name]) for name in ("avoidable", "recoverable", "final"))
        for p in split
    )
    ranked = record["certificates"]
    states = [state for action in ranked for state in action["states"]]
    assert len({state["place"] for state in states}) == len(states)
    assert [cents(a["saved"]) for a in ranked] == sorted((cents(a["saved"]) for a in ranked), reverse=True)
    assert all(cents(a["saved"]) == sum(cents(s["saved"]) for s in a["states"]) for a in ranked)
    of_sales = assessment.lines.query("entry == 'sale'")
    assert sum(cents(a["saved"]) for a in ranked) <= int(of_sales["fulfiller_tax"].sum())
