"""Addresses found through the memory of a run are those the finder gives, in whatever order they come."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
from hypothesis import given, settings
from hypothesis import strategies as st

from taxcalc.intake.addresses import Addresses
from taxcalc.intake.texts import Coded
from taxcalc.places_find import PlaceFinder
from taxcalc.set_aside import REASON_NAMES

if TYPE_CHECKING:
    from taxcalc.tables.load import Tables

POSTALS = st.one_of(
    st.sampled_from(
        [
            "",
            "90001",
            "90001-1234",
            "10001",
            "00501",
            "501",
            "35001",
            "SW1A 1AA",
            "900011234",
            "1234",
            "90001-12345",
        ]
    ),
    st.text("0123456789- A", max_size=11),
)
ADDRESSES = st.tuples(
    st.sampled_from(["US", "us", "DE", "ES", "Spain", "", "Atlantis", "GB"]),
    st.sampled_from(["", "CA", "NY", "California", "Canarias"]),
    POSTALS,
)


def coded(texts: list[str]) -> Coded:
    """Code a column as the reader does."""
    column = pa.array(texts, pa.string()).dictionary_encode()
    return Coded(column.dictionary, column.indices.to_numpy())


@settings(deadline=None)
@given(st.lists(st.lists(ADDRESSES, min_size=1, max_size=20), min_size=1, max_size=4))
def test_the_memory_changes_no_answer(tables: Tables, blocks: list[list[tuple[str, str, str]]]) -> None:
    """Block after block, the answers are those of a fresh finder asked for each address alone."""
    finder = PlaceFinder(tables)
    memory = Addresses(lambda: finder)
    for block in blocks:
        columns = [list(column) for column in zip(*block, strict=True)]
        found = memory.find(*(coded(column) for column in columns))
        short = [code[:5] if zip_plus_four(code) else code for code in columns[2]]
        place, zone, problem = finder.find(columns[0], columns[1], short)
        assert found.place.tolist() == place.tolist()
        assert found.zone.tolist() == zone.tolist()
        assert [REASON_NAMES[code] if code >= 0 else "" for code in found.fault] == problem.tolist()


def zip_plus_four(code: str) -> bool:
    """Say whether a code is nine digits with a hyphen."""
    return len(code) == 10 and code[5] == "-" and (code[:5] + code[6:]).isdecimal()


def test_us_answers_do_not_depend_on_the_last_four_digits(tables: Tables) -> None:
    """What the shortening rests on: the finder itself says the same for both spellings of a ZIP code."""
    finder = PlaceFinder(tables)
    five = [f"{number:05d}" for number in range(0, 100_000, 37)]
    country, region = ["US"] * len(five), [""] * len(five)
    whole = finder.find(country, region, [f"{code}-1234" for code in five])
    for part, other in zip(finder.find(country, region, five), whole, strict=True):
        assert np.array_equal(part, other)
