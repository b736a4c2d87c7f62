"""A test that cites a paper which rate_tables/sources.csv does not know stops the whole run."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).with_name("conftest.py")


def run_with_mark(where: Path, mark: str) -> subprocess.CompletedProcess[str]:
    """Run one passing test that carries a mark, beside the conftest of all tests."""
    shutil.copy(CONFTEST, where / "conftest.py")
    (where / "pytest.ini").write_text("[pytest]\nmarkers = source\n", encoding="utf-8")
    test = f"import pytest\n\n@pytest.mark.source({mark})\ndef test_it():\n    assert True\n"
    (where / "test_one.py").write_text(test, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(where)]
    return subprocess.run(command, cwd=where, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    ("mark", "code", "words"),
    [
        pytest.param('"ssuta-324"', 0, "1 passed", id="a known paper"),
        pytest.param('"xx-notice-2099-01"', 4, "'xx-notice-2099-01' is no id", id="an unknown paper"),
        pytest.param('"ssuta-324", "no-such-paper"', 4, "'no-such-paper' is no id", id="one of two unknown"),
        pytest.param("", 4, "names no paper", id="no paper at all"),
    ],
)
def test_an_unknown_paper_stops_the_run(tmp_path: Path, mark: str, code: int, words: str) -> None:
    """Exit code 4 of pytest is a usage error: nothing ran."""
    done = run_with_mark(tmp_path, mark)
    assert done.returncode == code, done.stdout + done.stderr
    assert words in done.stdout + done.stderr
