"""The shipped example, as `taxcalc demo` reviews it."""

from __future__ import annotations

import os
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

from taxcalc.cli.demo import examples
from taxcalc.run import assess

FOLDER = examples()
ASKED = tomllib.loads((FOLDER / "demo.toml").read_text(encoding="utf-8"))
ORDERS = [FOLDER / name for name in ASKED["orders"]]
OPTIONS = [
    *("--seller", str(FOLDER / ASKED["seller"]), "--columns", str(FOLDER / ASKED["columns"])),
    *("--as-of", ASKED["as_of"].isoformat(), "--quarter", ASKED["period"]),
]
ANYWHERE = {**os.environ, "PYTHONPATH": str(Path(__import__("taxcalc").__file__).parents[1])}
"""An environment in which the package under test is found from every folder."""


@lru_cache(maxsize=1)
def assessment() -> Any:  # noqa: ANN401 - an Assessment
    """Assess the example, once a test run."""
    return assess(
        ORDERS,
        FOLDER / ASKED["seller"],
        columns=FOLDER / ASKED["columns"],
        as_of=ASKED["as_of"],
        period=ASKED["period"],
    )


@lru_cache(maxsize=1)
def record() -> dict[str, Any]:
    """Give its record; tests that change it take a copy."""
    return dict(assessment().record())
