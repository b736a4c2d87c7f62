"""Places have stable numbers, and addresses as people write them are found."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import pycountry
import pytest

from taxcalc import places
from taxcalc.places_find import NO_COUNTRY, ZIP_STATE_CONFLICT, PlaceFinder, zones
from taxcalc.tables.load import load_tables
from taxcalc.tables.where import folder

sys.path.insert(0, str(Path(__file__).parent / "tables"))
from small_tables import write_all

TERRITORIES = (
    "territory,place,postal_country,postal_pattern,treatment,treated_as,customs_territory,"
    "valid_from,source,basis,checked_on\n"
    "Canary Islands,ES-CN,ES,^(35|38)\\d{3}$,outside,,yes,2019-01-01,law-a,official,2026-11-25\n"
    "Aland,AX,FI,^22\\d{3}$,outside,,yes,2019-01-01,law-a,official,2026-11-25\n"
    "Guadeloupe,GP,FR,^971\\d{2}$,outside,,yes,2019-01-01,law-a,official,2026-11-25\n"
    "Monaco,MC,FR,^980\\d{2}$,as_other,FR,yes,2019-01-01,law-a,official,2026-11-25\n"
    'Northern Ireland,XI,GB,"^BT\\d{1,2}\\s?\\d[A-Z]{2}$",inside,,yes,2021-01-01,law-a,official,2026-11-25\n'
)
ZIP_STATES = (folder() / "us" / "zip_states.csv").read_text(encoding="utf-8")
ZIP_COUNTIES = (folder() / "us" / "zip_counties.csv").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tables(tmp_path_factory: pytest.TempPathFactory):
    """Small tables, with the shipped ZIP codes."""
    where = write_all(
        tmp_path_factory.mktemp("tables"),
        eu__territories=TERRITORIES,
        us__zip_states=ZIP_STATES,
        us__zip_counties=ZIP_COUNTIES,
    )
    return load_tables(shipped=where)


@pytest.fixture(scope="module")
def finder(tables):
    """A finder over the small tables."""
    return PlaceFinder(tables)


def find_one(finder: PlaceFinder, country: str, region: str = "", postal: str = "") -> tuple[str, str]:
    """Place code and problem of one address."""
    place, _, problem = finder.find([country], [region], [postal])
    return places.code(int(place[0])), problem[0]


def test_the_first_place_is_unknown_and_numbers_lead_back_to_codes():
    assert places.codes()[0] == "unknown"
    assert all(places.index(places.code(number)) == number for number in range(len(places.codes())))


def test_an_unknown_code_is_a_key_error():
    with pytest.raises(KeyError):
        places.index("US-ZZ")


def test_northern_ireland_counts_as_a_member_state_and_great_britain_does_not():
    """Source: Windsor Framework, Article 8 and Annex 3."""
    member = places.is_member_state()
    assert member[places.index("XI")]
    assert not member[places.index("GB")]
    assert member.sum() == 27 + 1


def test_us_state_codes_and_names_agree_with_iso_3166_2():
    """Source: ISO 3166-2 as carried by pycountry."""
    kinds = {"State", "District", "Outlying area"}
    listed = {s.code: s.name for s in pycountry.subdivisions.get(country_code="US") if s.type in kinds}
    ours = {code for code in places.codes() if code.startswith("US-")}
    assert set(listed) - ours == {"US-UM"}
    states = places.understood().states
    for code, name in listed.items():
        if code != "US-UM":
            assert states[name.upper()] == code


def test_every_iso_country_is_a_place_and_found_by_each_of_its_codes_and_its_name(finder):
    """Source: ISO 3166-1 as carried by pycountry."""
    for country in pycountry.countries:
        code = country.alpha_2 if country.alpha_2 in places.codes() else f"US-{country.alpha_2}"
        region, code = ("TX", "US-TX") if code == "US" else ("", code)
        for text in (
            country.alpha_2,
            country.alpha_3,
            country.numeric,
            country.name,
            country.alpha_2.lower(),
        ):
            assert find_one(finder, text, region) == (code, ""), text


@pytest.mark.parametrize("code", [c for c in places.codes() if c.startswith("US-")])
def test_every_us_state_is_found_by_code_and_name(finder, code):
    for text in (code, code[3:], code[3:].lower(), places.name(code), f"  {places.name(code).upper()} "):
        assert find_one(finder, "US", text) == (code, "")


@pytest.mark.parametrize("zip_code", [
    ("35203", "US-AL"), ("99501", "US-AK"), ("85001", "US-AZ"), ("72201", "US-AR"), ("90210", "US-CA"),
    ("80202", "US-CO"), ("06103", "US-CT"), ("19901", "US-DE"), ("20500", "US-DC"), ("33101", "US-FL"),
    ("30303", "US-GA"), ("96813", "US-HI"), ("83702", "US-ID"), ("60601", "US-IL"), ("46204", "US-IN"),
    ("50309", "US-IA"), ("66603", "US-KS"), ("40202", "US-KY"), ("70112", "US-LA"), ("04101", "US-ME"),
    ("21201", "US-MD"), ("02108", "US-MA"), ("48226", "US-MI"), ("55401", "US-MN"), ("39201", "US-MS"),
    ("63101", "US-MO"), ("59601", "US-MT"), ("68102", "US-NE"), ("89101", "US-NV"), ("03301", "US-NH"),
    ("07102", "US-NJ"), ("87501", "US-NM"), ("10001", "US-NY"), ("27601", "US-NC"), ("58501", "US-ND"),
    ("43215", "US-OH"), ("73102", "US-OK"), ("97201", "US-OR"), ("19103", "US-PA"), ("02903", "US-RI"),
    ("29201", "US-SC"), ("57501", "US-SD"), ("37201", "US-TN"), ("78701", "US-TX"), ("84101", "US-UT"),
    ("05602", "US-VT"), ("23219", "US-VA"), ("98101", "US-WA"), ("25301", "US-WV"), ("53202", "US-WI"),
    ("82001", "US-WY"), ("00901", "US-PR"), ("00802", "US-VI"), ("96910", "US-GU"),
])  # fmt: skip
def test_every_us_state_is_found_by_a_zip_code_alone(finder, zip_code):
    """ZIP codes of well-known cities, from memory."""
    code, place = zip_code
    assert find_one(finder, "US", "", code) == (place, "")
    assert find_one(finder, "USA", place, f"{code}-1234") == (place, "")


@pytest.mark.parametrize(("region", "postal", "expected"), [
    pytest.param("MA", "2134", ("US-MA", ""), id="a lost zero is restored where the region agrees"),
    pytest.param("MA", "2134.0", ("US-MA", ""), id="a number from a spreadsheet"),
    pytest.param("", "2134", ("unknown", ""), id="a lost zero is not guessed without a region"),
    pytest.param("TX", "2134", ("US-TX", ""), id="a doubtful ZIP code does not contradict the region"),
    pytest.param("TX", "02134", ("unknown", ZIP_STATE_CONFLICT), id="a whole ZIP code does"),
    pytest.param("PR", "926", ("US-PR", ""), id="two lost zeros"),
    pytest.param("Calif0rnia", "90210", ("US-CA", ""), id="an unreadable region gives way to the ZIP code"),
    pytest.param("", "", ("unknown", ""), id="neither region nor ZIP code is no problem of its own"),
    pytest.param("AE", "09012", ("US-AE", ""), id="a military address is no foreign country"),
    pytest.param("ca", "902101234", ("US-CA", ""), id="nine digits in a row"),
])  # fmt: skip
def test_us_regions_and_zip_codes_are_read_together(finder, region, postal, expected):
    assert find_one(finder, "US", region, postal) == expected


@pytest.mark.parametrize(("country", "region", "postal", "expected"), [
    ("ES", "", "35001", "ES-CN"), ("ES", "ES-CN", "", "ES-CN"), ("ES", "Las Palmas", "", "ES-CN"),
    ("ES", "Madrid", "28001", "ES"), ("IC", "", "", "ES-CN"), ("CN", "", "35001", "CN"),
    ("FI", "", "FI-22100", "AX"), ("AX", "", "", "AX"), ("FR", "", "97110", "GP"), ("FR", "GP", "", "GP"),
    ("FR", "", "98000", "MC"), ("MC", "", "98000", "MC"), ("FR", "", "75001", "FR"),
    ("GB", "", "BT1 1AA", "XI"), ("UK", "", "bt11aa", "XI"), ("GB", "Northern Ireland", "", "XI"),
    ("GB", "England", "SW1A 1AA", "GB"), ("EL", "", "", "GR"), ("GR", "", "", "GR"), ("DE", "", "10115", "DE"),
    ("MT", "", "", "MT"), ("US", "MT", "", "US-MT"), ("US", "DE", "", "US-DE"), ("PR", "", "", "US-PR"),
    ("Puerto Rico", "San Juan", "00901", "US-PR"), ("NA", "", "", "NA"), (" germany ", "", "", "DE"),
    ("Côte d'Ivoire", "", "", "CI"), ("GE", "", "", "GE"), ("US", "GA", "", "US-GA"), ("840.0", "TX", "", "US-TX"),
])  # fmt: skip
def test_addresses_are_found(finder, country, region, postal, expected):
    assert find_one(finder, country, region, postal) == (expected, "")


@pytest.mark.parametrize("text", ["", "  ", "??", "N/A", "Europe", "EU", "unknown", "XX"])
def test_a_blank_or_unreadable_country_is_a_problem(finder, text):
    assert find_one(finder, text, "CA", "90210") == ("unknown", NO_COUNTRY)


def test_zones_are_the_counties_of_new_york(finder, tables):
    """Suffolk County and New York County by ZIP code, from memory; 90210 is in no zone."""
    place, zone, _ = finder.find(["US"] * 3, ["NY", "", "CA"], ["501", "10001", "90210"])
    names = zones(tables)
    assert [names[number] for number in zone.tolist()] == ["Suffolk County", "New York County", ""]
    assert [places.code(number) for number in place.tolist()] == ["US-NY", "US-NY", "US-CA"]


def test_fifty_thousand_addresses_are_found_quickly(finder):
    numbers = range(50_000)
    country = ["US" if n % 3 else "ES" for n in numbers]
    postal = [f"{n * 2 % 100_000:05d}" for n in numbers]
    start = time.thread_time()
    place, zone, problem = finder.find(country, [""] * len(country), postal)
    assert time.thread_time() - start < 0.6  # four times what it takes
    assert place.size == zone.size == problem.size == len(country)
    assert np.count_nonzero(place == places.index("ES-CN")) > 0


def test_a_name_is_shown_without_the_mark_of_codes_that_are_not_published() -> None:
    """The mark is for readers of the table; a seller reads the name of the place."""
    assert [places.name(code) for code in ("FR-COR", "AT-699", "IT-LIV", "PT-30")] == [
        "Corsica",
        "Mittelberg, Kleinwalsertal",
        "Livigno",
        "Madeira",
    ]
    assert not [code for code in places.codes() if "own code" in places.name(code)]
