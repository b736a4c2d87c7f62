"""ZIP codes by state against the ranges of three-digit prefixes that the postal service publishes, from memory."""

from __future__ import annotations

import csv

from taxcalc.tables.where import folder

REMEMBERED = {
    "US-AL": "350-369", "US-AK": "995-999", "US-AZ": "850-865", "US-AR": "716-729", "US-CA": "900-961", "US-CO": "800-816",
    "US-CT": "060-069", "US-DE": "197-199", "US-DC": "200 202-205 569", "US-FL": "320-339 341-342 344 346-347 349",
    "US-GA": "300-319 398-399", "US-HI": "967-968", "US-ID": "832-838", "US-IL": "600-629", "US-IN": "460-479",
    "US-IA": "500-528", "US-KS": "660-679", "US-KY": "400-427", "US-LA": "700-714", "US-ME": "039-049", "US-MD": "206-219",
    "US-MA": "010-027 055", "US-MI": "480-499", "US-MN": "550-567", "US-MS": "386-397", "US-MO": "630-658",
    "US-MT": "590-599", "US-NE": "680-693", "US-NV": "889-898", "US-NH": "030-038", "US-NJ": "070-089", "US-NM": "870-884",
    "US-NY": "005 100-149", "US-NC": "270-289", "US-ND": "580-588", "US-OH": "430-459", "US-OK": "730-732 734-749",
    "US-OR": "970-979", "US-PA": "150-196", "US-PR": "006-007 009", "US-RI": "028-029", "US-SC": "290-299",
    "US-SD": "570-577", "US-TN": "370-385", "US-TX": "733 750-799 885", "US-UT": "840-847", "US-VT": "050-054 056-059",
    "US-VA": "201 220-246", "US-VI": "008", "US-WA": "980-994", "US-WV": "247-268", "US-WI": "530-549", "US-WY": "820-831",
    "US-GU": "969", "US-AE": "090-098", "US-AA": "340", "US-AP": "962-966",
}  # fmt: skip
"""From memory: prefixes of the states as the postal service's list of three-digit areas gives them."""

OTHERS_BESIDE = {
    "063": {"US-NY"},  # Fishers Island
    "099": {"US-AE", "US-NJ"},  # not in the list remembered
    "205": {"US-MD", "US-VA"},  # offices of the federal government
    "726": {"US-MO"},  # a post office across the border
    "739": {"US-TX"},  # Texhoma
    "834": {"US-WY"},  # Alta and its neighbours
    "888": {"US-DC"},  # not in the list remembered
    "967": {"US-AS"},  # American Samoa
    "969": {"US-MP", "FM", "MH", "PW"},  # islands of the western Pacific
}
"""Where the dataset names a place other than the one remembered for the prefix, and why."""

UNUSED = "213 353 419 517 518 519 533 536 552 621 632 642 643 663 682 702 709 732 742 771 854 858 861 862 872 892 896 909 929 987"


def remembered() -> dict[str, str]:
    """Spread the ranges: prefix → place."""
    spread: dict[str, str] = {}
    for place, ranges in REMEMBERED.items():
        for run in ranges.split():
            low, _, high = run.partition("-")
            for prefix in range(int(low), int(high or low) + 1):
                assert spread.setdefault(f"{prefix:03}", place) == place
    return spread


def shipped() -> dict[str, set[str]]:
    """Read us/zip_states: prefix → places."""
    found: dict[str, set[str]] = {}
    with (folder() / "us" / "zip_states.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            for prefix in range(int(row["zip_from"][:3]), int(row["zip_to"][:3]) + 1):
                found.setdefault(f"{prefix:03}", set()).add(row["place"])
    return found


def test_every_prefix_lies_in_the_state_remembered_but_those_listed() -> None:
    """No prefix of the table is outside of its state, save the border cases that are named above."""
    expected = remembered()
    beside = {prefix: there - {expected.get(prefix)} for prefix, there in shipped().items()}
    assert {prefix: others for prefix, others in beside.items() if others} == OTHERS_BESIDE


def test_every_other_prefix_remembered_is_in_the_table() -> None:
    """Prefixes inside a state's range that no post office uses are listed, from memory; all others are there."""
    found = shipped()
    missing = {prefix for prefix, place in remembered().items() if place not in found.get(prefix, set())}
    assert missing == set(UNUSED.split())
