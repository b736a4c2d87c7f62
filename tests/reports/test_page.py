"""The page: whole, cautioned, inert, closed to the network, the same each time."""

from __future__ import annotations

import base64
import hashlib
import re
import subprocess
import sys
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from clock import processor_time
from example import ANYWHERE, FOLDER, OPTIONS, ORDERS, assessment, record
from invented_record import a_finding, a_place, a_record, a_threshold, spread
from read_page import read, uncautioned

from taxcalc.caution import CAUTION, Figures
from taxcalc.reports.json_file import json_text
from taxcalc.reports.layout import Column, FigureTable, figures, heading, paragraph
from taxcalc.reports.page import review_page
from taxcalc.reports.page.blocks import sections
from taxcalc.reports.page.parts import ASIDE
from taxcalc.reports.terminal import SECTIONS, full

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = ("file", "row", "column", "value", "reason", "mend")
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }}{% raw %}",
    "</style><style>* { display: none }",
    "</title></svg><svg onload=alert(1)>",
    "javascript:alert(1)",
    "$x^2$ & <b>bold</b>",
)


def aside(*rows: tuple[str, ...]) -> Figures:
    """Give rows set aside."""
    return Figures("set_aside", pd.DataFrame(list(rows), columns=list(COLUMNS), dtype="str"))


def page(**values: Any) -> str:  # noqa: ANN401 - any part of a record
    """Write the page of an invented record."""
    return review_page(a_record(**values), aside())


@pytest.fixture(scope="module")
def example() -> str:
    """Write the page of the shipped example."""
    return review_page(record(), assessment().figures("set_aside"))


def test_no_section_table_or_picture_is_without_its_caution(example: str) -> None:
    """In the invented record and in the example, which has every kind of section but a few."""
    for text in (page(), example, page(places=[], thresholds=[], findings=[], fulfiller=[])):
        assert uncautioned(text, CAUTION) == []
    assert len(list(read(example).all("table"))) > 20
    assert len(list(read(example).all("svg"))) == 5


def test_a_figure_leads_to_the_rows_and_papers_behind_it(example: str) -> None:
    """Every place with rules leads to its rows, each row names its papers, and no way on the page leads nowhere."""
    root = read(example)
    ids = [element.attributes["id"] for element in root.all() if "id" in element.attributes]
    assert len(ids) == len(set(ids))
    by_id = {element.attributes["id"]: element for element in root.all() if "id" in element.attributes}
    ways = {one.attributes["href"][1:] for one in root.all("a") if one.attributes["href"].startswith("#")}
    assert ways <= by_id.keys()
    found = record()["rests_on"]
    taxed = [row["place"] for row in record()["places"] if row["lines"] and row["regime"] in ("us", "eu")]
    assert len(taxed) > 40
    assert {f"rests-on-{place.lower()}" for place in taxed} <= ways
    for place in taxed:
        text = by_id[f"rests-on-{place.lower()}"].text
        assert all(row in text for row in found["places"][place]), place
    assert all(found["rows"].values())
    papers = {one for some in found["rows"].values() for one in some}
    assert papers <= {row["id"] for row in record()["sources"]}
    assert {f"paper-{one}" for one in papers} <= ways


def test_a_caution_that_is_gone_is_found(example: str) -> None:
    """The search finds what it is for, in a table, a picture and a section."""
    table = re.sub(r'(<p class="caution" id="totals-1-caution">)[^<]+', r"\1", example, count=1)
    assert uncautioned(table, CAUTION) == ["section totals", "table totals-1"]
    drawing = re.sub(r">Estimate only[^<]+</text>", "></text>", example, count=1)
    assert uncautioned(drawing, CAUTION) == ["picture limits-title limits-words"]
    words = re.sub(
        r'(id="how-to-read-this">.*?<p class="caution">)[^<]+', r"\1", example, count=1, flags=re.DOTALL
    )
    assert uncautioned(words, CAUTION) == ["section how-to-read-this"]


def test_figures_without_a_caution_cannot_become_a_table() -> None:
    """Nor rows set aside that come without theirs."""
    with pytest.raises(ValueError, match="caution"):
        FigureTable((Column("Place"),), (), "  ")
    with pytest.raises(TypeError, match="Figures"):
        review_page(a_record(), pd.DataFrame())  # type: ignore[arg-type]


def test_every_section_of_the_review_is_on_the_page(example: str) -> None:
    """By its title; and a table of the page for each table of the review, but where a section has a form of its own."""
    titles = [element.text for element in read(example).all("h2")]
    assert len(titles) == len(set(titles))
    for section, _short in SECTIONS:
        for piece in section(record(), 140):
            if words := getattr(piece, "words", ""):
                assert words in [*titles, record()["title"]], section.__name__
    text = read(example).text
    for piece in full(record(), 140):
        if isinstance(piece, FigureTable) and piece.rows:
            assert piece.rows[0][0].plain.split("\n")[0].strip() in text


def test_a_new_section_of_the_review_takes_its_place_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """Between the figures of the returns and the rows set aside, without a word in the page's own code."""

    def new_taxes(_record: dict[str, Any], _width: int) -> list[Any]:
        rows = [["Utopia", "1.00"]]
        return [
            *heading("New taxes"),
            paragraph("Said."),
            *figures([Column("Place"), Column("Tax", number=True)], rows, CAUTION),
        ]

    monkeypatch.setattr("taxcalc.reports.page.review.SECTIONS", (*SECTIONS, (new_taxes, None)))
    text = page()
    titles = [element.text for element in read(text).all("h2")]
    assert titles.index("New taxes") < titles.index("Rows set aside")
    assert uncautioned(text, CAUTION) == []


def test_the_reading_order(example: str) -> None:
    """What was counted, what is due, what needs attention, pictures, figures, what they rest on."""
    titles = [element.text for element in read(example).all("h2")]
    order = [
        "Was everything counted?", "Totals", "What needs attention first", "Pictures", "Places of this period",
        "Limits (thresholds)", "Since the duty began", "Look-back and voluntary disclosure",
        "Tax your fulfiller may charge you", "Documents worth giving your fulfiller",
        "Figures for one-stop-shop returns", "Rows set aside", "Unconfirmed and old rows",
        "Assumptions and defaults taken", "What is outside this estimate", "How to read this", "Sources",
    ]  # fmt: skip
    assert [title for title in titles if title in order] == order


def test_headings_tables_and_names_are_in_order(example: str) -> None:
    """One h1, no level left out, every table with caption and header scopes, no name given twice."""
    root = read(example)
    levels = [int(element.tag[1]) for element in root.all("h1", "h2", "h3", "h4")]
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    for table in root.all("table"):
        assert [element.text for element in table.all("caption")] != [""]
        assert {head.attributes["scope"] for head in table.all("th")} <= {"col", "row"}
        assert all(head.text for head in table.all("th") if head.attributes["scope"] == "col")
    names = [element.attributes["id"] for element in root.all() if "id" in element.attributes]
    assert len(names) == len(set(names))
    for element in root.all():
        for key in ("aria-labelledby", "aria-describedby"):
            assert set(element.attributes.get(key, "").split()) <= set(names)


def test_nothing_is_loaded_and_only_our_own_script_may_run(example: str) -> None:
    """The policy names the hashes of the one style and the one script; addresses stand in the sources alone."""
    root = read(example)
    (policy,) = (e.attributes["content"] for e in root.all("meta") if "http-equiv" in e.attributes)
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    for tag in ("style", "script"):
        (content,) = re.findall(rf"<{tag}>(.*?)</{tag}>", example, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert not [e for e in root.all() if {"style", "src", "onload", "onclick"} & set(e.attributes)]
    links = [e.attributes["href"] for e in root.all("a") if not e.attributes["href"].startswith("#")]
    assert len(links) > 100
    assert all(link.startswith(("https://", "http://")) for link in links)
    rest = re.sub(r'href="[^"]+"|xmlns(:xlink)?="[^"]+"', "", example)
    assert not re.findall(r"(?:src|url\(|@import)\s*=?\s*[\"']?(?:https?:)?//", rest)


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_are_shown_and_never_run(words: str) -> None:
    """As the name of a seller, a place, a file, a finding, a row set aside, a source or its link."""
    record = a_record(
        seller={"name": words, "country": "US", "region": "US-OR"},
        places=[a_place("US-TX", words, orders=1, sales="9.00", to_collect=spread("1.00", "1.00", "1.00"))],
        thresholds=[a_threshold("US-TX", words, share="88.0", status="near")],
        findings=[a_finding("near", 2, words, place="US-TX", name=words)],
        assumptions=[words],
        sources=[{"id": "x", "publisher": words, "title": words, "link": words, "published_on": words}],
        files=[{"name": words, "rows": 1, "sha256": ""}],
        weak_rows=[
            {
                "row": words,
                "basis": "unconfirmed",
                "checked_on": "2026-11-25",
                "behind": "tax",
                "places": [words],
            }
        ],
    )
    text = review_page(record, aside((words, "2", "item_amount", words, "bad_amount", words)))
    root = read(text)
    shown = root.text
    plain = " ".join(words.split())
    for part in ("Seller", "Rows set aside", "Sources", "Assumptions"):
        assert part in shown
    assert shown.count(plain) >= 8
    assert (
        len(list(root.all("script")))
        == len(list(root.all("style")))
        == len(list(root.all("title"))) - len(list(root.all("svg")))
    )
    assert not list(root.all("img", "b")) or all(element.text != "bold" for element in root.all("b"))
    assert not [e for e in root.all("a") if not e.attributes["href"].startswith("#")]
    assert uncautioned(text, CAUTION) == []


def test_the_first_rows_set_aside_are_shown_and_the_others_counted() -> None:
    """In the words of the catalogue of reasons."""
    rows = [
        ("orders.csv", str(number), "item_amount", f"bad-{number}", "bad_amount", "Mend it.")
        for number in range(2, 33)
    ]
    text = read(review_page(a_record(), aside(*rows))).text
    assert f"bad-{ASIDE + 1}" in text
    assert f"bad-{ASIDE + 2}" not in text
    assert "11 more rows in set_aside.csv." in text
    assert "Every row was used." in read(page()).text


def test_cells_are_sorted_by_numbers_and_days() -> None:
    """A range by what is expected, a day as ISO writes it, words by themselves."""
    columns = [Column("Place"), Column("Since"), Column("Tax", number=True)]
    rows = [["Texas (US-TX)", "Apr 6, 2024", "-$1,234.50\n-$2,000.00 to $0.00"], ["Utah (US-UT)", "", ""]]
    (section,) = sections([*heading("Places"), *figures(columns, rows, CAUTION)], CAUTION)
    cells = section.blocks[0].content["rows"]
    assert [[cell.key for cell in row] for row in cells] == [
        [None, "2024-04-06", "-1234.50"],
        [None, None, ""],
    ]


def test_every_active_place_and_every_limit_is_in_its_table(example: str) -> None:
    """None is left out for being small."""
    tables = {table.attributes["id"]: table for table in read(example).all("table")}
    active = [row for row in record()["places"] if row["orders"]]
    shown = tables["places-of-this-period-1"].text
    assert len(active) > 40
    assert all(f"({row['place']})" in shown for row in active)
    assert len(list(tables["limits-thresholds-1"].all("tr"))) == len(record()["thresholds"]) + 1


def test_the_same_record_gives_the_same_page(example: str) -> None:
    """Byte for byte, also in another process with another seed of hashes."""
    assert review_page(record(), assessment().figures("set_aside")) == example
    code = (
        "import sys; sys.path[:0] = sys.argv[1:]; from example import assessment, record;"
        "from taxcalc.reports.page import review_page;"
        "sys.stdout.buffer.write(review_page(record(), assessment().figures('set_aside')).encode())"
    )
    tests = [path for path in sys.path if path.endswith("tests")]
    done = subprocess.run(
        [sys.executable, "-c", code, *tests],
        capture_output=True,
        check=True,
        env={**ANYWHERE, "PYTHONHASHSEED": "7"},
    )
    assert done.stdout.decode() == example


def test_a_page_takes_little_time(tmp_path: Path) -> None:
    """From cold, the drawing library loaded, under two seconds; the best of three in processor time."""
    (tmp_path / "record.json").write_text(json_text(record()), encoding="utf-8")
    code = (
        "import json, pandas as pd; from taxcalc.caution import Figures; from taxcalc.reports.page import review_page;"
        "record = json.load(open('record.json', encoding='utf-8'));"
        "print(len(review_page(record, Figures('set_aside', pd.DataFrame()))))"
    )
    taken = []
    for _ in range(3):
        begun = processor_time()
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, check=True, cwd=tmp_path, env=ANYWHERE
        )
        taken.append(processor_time() - begun)
    print(f"page: {min(taken):.2f} s, {int(done.stdout) // 1000} kB")  # noqa: T201 - shown with -rP
    assert min(taken) < 2
    assert int(done.stdout) < 600_000


def test_a_review_that_writes_nothing_loads_no_drawing_library() -> None:
    """Neither it nor the templates."""
    arguments = ["review", *map(str, ORDERS), *OPTIONS]
    code = (
        "import sys; from taxcalc.cli import main\n"
        "try:\n main(sys.argv[1:], standalone_mode=False)\nexcept SystemExit: pass\n"
        "sys.exit(','.join(sorted({'matplotlib', 'jinja2'} & set(sys.modules))) or 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        check=False,
        env=ANYWHERE,
        cwd=FOLDER,
    )
    assert "Indirect-tax exposure estimate" in done.stdout, done.stderr
    assert (done.returncode, done.stderr.strip()) == (0, "")
