"""Which place a person means: codes, English names, own names, groups, slips."""

from __future__ import annotations

import pytest
from check_place import tables

from taxcalc.destination.find import find, has_rules, members
from taxcalc.tables.names import UnknownNameError


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("US-TX", "US-TX"),
        ("texas", "US-TX"),
        ("FR", "FR"),
        ("DE", "DE"),
        ("Georgia", "US-GA"),
        ("GE", "GE"),
        ("Deutschland", "DE"),
        ("österreich", "AT"),
        ("Ελλάδα", "GR"),
        ("Norge", "NO"),
        ("日本", "JP"),
        ("Canary Islands", "ES-CN"),
        ("Puerto Rico", "US-PR"),
        ("  New   York ", "US-NY"),
        ("usa", "US"),
        ("European Union", "EU"),
    ],
)
def test_a_place_is_found_by_code_and_by_name(text: str, code: str) -> None:
    """DE is Germany and not Delaware, as in an address; Georgia is the state, which the shop is more likely to mean."""
    assert find(text) == code


@pytest.mark.parametrize(
    ("text", "near"), [("Tejas", "Texas (US-TX)"), ("Frankreich", "France (FR)"), ("Itlay", "Italy (IT)")]
)
def test_a_slip_gets_the_nearest(text: str, near: str) -> None:
    """In the words of the refusal."""
    with pytest.raises(UnknownNameError, match="is no place") as refused:
        find(text)
    assert near in str(refused.value)


def test_groups_hold_every_place_with_rules_of_its_own() -> None:
    """51 and Puerto Rico; 27 member states, Northern Ireland, and territories in the Union's VAT."""
    states, union = members("US", tables()), members("EU", tables())
    assert len(states) == 52
    assert {"US-DC", "US-PR"} <= set(states)
    assert not {"US-AE", "US-GU"} & set(states)
    assert len([code for code in union if len(code) == 2 and code not in ("XI", "MC")]) == 27
    assert {"XI", "MC", "PT-20", "FR-COR"} <= set(union)
    assert not {"ES-CN", "AX", "EU", "GP"} & set(union)
    assert all(has_rules(code) for code in states + union)
    assert not has_rules("NO")
