"""The wheel: everything the program needs away from its checkout, and nothing else."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from email import message_from_bytes
from importlib.util import find_spec
from typing import TYPE_CHECKING

import pytest
from source_tree import CHECKOUT

if TYPE_CHECKING:
    from email.message import Message
    from pathlib import Path

Contents = dict[str, int]


def build(out: Path) -> Path:
    """Build the wheel of the checkout, with the build backend at hand or else with a fresh one."""
    at_hand = ["--no-isolation"] if find_spec("hatchling") else []
    done = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", *at_hand, "--outdir", str(out), str(CHECKOUT)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,) = out.iterdir()
    return wheel


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel once."""
    if not find_spec("build"):
        pytest.skip("the module `build` is not installed; it is part of the extra `test`")
    return build(tmp_path_factory.mktemp("wheel"))


def contents(wheel: Path) -> Contents:
    """Give the files of a wheel with the check sums of their bytes."""
    with zipfile.ZipFile(wheel) as archive:
        assert archive.testzip() is None
        return {info.filename: info.CRC for info in archive.infolist()}


def tracked(folder: str) -> set[str]:
    """List the files below a folder of the checkout that belong to it."""
    return {
        path.relative_to(CHECKOUT).as_posix()
        for path in (CHECKOUT / folder).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


@pytest.mark.parametrize("folder", ["rate_tables", "examples"])
def test_the_wheel_carries_tables_and_example(wheel: Path, folder: str) -> None:
    """Every file of them, inside the package."""
    prefix = f"taxcalc/{folder}/"
    carried = {name.removeprefix("taxcalc/") for name in contents(wheel) if name.startswith(prefix)}
    assert carried == tracked(folder)
    assert len(carried) > 5


def test_the_wheel_carries_the_whole_package(wheel: Path) -> None:
    """Modules, the templates of `start`, the mark of typed code and the licence."""
    carried = set(contents(wheel))
    assert tracked("taxcalc") <= carried
    assert {"taxcalc/py.typed", "taxcalc/LICENSE", "taxcalc/start/template/seller.toml"} <= carried


def test_the_wheel_carries_nothing_else(wheel: Path) -> None:
    """No tests, no compiled files, nothing at the top beside the package and its description."""
    names = set(contents(wheel))
    assert {name.split("/")[0].partition("-")[0] for name in names} == {"taxcalc", "taxcalc_exposure"}
    assert not [name for name in names if "__pycache__" in name or name.endswith((".pyc", ".log"))]
    assert not [name for name in names if name.startswith(("taxcalc/tests", "tests"))]


def metadata(wheel: Path) -> Message:
    """Read the description of a wheel."""
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (name for name in archive.namelist() if name.endswith(".dist-info/METADATA"))
        return message_from_bytes(archive.read(name))


def test_the_description_names_licence_and_command(wheel: Path) -> None:
    """The licence in the standard's words, with its text; the command under its name."""
    said = metadata(wheel)
    assert (said["Name"], said["License-Expression"]) == ("taxcalc-exposure", "MIT")
    assert said.get_all("License-File") == ["taxcalc/LICENSE"]
    texts = [name for name in contents(wheel) if name.endswith("licenses/taxcalc/LICENSE")]
    assert len(texts) == 1
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (name for name in archive.namelist() if name.endswith("entry_points.txt"))
        assert "taxcalc = taxcalc.cli:main" in archive.read(name).decode()


def test_a_second_build_is_the_same(wheel: Path, tmp_path: Path) -> None:
    """The same files with the same bytes."""
    assert contents(build(tmp_path)) == contents(wheel)
