"""The README of the rate tables says what the schema and the files say."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from taxcalc.tables.describe import describe, describe_all
from taxcalc.tables.schema import BY_NAME, DATED, SCHEMAS, SOURCED, Schema
from taxcalc.tables.where import folder

TESTS = Path(__file__).parents[1]
README = (folder() / "README.md").read_text(encoding="utf-8")


def part(name: str) -> str:
    """Give the text between two markers of the README."""
    found = re.findall(rf"<!-- {name}:start -->\n(.*?)\n<!-- {name}:end -->", README, re.DOTALL)
    assert len(found) == 1, f"the README has {len(found)} parts called {name}"
    return str(found[0])


def rows(name: str) -> list[dict[str, str]]:
    """Read a shipped table as text."""
    with (folder() / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def listed(name: str) -> list[str]:
    """Give the source ids that the README lists in one of its parts."""
    lines = part(name).splitlines()
    ids = [match.group(1) for line in lines if (match := re.fullmatch(r"- `([^`]+)`", line))]
    assert len(ids) == len(lines), f"a line of {name} is no source id"
    return ids


def test_columns_are_those_of_the_schema() -> None:
    """Whoever changes the schema runs the generator again."""
    assert part("columns") == describe_all().strip()


def test_a_description_names_every_column_value_and_reference() -> None:
    """Nothing that a person may write into a table is left out of its description."""
    words = describe(BY_NAME["us/threshold_starts"])
    assert "| `place` | a code of `places.csv` |" in words
    assert "a key of `us/start_rules.csv`" in words
    shipping = describe(BY_NAME["us/shipping_rules"])
    for field in BY_NAME["us/shipping_rules"].fields:
        assert f"| `{field.name}` |" in shipping
        assert all(f"`{choice}`" in shipping for choice in field.choices)


@pytest.mark.parametrize("schema", SCHEMAS, ids=lambda schema: schema.name)
def test_files_have_the_columns_in_the_order_the_readme_gives(schema: Schema) -> None:
    """Own columns first, then those of dated tables, then those of sourced tables."""
    fields = (*schema.fields, *(DATED if schema.dated else ()), *(SOURCED if schema.sourced else ()))
    header = (folder() / f"{schema.name}.csv").read_text(encoding="utf-8").partition("\n")[0]
    assert header == ",".join(field.name for field in fields)


def test_every_source_is_named_by_a_row_or_listed() -> None:
    """No paper stands in sources.csv without a reader knowing why."""
    named = {row["source"] for schema in SCHEMAS if schema.sourced for row in rows(schema.name)}
    unnamed = {row["id"] for row in rows("sources")} - named
    assert sorted(unnamed) == sorted(listed("data-sources") + listed("test-sources"))


def test_sources_listed_for_worked_results_are_cited_by_a_test() -> None:
    """A mark `source` of some test names each of them."""
    tests = "".join(path.read_text(encoding="utf-8") for path in TESTS.rglob("test_*.py"))
    cited = {
        name
        for names in re.findall(r"mark\.source\(([^)]*)\)", tests)
        for name in re.findall(r'"([^"]+)"', names)
    }
    assert set(listed("test-sources")) <= cited


def test_changes_are_newest_first() -> None:
    """The day of each edition is a heading, and the last change is on top."""
    text = (folder() / "CHANGES.md").read_text(encoding="utf-8")
    days = re.findall(r"^## (\d{4}-\d\d-\d\d): ", text, re.MULTILINE)
    assert days
    assert days == sorted(days, reverse=True)
    assert days[-1] == "2026-11-25"
