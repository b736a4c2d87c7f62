"""The source of the package as syntax trees, for tests that read code instead of running it.

What is read is the package under test: the checkout's, or the one in an installed wheel.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import taxcalc

if TYPE_CHECKING:
    from collections.abc import Iterator

PACKAGE = Path(taxcalc.__file__).parent
CHECKOUT = Path(__file__).parents[1]
NOT_CODE = ("examples", "rate_tables", "start/template")
"""Folders that an installed wheel holds inside the package."""


@dataclass(frozen=True)
class Module:
    """One module: its path below the package, written with slashes, and its tree."""

    path: str
    tree: ast.Module

    @property
    def name(self) -> str:
        """The name to import it by."""
        parts = self.path.removesuffix(".py").removesuffix("__init__").strip("/")
        return ".".join(("taxcalc", *parts.split("/"))) if parts else "taxcalc"

    @property
    def part(self) -> str:
        """The part of the package it belongs to: the folder or module right below `taxcalc`."""
        return self.path.split("/", maxsplit=1)[0].removesuffix(".py")

    @cached_property
    def imports(self) -> frozenset[str]:
        """Every name it imports anywhere, also for types only; `from taxcalc import x` is taxcalc.x."""
        return frozenset(name for node in ast.walk(self.tree) for name in _imported(node))

    @cached_property
    def imports_at_once(self) -> frozenset[str]:
        """What comes with it when it is imported: nothing for types, nothing inside functions."""
        return frozenset(name for node in self.tree.body for name in _imported(node))

    @cached_property
    def texts(self) -> list[tuple[int, str]]:
        """Every text in the code with its line, docstrings left out."""
        said = {id(node.body[0].value) for node in ast.walk(self.tree) if _has_docstring(node)}
        return [
            (node.lineno, node.value)
            for node in ast.walk(self.tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said
        ]


def _has_docstring(node: ast.AST) -> bool:
    """Tell whether a node begins with a text that stands alone."""
    body = getattr(node, "body", None)
    return isinstance(body, list) and bool(body) and isinstance(body[0], ast.Expr)


def _imported(node: ast.AST) -> Iterator[str]:
    """Name what one import statement imports."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        assert node.level == 0, "the package imports by full names"
        assert node.module is not None
        yield node.module
        yield from (f"{node.module}.{alias.name}" for alias in node.names)


def modules() -> list[Module]:
    """Read every module of the package."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        below = path.relative_to(PACKAGE).as_posix()
        if not below.startswith(tuple(f"{folder}/" for folder in NOT_CODE)):
            found.append(Module(below, ast.parse(path.read_text(encoding="utf-8"))))
    return found


MODULES = modules()
NAMES = frozenset(module.name for module in MODULES)


def own(names: frozenset[str]) -> frozenset[str]:
    """Keep the names that are modules of the package; `taxcalc.money.Ints` is none."""
    return names & NAMES


def first_sentence(module: Module) -> str:
    """Give the first paragraph of a module's docstring on one line, without its full stop."""
    paragraph = (ast.get_docstring(module.tree) or "").split("\n\n")[0]
    return " ".join(paragraph.split()).rstrip(".")


if __name__ == "__main__":
    for one in sorted(MODULES, key=lambda module: ("/" in module.path, module.path)):
        print(f"| `{one.path.removesuffix('__init__.py') or one.path}` | {first_sentence(one)} |")  # noqa: T201 - for DEVELOPERS.md
