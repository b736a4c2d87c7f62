"""Tables, numbers and currency against open data and published figures that the program itself does not read.

`eu-vat-rates-data` states the Commission's Taxes in Europe Database (TEDB) as its origin. It holds current
rates only, mixes regional standard rates into national lists, and records no zero rates; each such case is
listed below.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

import eu_vat_rates_data
import numpy as np
import pycountry
import pytest
from shop import asked, registered, union_seller

from taxcalc import places
from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.days import number
from taxcalc.exchange import convert, quotes
from taxcalc.money import CURRENCY_CODE
from taxcalc.tables.load import load_tables

if TYPE_CHECKING:
    import pandas as pd

DATASET_DAY = date.fromisoformat(eu_vat_rates_data.data_version)
MEMBER_STATES = sorted(code for code, rate in eu_vat_rates_data.get_all_rates().items() if rate["eu_member"])
EVERY_CLASS = -1

BOOKS_NOT_IN_THE_DATASET = {
    "CZ": "0: books are exempt with the right of deduction since 2024 (Czech VAT Act); the dataset has no zero rates",
    "IE": "0: printed books are zero-rated (VAT Consolidation Act 2010, schedule 2); the dataset has no zero rates",
}


def our_percent(state: str, product_class: int, day: date = DATASET_DAY) -> Decimal:
    """Give the rate of eu/rates in percent."""
    table = load_tables()["eu/rates"]
    where, kind = np.array([places.index(state)], np.int16), np.array([product_class], np.int8)
    row = table.lookup(np.array([number(day)], np.int32), place=where, product_class=kind)
    assert row[0] >= 0, f"no row for {state}"
    return Decimal(int(table["percent"][row][0])) / 10_000


def test_the_dataset_knows_every_member_state_and_no_other() -> None:
    """Open dataset eu-vat-rates-data (origin stated: TEDB): the 27 member states under the codes we use."""
    known = {code for code, inside in zip(places.codes(), places.is_member_state(), strict=True) if inside}
    assert set(MEMBER_STATES) == known - {"XI"}
    assert len(MEMBER_STATES) == 27


@pytest.mark.source("eu-vat-rates-data-tedb")
@pytest.mark.parametrize("state", MEMBER_STATES)
def test_standard_rate_is_the_one_of_the_open_dataset(state: str) -> None:
    """Open dataset eu-vat-rates-data (origin stated: TEDB), on its own last day; no difference is known."""
    assert our_percent(state, EVERY_CLASS) == Decimal(str(eu_vat_rates_data.get_standard_rate(state)))


@pytest.mark.source("eu-vat-rates-data-tedb")
@pytest.mark.parametrize("state", MEMBER_STATES)
def test_book_rate_is_a_rate_of_the_open_dataset(state: str) -> None:
    """Open dataset eu-vat-rates-data (origin stated: TEDB).

    It does not say which rate is for books, so ours must be one of its rates, or stand in the list of
    explained differences (and then must not be in the dataset).
    """
    rate = eu_vat_rates_data.get_rate(state)
    assert rate is not None
    listed = [rate["standard"], *rate["reduced"], *filter(None, (rate["super_reduced"], rate["parking"]))]
    ours = our_percent(state, PRODUCT_CLASSES.index("books"))
    assert (ours in {Decimal(str(percent)) for percent in listed}) == (state not in BOOKS_NOT_IN_THE_DATASET)


@pytest.mark.source("eu-vat-rates-data-tedb")
@pytest.mark.parametrize(
    ("state", "place", "percent"),
    [
        ("PT", "PT-20", "16"),
        ("PT", "PT-30", "22"),
        ("GR", "GR-ISL", "17"),
        ("FR", "GP", "8.5"),
        ("AT", "AT-6691", "19"),
    ],
)
def test_regional_standard_rates_hide_among_the_reduced_ones(state: str, place: str, percent: str) -> None:
    """Open dataset eu-vat-rates-data.

    Standard rates of a region stand in the national list of reduced rates.
    """
    rate = eu_vat_rates_data.get_rate(state)
    assert rate is not None
    assert Decimal(percent) in {Decimal(str(reduced)) for reduced in rate["reduced"]}
    assert our_percent(place, EVERY_CLASS) == Decimal(percent)


# Each number is the example of one module of python-stdnum's documentation; the second has its last digit changed there
# or here. The program asks python-stdnum too, so this proves how we call it (prefix, country), not the check digits.
DOCUMENTED_NUMBERS = {
    "AT": ("ATU13585627", "ATU13585626"),
    "BE": ("BE403019261", "BE403019262"),
    "BG": ("BG175074752", "BG175074751"),
    "CY": ("CY10259033P", "CY10259033Z"),
    "CZ": ("CZ25123891", "CZ25123890"),
    "DE": ("DE136695976", "DE136695978"),
    "DK": ("DK13585628", "DK13585627"),
    "EE": ("EE100594102", "EE100594103"),
    "ES": ("ESB64717838", "ESB64717839"),
    "FI": ("FI20774740", "FI20774741"),
    "FR": ("FR40303265045", "FR84323140391"),
    "GR": ("EL094259216", "EL123456781"),
    "HR": ("HR33392005961", "HR33392005962"),
    "HU": ("HU12892312", "HU12892313"),
    "IE": ("IE6433435F", "IE6433435E"),
    "IT": ("IT00743110157", "IT00743110158"),
    "LT": ("LT119511515", "LT100001919018"),
    "LU": ("LU15027442", "LU15027443"),
    "LV": ("LV40003521600", "LV40003521601"),
    "MT": ("MT11679112", "MT11679113"),
    "NL": ("NL004495445B01", "NL123456789B90"),
    "PL": ("PL8567346215", "PL8567346216"),
    "PT": ("PT501964843", "PT501964842"),
    "RO": ("RO18547290", "RO18547291"),
    "SE": ("SE123456789701", "SE123456789101"),
    "SI": ("SI50223054", "SI50223055"),
    "SK": ("SK2022749619", "SK2022749618"),
}

# Example numbers of the Commission's description of the check digits, from memory: no document stands behind them here.
REMEMBERED_NUMBERS = {
    "AT": "ATU13585627",
    "BE": "BE0136695962",
    "DE": "DE136695976",
    "DK": "DK13585628",
    "ES": "ESA13585625",
    "FI": "FI13669598",
    "FR": "FR83404833048",
    "GR": "EL040127797",
    "IE": "IE8473625E",
    "IT": "IT00000010215",
    "LU": "LU10000356",
    "NL": "NL010000446B01",
    "PT": "PT136695973",
}


@pytest.fixture(scope="module")
def businesses() -> pd.DataFrame:
    """Sales of a seller in Poland (to Poland.

    Of one in Germany) to businesses with each of the numbers above.
    """
    cases = {
        **{f"{state} good": (state, pair[0]) for state, pair in DOCUMENTED_NUMBERS.items()},
        **{f"{state} bad": (state, pair[1]) for state, pair in DOCUMENTED_NUMBERS.items()},
        **{f"{state} remembered": (state, vat) for state, vat in REMEMBERED_NUMBERS.items()},
    }
    rows = [
        {
            "order_id": name,
            "to": state,
            "buyer_tax_number": vat,
            "item_amount": "100.00",
            "currency": "EUR",
            "sent_from": "DE" if state == "PL" else "PL",
        }
        for name, (state, vat) in cases.items()
    ]
    return asked(union_seller("PL", registration=registered("PL", "DE")), *rows)


@pytest.mark.parametrize("state", sorted(DOCUMENTED_NUMBERS))
def test_documented_vat_number_makes_a_business_buyer(businesses: pd.DataFrame, state: str) -> None:
    """Python-stdnum documentation, module of each member state.

    Its example number, and one with a wrong digit.
    """
    assert businesses.loc[f"{state} good", "duty"] == "buyer_accounts"
    assert businesses.loc[f"{state} bad", "duty"] == "collect"


@pytest.mark.parametrize("state", sorted(REMEMBERED_NUMBERS))
def test_remembered_vat_number_makes_a_business_buyer(businesses: pd.DataFrame, state: str) -> None:
    """From memory: example numbers of the Commission's description of the check digits."""
    assert businesses.loc[f"{state} remembered", "duty"] == "buyer_accounts"


@pytest.mark.source("ecb-reference-rates")
@pytest.mark.parametrize(
    ("currency", "whole"),
    [
        ("SEK", 99_680),
        ("DKK", 74_415),
        ("CZK", 256_530),
        ("RON", 46_337),
        ("PLN", 42_020),
        ("HUF", 3_139_600),
        ("BGN", 19_558),
    ],
)
def test_ten_thousand_euros_on_5_december_2017(currency: str, whole: int) -> None:
    """European Central Bank, reference rates of 2017-12-05, the day that art.

    59c names: published rates x 10 000.
    """
    euros = np.array([1_000_000], np.int64)
    assert convert(euros, CURRENCY_CODE["EUR"], currency, number(date(2017, 12, 5))).tolist() == [whole * 100]


@pytest.mark.source("ecb-reference-rates", "eu-com-explanatory-notes-2027")
def test_dollars_of_30_september_2026() -> None:
    """European Central Bank, 1.1355 dollars a euro on 2026-09-30: USD 165.00 is EUR 145.31 (derived.

    145.3104).
    """
    day = number(date(2026, 9, 30))
    assert quotes("USD").on(np.array([day], np.int32)).tolist() == [1_135_500]
    assert convert(np.array([16_500], np.int64), CURRENCY_CODE["USD"], "EUR", day).tolist() == [14_531]


@pytest.mark.source("ecb-reference-rates", "eu-dir-2006-112-art-366")
def test_kronor_of_the_last_day_of_a_quarter() -> None:
    """European Central Bank, 11.3310 kronor a euro on 2026-09-30: SEK 11 331.00 is EUR 1 000.00 (derived)."""
    amount = np.array([1_133_100], np.int64)
    assert convert(amount, CURRENCY_CODE["SEK"], "EUR", number(date(2026, 9, 30))).tolist() == [100_000]


@pytest.mark.source("ecb-reference-rates")
def test_a_day_without_publication_takes_the_last_one_before() -> None:
    """European Central Bank: nothing was published from Good Friday 2024-03-29 to Easter Monday 2024-04-01."""
    thursday, sunday, tuesday = (number(date(2024, *day)) for day in ((3, 28), (3, 31), (4, 2)))
    for currency in ("USD", "SEK", "CZK"):
        published = quotes(currency).days.tolist()
        assert not set(range(thursday + 1, tuesday)) & set(published)
        assert {thursday, tuesday} <= set(published)
        on = quotes(currency).on(np.array([thursday, sunday, tuesday], np.int32)).tolist()
        assert on[0] == on[1]
        assert on[1] != on[2]


# pycountry has all of ISO 3166-2:US; the minor outlying islands are one code there and none of ours (nobody lives there).
ISO_WITHOUT_OURS = {"US-UM"}
NAMED_OTHERWISE = {"US-VI": ("U.S. Virgin Islands", "Virgin Islands, U.S.")}
OURS_WITHOUT_ISO = {
    "US-AA": "Armed Forces Americas",
    "US-AE": "Armed Forces Europe",
    "US-AP": "Armed Forces Pacific",
}


@pytest.mark.source("iso-3166-pycountry")
def test_codes_and_names_of_us_states_are_those_of_iso_3166_2() -> None:
    """Package pycountry (ISO 3166-2).

    Every subdivision of the United States by code and name, but those listed.
    """
    iso = {item.code: item.name for item in pycountry.subdivisions.get(country_code="US")}
    ours = {code: places.name(code) for code in places.codes() if code.startswith("US-")}
    assert set(iso) - set(ours) == ISO_WITHOUT_OURS
    assert set(ours) - set(iso) == set(OURS_WITHOUT_ISO)
    differing = {code: (ours[code], iso[code]) for code in set(ours) & set(iso) if ours[code] != iso[code]}
    assert differing == NAMED_OTHERWISE


@pytest.mark.source("iso-3166-pycountry")
def test_codes_of_member_states_are_those_of_iso_3166_1() -> None:
    """Package pycountry (ISO 3166-1): alpha-2 codes and names of the 27 (Greece is GR, never EL)."""
    for state in MEMBER_STATES:
        country = pycountry.countries.get(alpha_2=state)
        assert country is not None
        assert places.name(state) == getattr(country, "common_name", country.name)
