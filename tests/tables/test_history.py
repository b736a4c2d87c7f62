"""Rates on both sides of each day of change, typed by hand from the papers that the tests name."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from taxcalc.columns import PRODUCT_CLASSES
from taxcalc.days import number
from taxcalc.tables.load import Tables, load_tables

STANDARD = "*"


@pytest.fixture(scope="module")
def tables() -> Tables:
    """The shipped tables."""
    return load_tables()


def change(paper: str, place: str, first_day: str, before: str, after: str) -> object:
    """Describe one change: the paper, the place, the first day of the new rate, both rates in percent."""
    return pytest.param(
        place,
        date.fromisoformat(first_day),
        before,
        after,
        marks=pytest.mark.source(paper),
        id=f"{place} {first_day}",
    )


def eu_percent(tables: Tables, place: str, kind: str, day: date) -> Decimal:
    """Give the rate of eu/rates in percent."""
    table = tables["eu/rates"]
    row = int(table.lookup(number(day), place=place, product_class=kind))
    assert row >= 0, f"no row for {place} {kind} on {day}"
    return Decimal(int(table["percent"][row])) / 10_000


@pytest.mark.parametrize(
    ("place", "first_day", "before", "after"),
    [
        change("de-ustg-28", "DE", "2020-07-01", "19", "16"),
        change("de-bgbl-2020-1512", "DE", "2021-01-01", "16", "19"),
        change("ie-revenue-rates-table", "IE", "2020-09-01", "23", "21"),
        change("ie-revenue-rates-table", "IE", "2021-03-01", "21", "23"),
        change("lu-law-2022-10-26", "LU", "2023-01-01", "17", "16"),
        change("lu-law-2022-10-26", "LU", "2024-01-01", "16", "17"),
        change("ee-press-2023-12", "EE", "2024-01-01", "20", "22"),
        change("ee-press-2025-06", "EE", "2025-07-01", "22", "24"),
        change("fi-salo-2024", "FI", "2024-09-01", "24", "25.5"),
        change("sk-vat-act-222-2004", "SK", "2025-01-01", "20", "23"),
        change("ro-ajfp-salaj-2025", "RO", "2025-08-01", "19", "21"),
        change("pt-at-oc-25045-2024", "PT-20", "2021-07-01", "18", "16"),
    ],
)
def test_standard_rate_changes_on_its_day(
    tables: Tables, place: str, first_day: date, before: str, after: str
) -> None:
    """The notice, act or (Estonia, Finland, Romania) report that the mark names.

    Figures before a change come from the Commission's list of 2018 where the notice gives the new one only.
    """
    eve = first_day - timedelta(days=1)
    assert eu_percent(tables, place, STANDARD, eve) == Decimal(before)
    assert eu_percent(tables, place, STANDARD, first_day) == Decimal(after)


@pytest.mark.parametrize(
    ("place", "first_day", "before", "after"),
    [
        change("de-ustg-28", "DE", "2020-07-01", "7", "5"),
        change("de-ustg-12-annex-2", "DE", "2021-01-01", "5", "7"),
        change("at-books-bgbl-2020-60", "AT", "2020-07-01", "10", "5"),
        change("at-books-bgbl-2020-60", "AT", "2022-01-01", "5", "10"),
        change("bg-nap-art-66", "BG", "2020-07-01", "20", "9"),
        change("lv-saeima-2021", "LV", "2022-01-01", "12", "5"),
        change("cy-vat-notes-2023", "CY", "2023-07-21", "5", "3"),
        change("cz-vat-act", "CZ", "2024-01-01", "10", "0"),
        change("fi-he-93-2025", "FI", "2025-01-01", "10", "14"),
        change("fi-he-93-2025", "FI", "2026-01-01", "14", "13.5"),
        change("sk-vat-act-222-2004", "SK", "2025-01-01", "10", "5"),
        change("ro-ajfp-salaj-2025", "RO", "2025-08-01", "5", "11"),
        change("lt-seimas-2025-06", "LT", "2026-01-01", "9", "5"),
    ],
)
def test_rate_of_books_changes_on_its_day(
    tables: Tables, place: str, first_day: date, before: str, after: str
) -> None:
    """The paper that the mark names for the new rate; the rate before is from memory for BG, CY, FI (2025) and LV."""
    eve = first_day - timedelta(days=1)
    assert eu_percent(tables, place, "books", eve) == Decimal(before)
    assert eu_percent(tables, place, "books", first_day) == Decimal(after)


@pytest.mark.source("eu-com-vat-rates-2018")
@pytest.mark.parametrize(
    ("place", "percent"),
    [
        ("AT", "20"), ("BE", "21"), ("BG", "20"), ("CY", "19"), ("CZ", "21"), ("DE", "19"), ("DK", "25"), ("EE", "20"),
        ("ES", "21"), ("FI", "24"), ("FR", "20"), ("GR", "24"), ("HR", "25"), ("HU", "27"), ("IE", "23"), ("IT", "22"),
        ("LT", "21"), ("LU", "17"), ("LV", "21"), ("MT", "18"), ("NL", "21"), ("PL", "23"), ("PT", "23"), ("RO", "19"),
        ("SE", "25"), ("SI", "22"), ("SK", "20"),
    ],
)  # fmt: skip
def test_standard_rates_of_2019_are_those_of_the_commissions_last_list(
    tables: Tables, place: str, percent: str
) -> None:
    """European Commission, VAT rates applied in the Member States, 2018 edition: none changed until 2020."""
    for day in (date(2019, 1, 1), date(2020, 6, 30)):
        assert eu_percent(tables, place, STANDARD, day) == Decimal(percent)


@pytest.mark.parametrize(
    ("place", "first_day", "before", "after"),
    [
        ("SI", "2020-01-01", "9.5", "5"),
        ("PT-30", "2024-10-01", "5", "4"),
        ("AT-6691", "2020-07-01", "10", "5"),
        ("AT-699", "2022-01-01", "5", "10"),
        ("LV", "2026-01-01", "5", "5"),
    ],
)
def test_rate_of_books_changes_on_the_day_remembered(
    tables: Tables, place: str, first_day: str, before: str, after: str
) -> None:
    """From memory: no paper was read; Latvia's day changes the languages, not the rate of those listed."""
    day = date.fromisoformat(first_day)
    assert eu_percent(tables, place, "books", day - timedelta(days=1)) == Decimal(before)
    assert eu_percent(tables, place, "books", day) == Decimal(after)


def changes(tables: Tables, name: str) -> dict[tuple[str, ...], int]:
    """Count the rows of each key after its first."""
    keys = tables[name].keys
    return {key: keys.count(key) - 1 for key in keys if keys.count(key) > 1}


def test_no_change_of_a_rate_is_untested(tables: Tables) -> None:
    """Whoever adds a change to a table of rates adds its paper here: the days of change are counted."""
    standard = {"DE": 2, "IE": 2, "LU": 2, "EE": 2, "FI": 1, "SK": 1, "RO": 1, "PT-20": 1}
    books = {
        "AT": 2, "AT-6691": 2, "AT-699": 2, "BG": 1, "CY": 1, "CZ": 1, "DE": 2, "FI": 2, "LT": 1, "LV": 2, "PT-30": 1,
        "RO": 1, "SI": 1, "SK": 1,
    }  # fmt: skip
    assert changes(tables, "eu/rates") == {
        **{(place, STANDARD): count for place, count in standard.items()},
        **{(place, "books"): count for place, count in books.items()},
    }
    # New Mexico's row of 2021-07-01 changes how sales are sourced, not the rate.
    states = {"US-DC": 1, "US-LA": 1, "US-NM": 3, "US-SD": 2, "US-UT": 1}
    assert changes(tables, "us/state_rates") == {(place,): count for place, count in states.items()}


@pytest.mark.parametrize(
    ("place", "first_day", "before", "after"),
    [
        change("la-dor-faq-state-rate", "US-LA", "2025-01-01", "4.45", "5"),
        change("nm-trd-rate-2022-07", "US-NM", "2022-07-01", "5.125", "5"),
        change("nm-trd-rate-2023-07", "US-NM", "2023-07-01", "5", "4.875"),
        change("sd-dor-hb-1137", "US-SD", "2023-07-01", "4.5", "4.2"),
        change("sd-dor-hb-1137", "US-SD", "2027-07-01", "4.2", "4.5"),
        change("dc-law-26-55", "US-DC", "2026-10-01", "6", "7"),
        change("ut-tax-bulletin-01-19", "US-UT", "2019-04-01", "5.95", "6.1"),
    ],
)
def test_state_rate_changes_on_its_day(
    tables: Tables, place: str, first_day: date, before: str, after: str
) -> None:
    """The notice that the mark names; Utah's 4.70 and 4.85 stand with the 1.25 points due everywhere (from memory)."""
    table = tables["us/state_rates"]
    days = np.array([number(first_day) - 1, number(first_day)], np.int32)
    ppm = table["state_percent"][table.lookup(days, place=place)].tolist()
    assert [Decimal(each) / 10_000 for each in ppm] == [Decimal(before), Decimal(after)]


@pytest.mark.source("canada-cra-notice-342")
def test_nova_scotia_lowers_its_rate_on_1_april_2025(tables: Tables) -> None:
    """GST/HST Notice 342: 15 until 2025-03-31, 14 from 2025-04-01."""
    table = tables["elsewhere/rates"]
    days = np.array([number(date(2025, 3, 31)), number(date(2025, 4, 1))], np.int32)
    rows = table.lookup(days, place="CA", region="CA-NS", tax="hst", product_class="*")
    assert table["percent"][rows].tolist() == [150_000, 140_000]


@pytest.mark.source("lv-vestnesis-2025-244-30")
def test_latvian_books_go_by_language_from_2026(tables: Tables) -> None:
    """Latvijas Vestnesis 2025/244.30: 5 for the languages listed, the standard rate of 21 for others."""
    table = tables["eu/narrower_rates"]
    only = np.array(["language_listed", "language_not_listed"], dtype=object)
    books = PRODUCT_CLASSES.index("books")
    for day, expected in ((date(2025, 12, 31), [-1, -1]), (date(2026, 1, 1), [50_000, 210_000])):
        rows = table.lookup(number(day), place="LV", product_class=np.int8(books), only=only)
        assert [int(table["percent"][row]) if row >= 0 else -1 for row in rows] == expected


@pytest.mark.source("co-dor-delivery-fee-rates")
@pytest.mark.parametrize(
    ("day", "cents"),
    [
        ("2022-07-01", 27), ("2023-06-30", 27), ("2023-07-01", 28), ("2024-06-30", 28), ("2024-07-01", 29),
        ("2025-06-30", 29), ("2025-07-01", 28), ("2026-06-30", 28),
    ],
)  # fmt: skip
def test_colorados_delivery_fee_changes_each_july(tables: Tables, day: str, cents: int) -> None:
    """Colorado Department of Revenue, Retail Delivery Fee Rates."""
    table = tables["us/delivery_fees"]
    row = int(table.lookup(number(date.fromisoformat(day)), place="US-CO", fee="Retail Delivery Fee"))
    assert table["amount"][row] == cents


@pytest.mark.source("tx-comptroller-interest")
@pytest.mark.parametrize(
    ("day", "percent"),
    [
        ("2021-01-01", "4.25"), ("2022-12-31", "4.25"), ("2023-01-01", "8.5"), ("2023-12-31", "8.5"), ("2024-01-01", "9.5"),
        ("2024-12-31", "9.5"),
    ],
)  # fmt: skip
def test_texan_interest_changes_each_january(tables: Tables, day: str, percent: str) -> None:
    """Texas Comptroller, Interest Owed and Earned."""
    table = tables["us/interest_rates"]
    row = int(table.lookup(number(date.fromisoformat(day)), place="US-TX"))
    assert Decimal(int(table["percent"][row])) / 10_000 == Decimal(percent)


@pytest.mark.source("eu-reg-2026-382")
def test_relief_from_duty_gives_way_to_a_fixed_duty_on_1_july_2026(tables: Tables) -> None:
    """Regulation (EU) 2026/382: relief up to EUR 150 until 2026-06-30, then EUR 3 until 1 July 2028."""
    relief, duty = tables["eu/other_limits"], tables["eu/import_charges"]
    days = np.array(
        [number(date(2026, 6, 30)), number(date(2026, 7, 1)), number(date(2028, 6, 30))], np.int32
    )
    free = relief.lookup(days, measure="customs_duty_relief", place="EU")
    assert relief["amount"][free[:1]].tolist() == [15_000]
    assert free[1:].tolist() == [-1, -1]
    due = duty.lookup(days, place="EU", charge="flat_duty")
    assert due[0] == -1
    assert duty["amount"][due[1:]].tolist() == [300, 300]
    assert duty.lookup(number(date(2028, 7, 1)), place="EU", charge="flat_duty") == -1
