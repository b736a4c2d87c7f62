"""`taxcalc explain`: an order of the example, a place of the example, refusals, one JSON document, little time."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from clock import processor_time

from taxcalc.caution import CAUTION
from taxcalc.cli import main

EXAMPLES = Path(__file__).parents[2] / "examples"
FILES = [str(EXAMPLES / f"orders-{year}.csv") for year in (2024, 2025, 2026)]
PROFILE = [
    "--seller",
    str(EXAMPLES / "seller.toml"),
    "--columns",
    str(EXAMPLES / "columns.toml"),
    "--as-of",
    "2026-10-20",
]


def explain(*arguments: str) -> Result:
    """Run the command on the example."""
    return CliRunner().invoke(main, ["explain", *arguments, *FILES, *PROFILE])


def flat(text: str) -> str:
    """Give a text without its line breaks."""
    return " ".join(text.split())


def test_an_order_of_the_example() -> None:
    """In short first, then the steps in their order, the check, the rows, and the caution at the end."""
    done = explain("QL-12450")
    assert (done.exit_code, done.stderr) == (0, "")
    titles = ("In short", "What was read", "Where it is taxed", "Your duty", "What is taxed", "Rate", "Arithmetic",
              "Range", "Collected", "Fulfiller", "What would have changed it", "Checked", "The table rows behind it")  # fmt: skip
    at = 0
    for title in titles:
        at = done.stdout.index(f"{title}", at)
    assert "(goods 64.00 + shipping 7.45) × 9.51 % = 6.794895, rounded 6.79 USD" in flat(done.stdout)
    assert flat(done.stdout).endswith(CAUTION)
    assert flat(done.stdout).count(CAUTION) == 3


def test_the_readme_shows_what_the_command_prints() -> None:
    """Every line between the two marks, in its order."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    block = readme.split("<!-- explain:start -->", 1)[1].split("<!-- explain:end -->", 1)[0]
    lines = [line for line in block.splitlines() if line and not line.startswith(("```", "[…]"))]
    printed = explain("QL-12450").stdout.splitlines()
    assert len(lines) > 10
    at = 0
    for line in lines:
        at = printed.index(line, at) + 1


def test_json_holds_every_step() -> None:
    """One document, with the figures of the review."""
    found = json.loads(explain("QL-12450", "--json").stdout)
    (line,) = found["lines"]
    assert line["to_collect"] == {"low": "4.64", "expected": "6.79", "high": "7.57"}
    assert [step["topic"] for step in line["steps"]][:5] == ["read", "place", "duty", "base", "rate"]
    assert {row for step in line["steps"] for row in step["rows"]} <= {row["row"] for row in found["rows"]}


def test_an_order_whose_rows_were_set_aside() -> None:
    """Nothing is computed; the row, its reason and the mend are shown, and the exit code says so."""
    done = explain("QL-X07")
    assert done.exit_code == 4
    assert "orders-2026.csv, row 203, column currency, value 'USX'" in flat(done.stdout)
    assert "Write the three-letter ISO 4217 code" in flat(done.stdout)
    (row,) = json.loads(explain("QL-X07", "--json").stdout)["set_aside"]
    assert (row["reason"], row["caution"]) == ("unknown_currency", CAUTION)


def test_a_place_of_the_example() -> None:
    """The first lines on the screen, all of them as JSON; both tie to the record."""
    arguments = ("--place", "Washington", "--quarter", "2026-Q3")
    done = explain(*arguments, "--lines", "3")
    assert done.exit_code == 4
    assert "more lines" in done.stdout
    assert "The lines add up to the record." in done.stdout
    found = json.loads(explain(*arguments, "--json").stdout)
    review = CliRunner().invoke(main, ["review", *FILES, *PROFILE, "--quarter", "2026-Q3", "--json"])
    (place,) = [one for one in json.loads(review.stdout)["places"] if one["place"] == "US-WA"]
    assert len(found["lines"]) == place["lines"]
    assert found["sum"]["to_collect"] == place["to_collect"]
    assert found["sum"]["collected"] == place["collected"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ("QL-1245",),
            "E205: there is no order QL-1245 among the 3680 orders that were read. Nearest order numbers: QL-1245",
        ),
        (("QL-12450", "--quarter", "2026-Q3"), "go with --place"),
        (("--place", "Tejas"), "Texas (US-TX)"),
        (("--place", "EU"), "stands for many places"),
        (("--place", "Australia"), "E206"),
    ],
)
def test_wrong_use_is_2(arguments: tuple[str, ...], words: str) -> None:
    """Nothing on stdout, and the word that is wrong."""
    done = explain(*arguments)
    assert (done.exit_code, done.stdout) == (2, "")
    assert words in flat(done.stderr)


def test_an_order_number_without_files_is_wrong_use() -> None:
    """And a missing file is a 3, as with every command."""
    alone = CliRunner().invoke(main, ["explain", "QL-12450", *PROFILE])
    assert (alone.exit_code, alone.stdout) == (2, "")
    missing = CliRunner().invoke(main, ["explain", "QL-12450", "missing.csv", *PROFILE])
    assert (missing.exit_code, missing.stdout) == (3, "")


def test_a_figure_that_does_not_come_out_again_ends_with_1(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is printed but that, with both values."""
    monkeypatch.setattr(
        "taxcalc.explain.exact.round_fraction", lambda value: -(-value.numerator // value.denominator)
    )
    done = explain("QL-12450")
    assert (done.exit_code, done.stdout) == (1, "")
    assert "A fault of this program" in done.stderr
    assert "to_collect expected: 6.79 USD in the review, 6.80 worked out again" in done.stderr
    assert CAUTION in done.stderr


COLD_START, BUSY = 1.5, 1.5
"""Seconds of an explanation, and how much longer it may take where other work shares the machine."""


def test_a_cold_start_takes_little_time() -> None:
    """An order of the whole example in 1.5 seconds; the best of three in processor time."""
    taken = []
    for _ in range(3):
        begun = processor_time()
        subprocess.run(
            [sys.executable, "-m", "taxcalc", "explain", "QL-13473", *FILES, *PROFILE],
            capture_output=True,
            check=True,
        )
        taken.append(processor_time() - begun)
    print(f"explain: {min(taken):.2f} s")  # noqa: T201 - shown with -rP
    assert min(taken) < COLD_START * BUSY
