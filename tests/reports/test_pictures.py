"""Pictures: true to the record, with their caution inside, told apart without colour, the same bytes each time."""

from __future__ import annotations

import copy
import io
import subprocess
import sys
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import pytest
from example import ANYWHERE, record
from invented_record import a_place, a_record, a_threshold, spread
from PIL import Image

from taxcalc.caution import CAUTION
from taxcalc.reports.json_file import json_text
from taxcalc.reports.layout import Column, figure_table
from taxcalc.reports.pictures import pictures, png, svg, waterfall
from taxcalc.reports.pictures.look import LIMITS, PLACES, Look
from taxcalc.reports.pictures.picture import Picture
from taxcalc.reports.pictures.tiles import STATES, UNION

if TYPE_CHECKING:
    from pathlib import Path

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("limits", "course", "states", "union", "quarters")


def parsed(drawing: str) -> ET.Element:
    """Read a drawing of our own."""
    return ET.fromstring(drawing)  # noqa: S314 - nobody else's


def drawn(record: dict[str, Any], name: str) -> Picture:
    """Give one picture of a record."""
    (found,) = (picture for picture in pictures(record) if picture.name == name)
    return found


def luminance(colour: str) -> float:
    """Give the relative luminance of a colour, as WCAG 2.2 defines it (W3C Recommendation, glossary)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of WCAG 2.2 (W3C Recommendation, glossary)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def lightness(colour: str) -> float:
    """Give CIE L* (ISO/CIE 11664-4): what a grey print keeps of a colour."""
    return 116 * luminance(colour) ** (1 / 3) - 16


@pytest.mark.parametrize("looks", [LIMITS, PLACES], ids=["limits", "places"])
def test_states_of_things_are_told_apart_without_colour(looks: dict[str, Look]) -> None:
    """Fills that differ do so by 15 of L* at least; what shares a fill differs by its mark or the kind of its edge."""
    fills = sorted({look.fill for look in looks.values()} - {"#FFFFFF"}, key=lightness)
    assert all(lightness(light) - lightness(dark) >= 15 for dark, light in pairwise(fills))
    seen = {(look.fill, look.mark, look.dotted, look.thick) for look in looks.values()}
    assert len(seen) == len(looks)
    assert len({look.words for look in looks.values()}) == len(looks)


@pytest.mark.parametrize("look", [*LIMITS.values(), *PLACES.values()], ids=lambda look: look.words)
def test_text_on_a_fill_can_be_read(look: Look) -> None:
    """WCAG 2.2, success criterion 1.4.3 (AA): 4.5 to 1."""
    assert contrast(look.fill, look.text) >= 4.5


def test_the_grids_hold_every_state_once() -> None:
    """Fifty states and the District of Columbia; twenty-seven member states (art. 52 TEU, from memory)."""
    assert (len(STATES), len(UNION)) == (51, 27)
    for grid in (STATES, UNION):
        assert len(set(grid.values())) == len(grid)
    assert {"US-DE", "US-MT"} <= set(STATES)
    assert {"DE", "MT"} <= set(UNION)


def test_a_state_and_a_country_of_one_code_are_two_places() -> None:
    """Delaware has nothing to do with Germany."""
    lack = {"shortfall": spread("5.00", "5.00", "5.00")}
    germany = a_place(
        "DE", "Germany", regime="eu", orders=1, sales="50.00", duty_from="2026-01-01", since_duty=lack
    )
    delaware = a_place("US-DE", "Delaware", orders=1, sales="50.00")
    found = a_record(places=[germany, delaware])
    assert drawn(found, "union").data["stands"]["DE"] == "lacking"
    assert drawn(found, "states").data["stands"]["US-DE"] == "no_limit"
    assert "Germany (DE) $5.00" in drawn(found, "union").finding
    assert "Germany" not in drawn(found, "states").alt


@pytest.mark.parametrize(
    ("values", "limit", "stands"),
    [
        ({}, None, "none"),
        ({"orders": 3, "sales": "30.00"}, "clear", "sales"),
        ({"orders": 3, "sales": "30.00"}, "watch", "watch"),
        ({"orders": 3, "sales": "30.00"}, "near", "near"),
        ({"orders": 3, "sales": "30.00"}, "crossed", "near"),
        ({"orders": 3, "sales": "30.00", "duty_from": "2026-01-01"}, "crossed", "duty"),
        ({"orders": 3, "sales": "30.00"}, None, "no_limit"),
    ],
)
def test_how_a_place_stands(values: dict[str, Any], limit: str | None, stands: str) -> None:
    """The first that is true."""
    limits = [a_threshold("US-UT", "Utah", status=limit, share="60.0")] if limit else []
    found = a_record(places=[a_place("US-UT", "Utah", **values)], thresholds=limits)
    assert drawn(found, "states").data["stands"]["US-UT"] == stands


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_says_its_finding_and_its_caution(name: str) -> None:
    """In the drawing as text, as a title and a description, and without styles that a page would not let in."""
    picture = drawn(record(), name)
    root = parsed(svg(picture))
    words = " ".join(" ".join(part.itertext()) for part in root.iter(f"{SVG}text"))
    assert CAUTION in " ".join(words.split())
    assert root.attrib["role"] == "img"
    assert (root[0].tag, root[0].text) == (f"{SVG}title", picture.finding)
    assert (root[1].tag, root[1].text) == (f"{SVG}desc", picture.alt)
    assert picture.alt.startswith(picture.finding)
    assert not [part for part in root.iter() if "style" in part.attrib or part.tag == f"{SVG}style"]
    used = {part.attrib["id"] for part in root.iter() if "id" in part.attrib}
    assert all(each.startswith(f"{name}-") for each in used)


@pytest.mark.parametrize("name", NAMES)
def test_drawn_again_it_is_the_same(name: str) -> None:
    """Byte for byte, as text and as pixels, and without the day it was drawn on."""
    picture = drawn(record(), name)
    assert svg(picture) == svg(drawn(copy.deepcopy(record()), name))
    first = png(picture)
    assert first == png(picture)
    assert Image.open(io.BytesIO(first)).width == 1209
    assert not {"Software", "Creation Time"} & set(Image.open(io.BytesIO(first)).info)


def test_an_amount_is_no_formula() -> None:
    """Two dollar signs in one text are two dollars."""
    words = "".join(parsed(svg(drawn(record(), "limits"))).itertext())
    assert "$14,040.45 of $100,000.00" in words


@pytest.mark.parametrize("words", ["<script>alert(1)</script>", "]]></desc><b>", "$\\frac{1}{0}$ & \u202e"])
def test_a_hostile_name_is_only_text(words: str) -> None:
    """In every picture that names a place."""
    found = a_record(thresholds=[a_threshold("US-UT", words, status="near", share="90.0")])
    root = parsed(svg(drawn(found, "limits")))
    assert {part.tag.removeprefix(SVG) for part in root.iter()} <= {
        *("svg", "title", "desc", "g", "path", "text", "defs", "clipPath", "rect", "use", "tspan"),
    }


def test_numbers_beside_a_picture_are_those_of_the_record() -> None:
    """The quarters add up to the look-back, the limits are those with the largest share."""
    found = record()
    quarters = drawn(found, "quarters")
    total = sum(Decimal(row["shortfall"]["expected"]) for row in found["look_back"])
    assert sum(Decimal(row["shortfall"]["expected"]) for row in found["shortfall_by_quarter"]) == total
    assert len(quarters.table.rows) == len(found["shortfall_by_quarter"])
    shares = [row["share"] for row in drawn(found, "limits").data["rows"]]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == max(row["share"] for row in found["thresholds"])
    assert len(drawn(found, "course").table.rows) == sum(len(row["steps"]) for row in found["running_totals"])


def test_drawing_says_nothing_on_a_computer_that_keeps_no_fonts(tmp_path: Path) -> None:
    """Where the drawing library cannot keep its list of fonts, the picture is drawn all the same, and quietly."""
    (tmp_path / "file").touch()
    (tmp_path / "record.json").write_text(json_text(record()), encoding="utf-8")
    code = (
        "import json; from taxcalc.reports.pictures import pictures, svg;"
        "print(len([svg(each) for each in pictures(json.load(open('record.json', encoding='utf-8')))]))"
    )
    nowhere = {**ANYWHERE, "MPLCONFIGDIR": str(tmp_path / "file" / "below")}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=tmp_path, env=nowhere
    )
    assert (done.stdout, done.stderr) == ("5\n", "")


def test_nothing_to_show_is_no_picture() -> None:
    """A shop without limits, lacks or places has none."""
    assert pictures(a_record(places=[], thresholds=[])) == []


def test_a_picture_without_words_cannot_be_made() -> None:
    """Nor one whose finding is blank."""
    table = figure_table([Column("Place")], [], CAUTION)
    with pytest.raises(ValueError, match="finding"):
        Picture("x", "y", " ", "words", table, None, lambda _: None)  # type: ignore[arg-type, return-value]


@pytest.mark.parametrize("included", [True, False], ids=["inside the price", "on top"])
def test_the_steps_of_an_order_lead_to_what_is_left(included: bool) -> None:  # noqa: FBT001
    """What the customer pays, less every step; a loss stands below the line."""
    now = {
        "currency": "EUR", "tax_included": included, "tax": spread("3.99", "3.99", "3.99"),
        "customer_pays": spread("25.00", "25.00", "25.00"), "fulfiller_goods": "20.00", "fulfiller_shipping": "4.00",
        "fulfiller_tax": spread("0.00", "1.00", "4.00"), "left": spread("-6.99", "-3.99", "-2.99"),
        "left_percent": spread("-28.0", "-16.0", "-12.0"), "tax_known": True, "fulfiller_tax_known": True,
    }  # fmt: skip
    answer = {
        "compared": [{"place": "FR", "name": "France", "now": now, "once_bound": None, "caution": CAUTION}]
    }
    picture = waterfall(answer)
    ((_, steps),) = picture.data[0]
    assert steps[0].amount - sum(step.amount for step in steps[1:-1]) == steps[-1].amount
    assert "-€3.99" in "".join(parsed(svg(picture)).itertext())


def test_a_tax_that_is_not_known_is_no_step() -> None:
    """Where no rules are held there is no bar of nothing, and what is left is said to be before it."""
    now = {
        "currency": "EUR", "tax_included": False, "tax": spread("0.00", "0.00", "0.00"), "tax_known": False,
        "customer_pays": spread("25.00", "25.00", "25.00"), "fulfiller_goods": "10.00", "fulfiller_shipping": "4.00",
        "fulfiller_tax": spread("0.00", "0.00", "0.00"), "fulfiller_tax_known": False,
        "left": spread("11.00", "11.00", "11.00"), "left_percent": spread("44.0", "44.0", "44.0"),
    }  # fmt: skip
    row = {"place": "JP", "name": "Japan", "now": now, "once_bound": None, "caution": CAUTION}
    picture = waterfall({"compared": [row]})
    ((_, steps),) = picture.data[0]
    assert [step.words for step in steps[1:]] == [
        "Fulfiller: goods", "Fulfiller: shipping", "Left for you, before any tax there",
    ]  # fmt: skip
    assert "before any tax there" in picture.finding
