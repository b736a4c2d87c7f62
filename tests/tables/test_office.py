"""The shipped tables, really opened and saved by a spreadsheet in several languages: the same values, or refused."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from taxcalc.tables.load import check_tables
from taxcalc.tables.read import fields_of, read_cells
from taxcalc.tables.schema import SCHEMAS
from taxcalc.tables.where import folder

sys.path.insert(0, str(Path(__file__).parent))
from office import OFFICE, WESTERN, Way, saved

pytestmark = pytest.mark.skipif(OFFICE is None, reason="LibreOffice (soffice) is not installed here")
ENGLISH, GERMAN, FRENCH, POLISH = 1033, 1031, 1036, 1045
ZIPS = {"us/zip_states", "us/zip_counties"}
AS_NUMBERS = {"us/state_rates", "us/local_rates", "us/flat_rates"}
"""Tables with rates of three decimals, which a language with a decimal comma reads as thousands."""

WAYS = {
    "german with semicolons": (Way("de-DE", GERMAN, ";"), ZIPS | AS_NUMBERS),
    "german, all quoted, as text": (
        Way("de-DE", GERMAN, ",", quote_all=True, as_text=tuple(range(1, 30))),
        set(),
    ),
    "french, cells not as shown": (Way("fr-FR", FRENCH, ";", as_shown=False), ZIPS),
    "polish with tabs": (Way("pl-PL", POLISH, "\t"), ZIPS | {"us/state_rates", "us/local_rates", "eu/rates"}),
    "western encoding": (Way("en-US", ENGLISH, encoding=WESTERN), ZIPS | {"sources", "places"}),
}


@pytest.mark.parametrize("name", WAYS)
def test_saved_tables_hold_the_same_values_or_are_refused(name, tmp_path):
    """Row by row and column by column; no table that was changed is taken."""
    way, refused = WAYS[name]
    flat, full = tmp_path / "flat", tmp_path / "full"
    flat.mkdir()
    for schema in SCHEMAS:
        shutil.copy(folder() / f"{schema.name}.csv", flat / f"{schema.name.replace('/', '__')}.csv")
    files = saved(sorted(flat.iterdir()), way, tmp_path)
    for file, content in files.items():
        path = full / file.replace("__", "/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    blamed = {each.file for each in check_tables(shipped=full, label="saved")}
    same = 0
    for schema in SCHEMAS:
        if f"saved/{schema.name}.csv" in blamed:
            continue
        before = read_cells(schema, (folder() / f"{schema.name}.csv").read_bytes(), "shipped", own=False)
        after = read_cells(schema, (full / f"{schema.name}.csv").read_bytes(), "saved", own=False)
        assert after.rows == before.rows, schema.name
        for field in fields_of(schema):
            assert after.values[field.name] == before.values[field.name], f"{schema.name}, {field.name}"
        same += 1
    assert refused <= {each.removeprefix("saved/").removesuffix(".csv") for each in blamed if each}
    assert same >= len(SCHEMAS) // 3
    assert not (way.as_text and blamed), "imported as text nothing changes"


TYPED = (
    "place,average_percent,highest_percent,lowest_percent,valid_from,ended,source,basis,checked_on,back_to_shipped\n"
    "US-GA,3.5%,5%,0%,2026-07-01,no,memory,unconfirmed,2026-11-25,no\n"
)


@pytest.mark.parametrize("as_shown", [True, False], ids=["as shown", "as kept"])
def test_rates_typed_with_a_percent_sign_never_become_fractions(as_shown, tmp_path):
    """Shown they have a sign, kept they are 0.035: both are refused."""
    source = tmp_path / "local_rates.csv"
    source.write_text(TYPED, encoding="utf-8")
    (content,) = saved([source], Way("en-US", ENGLISH, as_shown=as_shown), tmp_path).values()
    own = tmp_path / "own" / "us"
    own.mkdir(parents=True)
    (own / "local_rates.csv").write_bytes(content)
    columns = {each.column for each in check_tables(tmp_path / "own")}
    assert {"average_percent", "highest_percent"} <= columns


LOCAL_DAYS = TYPED.replace("3.5%,5%,0%", "3.5,5,0").replace("2026-07-01", "{day}")


@pytest.mark.parametrize(
    ("locale", "language", "day"), [("en-US", ENGLISH, "7/1/2026"), ("de-DE", GERMAN, "1.7.2026")]
)
def test_a_day_typed_in_the_local_form_is_refused(locale, language, day, tmp_path):
    source = tmp_path / "local_rates.csv"
    source.write_text(LOCAL_DAYS.replace("3.5", "3").format(day=day), encoding="utf-8")
    (content,) = saved([source], Way(locale, language, ";"), tmp_path).values()
    own = tmp_path / "own" / "us"
    own.mkdir(parents=True)
    (own / "local_rates.csv").write_bytes(content)
    assert [(each.id, each.column) for each in check_tables(tmp_path / "own")] == [("E521", "valid_from")]


def test_decimal_commas_that_were_typed_are_read_exactly(tmp_path):
    """A German writes 3,49 into a sheet; semicolons part the cells."""
    source = tmp_path / "local_rates.csv"
    source.write_text(TYPED.replace("3.5%,5%,0%", '"3,49","5,125",0'), encoding="utf-8")
    (content,) = saved([source], Way("de-DE", GERMAN, ";"), tmp_path).values()
    assert b"3,49;5,125;0;" in content
    schema = next(each for each in SCHEMAS if each.name == "us/local_rates")
    cells = read_cells(schema, content, "saved", own=True)
    assert cells.complaints == []
    assert [cells.values[name] for name in ("average_percent", "highest_percent")] == [[34_900], [51_250]]
