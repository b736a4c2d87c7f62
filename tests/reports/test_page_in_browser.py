"""The page in a real browser without a network: quiet, accessible, sortable, readable at any width, printed with its caution."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from browser import chromium, missing, requests_of, sized
from click.testing import CliRunner
from example import FOLDER, assessment, record
from invented_record import a_place, a_record
from test_page import HOSTILE, aside

from taxcalc.caution import CAUTION
from taxcalc.cli import main
from taxcalc.reports.page import review_page

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from selenium.webdriver import Chrome

pytestmark = [
    pytest.mark.skipif(bool(missing()), reason=missing() or "all is installed"),
    pytest.mark.filterwarnings("default"),  # the driver's own, not ours
]
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Write the pages that are looked at, and give their addresses."""
    folder = tmp_path_factory.mktemp("pages")
    (folder / "review.html").write_text(
        review_page(record(), assessment().figures("set_aside")), encoding="utf-8", newline="\n"
    )
    seller = str(FOLDER / "seller.toml")
    asked = [
        "destination",
        "Georgia",
        "--seller",
        seller,
        "--on",
        "2026-10-20",
        "--page",
        str(folder / "destination.html"),
    ]
    assert CliRunner().invoke(main, asked).exit_code == 0
    names = " ".join(HOSTILE)
    hostile = a_record(places=[a_place("US-TX", names, orders=1, sales="9.00")], assumptions=list(HOSTILE))
    (folder / "hostile.html").write_text(
        review_page(hostile, aside(*((words,) * 6 for words in HOSTILE))), encoding="utf-8", newline="\n"
    )
    return {path.stem: path.as_uri() for path in folder.glob("*.html")}


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    """Start a browser in light colours."""
    with chromium(tmp_path_factory.mktemp("light")) as found:
        yield found


@pytest.fixture
def opened(browser: Chrome, pages: dict[str, str]) -> Callable[[str], Chrome]:
    """Open one of the pages in a desktop window."""

    def open_page(name: str) -> Chrome:
        sized(browser, 1440)
        browser.get_log("performance")
        browser.get_log("browser")
        browser.get(pages[name])
        return browser

    return open_page


def run(browser: Chrome, script: str, *arguments: Any) -> Any:  # noqa: ANN401 - whatever the script gives
    """Run a script in the page."""
    return browser.execute_script(script, *arguments)


def rows(browser: Chrome, table: str) -> list[str]:
    """Give the first cells of the rows that are shown, in their order."""
    every = "[...document.getElementById(arguments[0]).tBodies[0].rows]"
    script = f"return {every}.filter(row => !row.hidden).map(row => row.cells[0].innerText)"
    found: list[str] = run(browser, script, table)
    return found


@pytest.mark.parametrize("name", ["review", "destination", "hostile"])
def test_nothing_is_asked_for_and_nothing_complains(
    name: str, opened: Callable[[str], Chrome], pages: dict[str, str]
) -> None:
    """The page itself is the one request; the console is empty, so the policy blocked nothing of ours either."""
    found = opened(name)
    assert [url for url in requests_of(found) if not url.startswith("chrome")] == [pages[name]]
    assert found.get_log("browser") == []


def test_hostile_words_are_seen_and_run_nothing(opened: Callable[[str], Chrome]) -> None:
    """As text, letter by letter."""
    found = opened("hostile")
    text = run(found, "return document.body.innerText")
    assert all(words in text for words in HOSTILE)
    assert run(found, "return document.querySelectorAll('script').length") == 1
    assert run(found, "return document.querySelectorAll('img, main script, main style').length") == 0


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("name", ["review", "destination"])
def test_an_accessibility_check_finds_nothing(
    name: str, colours: str, pages: dict[str, str], tmp_path: Path
) -> None:
    """The rules of axe-core for WCAG A and AA and its best practices, every fold open."""
    spec = find_spec("axe_core_python")
    if spec is None or spec.origin is None:
        pytest.skip("the module `axe-core-python` is not installed; it is part of the extra `test`")
    (engine,) = Path(spec.origin).parent.rglob("axe.min.js")
    with chromium(tmp_path / "profile", dark=colours == "dark") as found:
        sized(found, 1440)
        found.get(pages[name])
        run(found, "document.querySelectorAll('details').forEach(one => { one.open = true })")
        found.set_script_timeout(120)
        run(found, engine.read_text(encoding="utf-8"))
        answer = found.execute_async_script(
            "const done = arguments[0]; axe.run(document).then(done, e => done(String(e)))"
        )
    assert [
        (each["id"], each["impact"], each["nodes"][0]["html"][:200]) for each in answer["violations"]
    ] == []
    assert len(answer["passes"]) > 20


def test_a_table_is_sorted_by_its_buttons(opened: Callable[[str], Chrome]) -> None:
    """By amount from the largest down, then up; by words; by day; with the keyboard as well."""
    from selenium.webdriver.common.keys import Keys  # noqa: PLC0415 - an extra that may be missing

    found, table = opened("review"), "places-of-this-period-1"
    buttons = found.find_elements("css selector", f"#{table} thead button")
    by_title = {button.text: button for button in buttons}
    by_title["Sales"].click()
    sales = {row["place"]: float(row["sales"]) for row in record()["places"] if row["orders"]}
    order = [re.findall(r"\(([A-Z-]+)\)", words)[0] for words in rows(found, table) if "(" in words]
    shown = [sales[code] for code in order if code in sales]
    assert len(shown) > 40
    assert shown == sorted(shown, reverse=True)
    assert by_title["Sales"].find_element("xpath", "..").get_attribute("aria-sort") == "descending"
    by_title["Sales"].send_keys(Keys.ENTER)
    order = [re.findall(r"\(([A-Z-]+)\)", words)[0] for words in rows(found, table) if "(" in words]
    again = [sales[code] for code in order if code in sales]
    assert again == sorted(shown)
    by_title["Place"].send_keys(Keys.SPACE)
    names = [words.lower() for words in rows(found, table)]
    assert names[0].startswith("alabama")
    assert names[-1].startswith("wisconsin")
    by_title["Duty since"].click()
    days = run(
        found,
        "return [...document.getElementById(arguments[0]).tBodies[0].rows].map(r => r.cells[4].dataset.key ?? '')",
        table,
    )
    assert days == sorted(days)
    assert re.fullmatch(r"20[0-9]{2}-[0-9]{2}-[0-9]{2}", days[-1])


def test_a_table_is_filtered_by_words(opened: Callable[[str], Chrome]) -> None:
    """The number of rows is said; an empty field shows all again."""
    found, table = opened("review"), "places-of-this-period-1"
    every = len(rows(found, table))
    (label,) = [one for one in found.find_elements("css selector", ".filter") if run(
        found, "return arguments[0].nextElementSibling.querySelector('table').id", one) == table]  # fmt: skip
    field = label.find_element("css selector", "input")
    field.send_keys("GEORGIA")
    assert rows(found, table) == ["Georgia (US-GA) *"]
    assert label.find_element("css selector", "[role=status]").text == f"1 of {every} rows"
    field.clear()
    field.send_keys(" ")
    assert len(rows(found, table)) == every


def test_sums_are_not_torn_from_what_they_sum_up(opened: Callable[[str], Chrome]) -> None:
    """The totals keep their order: no buttons, no field."""
    found = opened("review")
    assert found.find_elements("css selector", "#totals-1 button") == []


@pytest.mark.parametrize("width", [320, 390, 820, 1440])
@pytest.mark.parametrize("name", ["review", "destination"])
def test_the_page_is_as_wide_as_the_window(name: str, width: int, opened: Callable[[str], Chrome]) -> None:
    """Only tables and pictures move sideways, in their own frames; 320 is a window of 1280 at 400 % (WCAG 2.2, 1.4.10)."""
    found = opened(name)
    sized(found, width)
    assert run(found, "return document.documentElement.scrollWidth") <= width


def test_without_a_script_all_is_there(pages: dict[str, str], tmp_path: Path) -> None:
    """Headings, tables, pictures and cautions; no fields and buttons that would do nothing."""
    with chromium(tmp_path / "profile", script=False) as found:
        found.get(pages["review"])
        assert found.find_elements("css selector", "button, input") == []
        text = found.find_element("css selector", "body").text
        assert len(found.find_elements("css selector", "svg")) == 5
    for words in ("Was everything counted?", "Totals", "Georgia (US-GA)", "How to read this"):
        assert words in text
    assert text.count(CAUTION) > 15


def test_dark_colours_are_not_printed(pages: dict[str, str], tmp_path: Path) -> None:
    """The paper is dark on a screen that wants it so, and white in print."""
    background = "return getComputedStyle(document.documentElement).backgroundColor"
    with chromium(tmp_path / "profile", dark=True) as found:
        found.get(pages["review"])
        assert run(found, background) == "rgb(20, 23, 28)"
        features = [{"name": "prefers-color-scheme", "value": "dark"}]
        found.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print", "features": features})
        assert run(found, background) == "rgb(255, 255, 255)"


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["review", "destination"])
def test_every_printed_page_has_the_caution(
    name: str, paper: str, opened: Callable[[str], Chrome], tmp_path: Path
) -> None:
    """At its foot with its number; the heads of tables come again."""
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext of poppler-utils is not installed")
    width, height = PAPERS[paper]
    size = {"paperWidth": width, "paperHeight": height, "printBackground": True, "preferCSSPageSize": True}
    printed = opened(name).execute_cdp_cmd("Page.printToPDF", size)
    (tmp_path / "page.pdf").write_bytes(base64.b64decode(printed["data"]))
    done = subprocess.run(
        ["pdftotext", tmp_path / "page.pdf", "-"], capture_output=True, text=True, check=True
    )
    sheets = done.stdout.split("\f")[:-1]
    assert sheets
    for number, sheet in enumerate(sheets, start=1):
        words = " ".join(sheet.split())
        assert CAUTION in words
        assert f"{number}/{len(sheets)}" in words.replace(" / ", "/")
    if name == "review":
        assert sum("Should collect" in sheet and "Orders" in sheet for sheet in sheets[3:]) >= 2
