"""What the command line says of itself, and how quickly."""

from __future__ import annotations

import shlex
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner
from clock import processor_time

from taxcalc.cli import COMMANDS, main

HEAVY = ("pandas", "pyarrow", "numpy", "rich", "babel", "pycountry", "currency_converter", "stdnum")
RUN = "import sys; from taxcalc.cli import main; main({arguments!r}, 'taxcalc', standalone_mode=False)"
OPTIONS = {
    "demo": {"--union"},
    "start": set(),
    "intake": {"--columns", "--out"},
    "tables": set(),
    "destination": {
        *(
            "--seller",
            "--columns",
            "--tables",
            "--product-class",
            "--item-amount",
            "--currency",
            "--shipping-amount",
        ),
        *(
            "--fulfiller-item-cost",
            "--fulfiller-shipping-cost",
            "--ship-from",
            "--monthly-orders",
            "--orders",
            "--on",
        ),
        *("--all", "--sort", "--registered", "--certificate", "--price", "--free-shipping", "--tax-included"),
        *("--keep-margin", "--page", "--json"),
    },
    "explain": {
        *(
            "--seller",
            "--columns",
            "--tables",
            "--as-of",
            "--place",
            "--quarter",
            "--from",
            "--to",
            "--lines",
        ),
        "--json",
    },
    "handoff": {
        *("--seller", "--columns", "--tables", "--quarter", "--from", "--to", "--as-of", "--out"),
        *("--control", "--previous", "--strict"),
    },
    "review": {
        "--seller",
        "--columns",
        "--tables",
        "--quarter",
        "--from",
        "--to",
        "--as-of",
        "--out",
        "--with-interest",
        "--full",
        "--strict",
        "--json",
    },
}


def command_named(name: str) -> click.Command:
    """Load one command."""
    command = main.get_command(click.Context(main), name)
    assert command is not None
    return command


@pytest.mark.parametrize("arguments", [["--help"], ["-h"], ["review", "--help"], ["--version"]])
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    """Help is asked for while thinking; it must not wait for a data library."""
    code = RUN.format(arguments=arguments) + f"\nprint('LOADED', *(set({HEAVY!r}) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "LOADED"
    assert done.stderr == ""


def test_help_answers_in_a_quarter_of_a_second() -> None:
    """The best of five runs in processor time, so that a busy machine does not decide."""
    taken = []
    for _ in range(5):
        begun = processor_time()
        subprocess.run(
            [sys.executable, "-c", RUN.format(arguments=["--help"])],
            capture_output=True,
            check=True,
        )
        taken.append(processor_time() - begun)
    assert min(taken) < 0.25


@pytest.mark.parametrize("name", COMMANDS)
def test_options_are_those_of_the_contract(name: str) -> None:
    """Nothing is advertised that the contract does not name."""
    named = {option for each in command_named(name).params for option in each.opts if option.startswith("--")}
    assert named == OPTIONS[name]


@pytest.mark.parametrize("name", COMMANDS)
def test_help_has_one_sentence_and_an_example_that_parses(name: str) -> None:
    """The example in the help is a real command line."""
    command = command_named(name)
    sentence, example = (command.help or "").split("\n\n", 1)
    assert sentence.count(".") >= 1
    assert "\n" not in sentence
    lines = [line.strip() for line in example.splitlines() if line.strip().startswith("taxcalc ")]
    assert len(lines) == 1
    words = shlex.split(lines[0])
    assert words[1] == name
    command.make_context(name, words[2:])


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_of_commands_shows_whole_sentences(name: str) -> None:
    """The overview never cuts a sentence off."""
    shown = CliRunner().invoke(main, ["--help"]).stdout
    sentence = (command_named(name).help or "").split("\n\n", 1)[0]
    assert sentence in shown
