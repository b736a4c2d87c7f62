"""A review with a store of local rates: single rates, ranges, fallbacks, the lowest-rate rule, marks, other regimes' rest."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from rate_files import BOUNDARY, RATES, add, boundary_row, plain_rates, rate_row, simple, standard, tables
from shop import answers, orders, registered, seller

from taxcalc import places
from taxcalc.places_find import zones
from taxcalc.record import record
from taxcalc.reports.json_file import json_text
from taxcalc.run import assess
from taxcalc.tables.load import load_tables
from taxcalc.zone_numbers import LARGEST, county_of, joined, local_of, most_zones, zone_count

if TYPE_CHECKING:
    from pathlib import Path

    from taxcalc import Assessment

SHOP = seller(registration=registered("US-KS", "US-CO", "US-NY", "US-AL"))
RANGE = ["to_collect_low", "to_collect", "to_collect_high"]


def sold(own: Path | None, *codes: str, profile: dict[str, Any] = SHOP, **more: str) -> Assessment:
    """One order of 100.00 to each state and postal code."""
    rows = [{"to": code, "item_amount": "100.00", **more} for code in codes]
    return assess(orders(rows), profile, tables=own)


def collected(own: Path | None, *codes: str, **more: Any) -> list[tuple[int, ...]]:  # noqa: ANN401 - as `sold` takes them
    """Low, expected and high of each order, in cents."""
    found = answers(sold(own, *codes, **more))[RANGE]
    return [tuple(row) for row in found.loc[[str(at + 1) for at in range(len(codes))]].to_numpy().tolist()]


@pytest.fixture
def kansas(tmp_path: Path) -> Path:
    """A store with the plain files of Kansas."""
    add(tmp_path / "own", *standard(tmp_path))
    return tmp_path / "own"


@pytest.mark.source("ssuta-305")
def test_zip4_then_zip_code_then_average(kansas: Path) -> None:
    """A ZIP+4 has one rate; a ZIP code the lowest in it as expected, the highest as high end; else the average."""
    codes = [
        "US-KS 66044-1500",
        "US-KS 660442500",
        "US-KS 66044",
        "US-KS 66044-5000",
        "US-KS 66047",
        "US-KS 67202",
    ]
    (average,) = collected(None, "US-KS 67202")
    expected = [(930,) * 3, (1030,) * 3, (775, 775, 1030), (775, 775, 1030), (775,) * 3, average]
    assert collected(kansas, *codes) == expected
    assert average[0] < average[1] < average[2]


def test_before_the_first_day_of_the_store_the_average_holds(kansas: Path) -> None:
    """Both sides of the day; no case stretches over it."""
    days = ("2019-12-31", "2020-01-01")
    rows = [{"to": "US-KS 66044-1500", "item_amount": "100.00", "ordered_on": day} for day in days]
    found = answers(assess(orders(rows), SHOP, tables=kansas))[RANGE].to_numpy().tolist()
    assert found[0] == list(collected(None, "US-KS 66044", ordered_on=days[0])[0])
    assert found[1] == [930] * 3


def test_the_zip_code_speaks_on_days_on_which_the_zip4_has_no_row(tmp_path: Path) -> None:
    spans = [boundary_row("Z", "66044"), boundary_row("4", "66044-1000", city="36000", begin="20260701")]
    add(tmp_path / "own", *standard(tmp_path, spans=spans))
    assert collected(tmp_path / "own", "US-KS 66044-1000", ordered_on="2026-06-30") == [(775,) * 3]
    assert collected(tmp_path / "own", "US-KS 66044-1000", ordered_on="2026-07-01") == [(930,) * 3]


def test_outside_the_standard_the_lowest_rate_is_not_presumed(tmp_path: Path) -> None:
    """Expected is the rate of the ZIP code's own row, else the average as far as it lies in the range."""
    rows = [
        "CO,80202,8.81,2020-01-01,,x", "CO,80202-1111,4,2020-01-01,,x", "CO,80202-2222,9.15,2020-01-01,,x",
        "CO,80203-1111,3,2020-01-01,,x", "CO,80203-2222,4,2020-01-01,,x",
        "CO,80204-1111,3,2020-01-01,,x", "CO,80204-2222,11,2020-01-01,,x",
    ]  # fmt: skip
    add(tmp_path / "own", simple(tmp_path, *rows))
    (average,) = collected(None, "US-CO 80205")
    assert 400 < average[1] < 1100
    assert collected(tmp_path / "own", "US-CO 80202", "US-CO 80203", "US-CO 80204") == [
        (400, 881, 915), (300, 400, 400), (300, average[1], 1100),
    ]  # fmt: skip


def test_orders_of_other_states_are_as_they_were(kansas: Path) -> None:
    """New York keeps its counties, other states their averages, the Union its rates."""
    codes = ["US-NY 10001", "US-NY 13815", "US-CO 80202", "US-AL 36101", "DE 10115"]
    assert collected(kansas, *codes, product_class="clothing") == collected(
        None, *codes, product_class="clothing"
    )


def test_counties_of_new_york_and_local_rates_go_together(tmp_path: Path) -> None:
    """Clothing is free of the local part in the city of New York, not everywhere; both facts come from one number."""
    rows = ["NY,10001,8.875,2020-01-01,,x", "NY,12207,8,2020-01-01,,x"]
    add(tmp_path / "own", simple(tmp_path, *rows))
    assert collected(tmp_path / "own", "US-NY 10001", "US-NY 12207") == [(888,) * 3, (800,) * 3]
    clothing = {"product_class": "clothing"}
    free = [each[1] for each in collected(None, "US-NY 10001", "US-NY 12207", **clothing)]
    with_rates = collected(tmp_path / "own", "US-NY 10001", "US-NY 12207", **clothing)
    assert free[0] == 0
    assert free[1] > 400
    assert with_rates == [(0,) * 3, (400,) * 3]


def test_zone_numbers_hold_county_and_local_zone(tmp_path: Path) -> None:
    """Packed together in New York only; both come out as they went in, up to the most that are allowed."""
    add(tmp_path / "own", simple(tmp_path, "NY,10001,8.875,2020-01-01,,x", "CO,80202,8.81,2020-01-01,,x"))
    loaded = load_tables(tmp_path / "own")
    counties = len(zones(loaded))
    for state, county, local in (
        ("US-NY", 5, 0), ("US-NY", 0, 3), ("US-NY", counties - 1, most_zones(loaded, "US-NY")),
        ("US-CO", 0, LARGEST), ("US-CO", 0, 0),
    ):  # fmt: skip
        place = np.array([places.index(state)], np.int16)
        zone = joined(loaded, place, np.array([county], np.int16), np.array([local]))
        assert (zone >= 0).all()
        assert county_of(loaded, place, zone).tolist() == [county]
        assert local_of(loaded, place, zone).tolist() == [local]
    assert zone_count(loaded) == counties * 2
    assert zone_count(tables()) == counties


def test_a_flat_rate_by_election_still_wins(tmp_path: Path) -> None:
    """Alabama's simplified rate replaces state and local rates, also those of the store."""
    add(tmp_path / "own", simple(tmp_path, "AL,36101,10,2020-01-01,,x"))
    election = [{"name": "flat_rate", "place": "US-AL", "from": date(2020, 1, 1)}]
    profile = seller(registration=registered("US-AL"), election=election)
    assert collected(tmp_path / "own", "US-AL 36101") == [(1000,) * 3]
    assert collected(tmp_path / "own", "US-AL 36101", profile=profile) == [(800,) * 3]


def test_the_fulfiller_side_uses_the_same_rates(kansas: Path) -> None:
    """The fulfiller's sale is taxed where the parcel arrives, too."""
    found = answers(sold(kansas, "US-KS 66044-1500", "US-KS 66044", fulfiller_item_cost="40.00"))
    columns = ["fulfiller_tax_low", "fulfiller_tax", "fulfiller_tax_high"]
    assert found[columns].to_numpy().tolist() == [[372, 372, 372], [310, 310, 412]]


def test_file_hash_and_day_of_a_rate_reach_cases_places_and_record(kansas: Path) -> None:
    """And the record says by what each line was found, and that the lowest rate was taken."""
    done = sold(
        kansas, "US-KS 66044-1500", "US-KS 66044", "US-KS 67202", "US-CO 80202", ordered_on="2026-05-04"
    )
    rows = done.cases.loc[done.lines["case_id"], "rows"].tolist()
    marks = [[name for name in text.split() if name.startswith("own:")] for text in rows]
    assert [len(each) for each in marks] == [1, 1, 0, 0]
    assert marks[0][0].startswith(f"own:us/local:US-KS/zip+4/{RATES}@")
    assert marks[1][0].startswith(f"own:us/local:US-KS/zip/{RATES}@")
    assert all(f"/{BOUNDARY}@" in each[0] and each[0].endswith(":2020-01-01") for each in marks[:2])
    whole = assess(
        orders([{"to": f"US-KS {code}", "item_amount": "100.00"} for code in ("66044-1500", "66044", "67202")]),
        SHOP, tables=kansas, period=(date(2026, 5, 1), date(2026, 5, 31)),
    )  # fmt: skip
    shown = record(whole)
    json.loads(json_text(shown))
    (used,) = shown["local_rates"]
    assert used["lines"] == {"by_zip4": 1, "by_zip": 1, "by_average": 1}
    assert used["lowest_expected"]
    assert [(file["name"], len(file["sha256"])) for file in used["files"]] == [(RATES, 64), (BOUNDARY, 64)]
    (place,) = [each for each in shown["places"] if each["place"] == "US-KS"]
    assert len(place["own_rows"]) == 2
    assert {"ssuta-305", "sst-rate-boundary-files"} <= {each["id"] for each in shown["sources"]}
    assert any("lowest combined one is expected in US-KS" in words for words in shown["assumptions"])
    assert shown["tables"]["own"]
    assert whole.figures("places").frame["own_rows"].str.contains("own:us/local").any()


def test_without_a_store_nothing_of_it_is_loaded_or_said(tmp_path: Path) -> None:
    import subprocess  # noqa: PLC0415 - only here
    import sys  # noqa: PLC0415 - only here

    done = sold(None, "US-KS 66044")
    assert record(done)["local_rates"] == []
    assert done.run.facts.tables.local is None
    code = (
        "import sys; from taxcalc.tables.load import load_tables; import taxcalc.run; "
        "from taxcalc.places_find import PlaceFinder; PlaceFinder(load_tables()); "
        "print([name for name in sys.modules if name.startswith('taxcalc.local_rates')])"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert shown.stdout == "[]\n"


def test_only_states_in_the_orders_are_read(kansas: Path, tmp_path: Path) -> None:
    """A damaged state that no order goes to does no harm; one that an order goes to is refused."""
    add(kansas, simple(tmp_path, "CO,80202,8.81,2020-01-01,,x"))
    for path in (kansas / "local").glob("US-CO-*/held.parquet"):
        path.write_bytes(b"")
    assert collected(kansas, "US-KS 66044") == [(775, 775, 1030)]
    with pytest.raises(Exception, match="E573"):
        collected(kansas, "US-CO 80202")


def test_a_state_rate_that_the_tables_do_not_have_yet_is_in_the_whole_rate(tmp_path: Path) -> None:
    """The file is newer than the tables: its whole rate counts, and the summary says where the two differ."""
    rates = [rate_row("45", "20", "0.065", end="20260630"), rate_row("45", "20", "0.06", begin="20260701")]
    (added,) = add(tmp_path / "own", *standard(tmp_path, [*rates, *plain_rates()[1:]]))
    assert collected(tmp_path / "own", "US-KS 66044-1500", ordered_on="2026-07-01") == [(880,) * 3]
    assert any("6 percent in the file, 6.5 in the tables" in note for note in added.checks.notes)
