"""The shape of the code: imports flow one way, regimes are alike, no law and no inexact number in it."""

from __future__ import annotations

import ast
import csv
import inspect
import re
from typing import TYPE_CHECKING

import pytest
from source_tree import CHECKOUT, MODULES, NAMES, PACKAGE, Module, own

from taxcalc import elsewhere, eu, messages, reasons, regime, us
from taxcalc.cli import COMMANDS
from taxcalc.tables.schema import SCHEMAS
from taxcalc.tables.where import folder

if TYPE_CHECKING:
    from collections.abc import Iterator

FLOW: tuple[tuple[str, ...], ...] = (
    (
        "arrow",
        "asked",
        "caution",
        "columns",
        "days",
        "errors",
        "frames",
        "messages",
        "money",
        "outlook",
        "reasons",
        "routes",
    ),
    ("exchange", "local_rates", "places", "places_find", "seller", "start", "tables", "zone_numbers"),
    ("intake", "set_aside", "spool", "spool_folder", "tie_out"),
    (
        *(
            "cases",
            "counting",
            "crossing",
            "duties",
            "facts",
            "holiday_days",
            "item_prices",
            "kernel",
            "lasting",
            "orders",
            "prepare",
            "regime",
            "shipping_base",
            "stock_places",
            "terms",
            "totals",
            "treatments",
            "turnover",
        ),
        *("elsewhere", "eu", "us"),
    ),
    (
        *(
            "assessment",
            "at_the_door",
            "at_the_door_record",
            "delivery_fees",
            "eu_assumptions",
            "explain",
            "figure_changes",
            "charges",
            "figures",
            "findings",
            "first_sales",
            "late",
            "local_used",
            "look_back",
            "near_days",
            "one_stop_shop",
            "one_stop_shop_record",
            "own_rows",
            "place_sums",
            "purchases",
            "record",
            "refunded_lacks",
            "remitted",
            "retail_base",
            "statements",
            "tax_parts",
            "rows_named",
            "union_prices",
            "union_prices_record",
            "running_totals",
            "us_assumptions",
            "rests_on",
            "usual_order",
            "weak_rows",
        ),
        *("destination", "passes", "run", "served", "sums", "wordings"),
    ),
    ("reports",),
    ("handoff",),
    ("cli", "__main__"),
)
"""The stages of the flow: a part imports from its own stage and earlier ones. A new part is added here."""

STAGE = {part: stage for stage, parts in enumerate(FLOW) for part in parts}
REGIMES = {"us": us.REGIME, "eu": eu.REGIME, "elsewhere": elsewhere.REGIME}
HEAVY = (
    *("babel", "currency_converter", "jinja2", "matplotlib", "numpy", "pandas", "pyarrow", "pycountry"),
    *("rich", "stdnum"),
)
QUESTIONS = {
    "place": regime.PlaceRule,
    "thresholds": regime.ThresholdRule,
    "collect": regime.CollectRule,
    "fulfiller": regime.FulfillerRule,
    "recovery": regime.RecoveryRule,
}

JOINS_PATHS = (
    *("cli/demo.py", "cli/intake_text.py", "cli/run.py", "cli/start.py", "intake/sources.py", "places.py"),
    *("cli/tables_add_local.py", "local_rates/add.py", "local_rates/audit.py", "local_rates/store.py"),
    *("local_rates/write.py", "tables/audit.py"),
    *("reports/folder.py", "reports/lock.py", "reports/marker.py", "seller/reading.py", "set_aside.py"),
    *("spool.py", "spool_folder.py", "start/__init__.py", "tables/load.py", "tables/where.py"),
)
"""Modules that deal with files and not with amounts; a stroke there joins a path."""

INEXACT: dict[tuple[str, str], str] = {
    ("assessment.py", "row.share_tenths / 10"): "a share of a limit in percent, for the eye",
    ("record.py", "row.share_tenths / 10"): "the same share",
    ("destination/duty_there.py", "held.share_tenths / 10"): "the same share",
    ("destination/effect.py", "row.share_tenths / 10"): "the same share",
    ("reports/review_limits.py", "share * CELLS / 100"): "length of a bar",
    (
        "reports/review_limits.py",
        "Decimal(str(row[f'projected_{end}'])) * 100 / limit",
    ): "decimal share of a limit, for a bar",
    ("handoff/book.py", "13.5"): "height of a line on paper",
    ("cli/progress.py", "1.0"): "seconds",
    ("cli/progress.py", "0.1"): "seconds",
    ("intake/column_map.py", "0.5"): "likeness of two names",
    ("intake/header.py", "0.5"): "likeness of two names",
    ("seller/section.py", "0.5"): "likeness of two names",
}
"""Where something inexact may stand, and why it is no amount."""

LENGTHS = "reports/pictures/"
"""Where numbers are lengths on a sheet; what is written there are decimal texts of the record."""

LARGE: dict[tuple[str, int], str] = {("us/windows.py", 8192): "windows that are remembered"}
"""Large whole numbers in the regimes that are no amount, limit or year."""


def where(module: Module, node: ast.AST) -> str:
    """Name a spot."""
    return f"taxcalc/{module.path}:{getattr(node, 'lineno', 0)}: {ast.unparse(node)}"


def part_of(name: str) -> str:
    """Give the part of the package that a module belongs to."""
    return name.split(".")[1] if "." in name else "__init__"


def test_the_source_is_read() -> None:
    """A test that walks no module would find no fault."""
    assert {"taxcalc.run", "taxcalc.us.collect", "taxcalc.reports.folder", "taxcalc.cli.review"} <= NAMES
    assert all((PACKAGE / module.path).is_file() for module in MODULES)


def test_every_part_has_its_place_in_the_flow() -> None:
    """And no part that is gone is still listed."""
    assert {module.part for module in MODULES} - {"__init__"} == set(STAGE)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.path)
def test_imports_flow_one_way(module: Module) -> None:
    """Nothing imports from a later stage, not even for types."""
    if module.part == "__init__":
        return
    later = {name for name in own(module.imports) - {"taxcalc"} if STAGE[part_of(name)] > STAGE[module.part]}
    assert not later, f"taxcalc/{module.path} imports from a later stage of the flow: {sorted(later)}"


def test_no_module_needs_itself_to_be_imported() -> None:
    """Imports at the top of modules form no circle."""
    needs = {
        module.name: {
            name for name in own(module.imports_at_once) if not f"{module.name}.".startswith(f"{name}.")
        }
        for module in MODULES
    }
    while free := {name for name, needed in needs.items() if not needed & set(needs)}:
        needs = {name: needed for name, needed in needs.items() if name not in free}
    assert not needs, "these modules, or some of them, import each other"


def test_only_the_command_line_imports_the_reports() -> None:
    """Reports show; nothing that decides may lean on them. A hand-off is an output that holds several of them."""
    users = {m.part for m in MODULES if any(part_of(n) == "reports" for n in own(m.imports))}
    assert users == {"cli", "handoff", "reports"}


def test_only_the_command_line_imports_click() -> None:
    """The library works without a terminal."""
    assert {module.part for module in MODULES if "click" in module.imports} == {"cli"}


@pytest.mark.parametrize("name", REGIMES)
def test_regimes_are_siblings(name: str) -> None:
    """No regime imports another."""
    mine = [module for module in MODULES if module.part == name]
    parts = {part_of(imported) for module in mine for imported in own(module.imports)}
    assert name in parts
    assert not parts & (set(REGIMES) - {name})


def test_the_overview_of_commands_loads_nothing_heavy() -> None:
    """Neither the modules of the commands nor what they bring along import a data library at their top."""
    by_name = {module.name: module for module in MODULES}
    reached, ahead = set(), {"taxcalc", "taxcalc.__main__", *(f"taxcalc.cli.{name}" for name in COMMANDS)}
    while ahead:
        name = ahead.pop()
        reached.add(name)
        heavy = {imported.split(".")[0] for imported in by_name[name].imports_at_once} & set(HEAVY)
        assert not heavy, f"{name} imports {sorted(heavy)} at its top, and the command line loads it"
        ahead |= own(by_name[name].imports_at_once) - reached
    assert "taxcalc.errors" in reached


@pytest.mark.parametrize("name", REGIMES)
def test_a_regime_has_the_five_files(name: str) -> None:
    """Whoever knows one regime knows the others."""
    for question in QUESTIONS:
        assert f"taxcalc.{name}.{question}" in NAMES
        rule = getattr(REGIMES[name], question)
        assert (rule.__module__, rule.__name__) == (f"taxcalc.{name}.{question}", question)
    assert REGIMES[name].name == name


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("name", REGIMES)
def test_a_regime_answers_in_the_form_of_the_protocol(name: str, question: str) -> None:
    """The same names, kinds and types of arguments, in the same order."""
    asked = inspect.signature(QUESTIONS[question].__call__)
    answers = inspect.signature(getattr(REGIMES[name], question))
    assert list(answers.parameters.values()) == list(asked.parameters.values())[1:]
    assert answers.return_annotation == asked.return_annotation


def inexact(module: Module) -> Iterator[tuple[str, str]]:
    """Find binary floats and true divisions; joined paths are left out."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, float):
            yield ast.unparse(node), where(module, node)
        elif isinstance(node, (ast.BinOp, ast.AugAssign)) and isinstance(node.op, ast.Div):
            if not _joins_a_path(module, node):
                yield ast.unparse(node), where(module, node)
        elif isinstance(node, ast.Call) and _makes_floats(node):
            yield ast.unparse(node), where(module, node)


def _joins_a_path(module: Module, node: ast.BinOp | ast.AugAssign) -> bool:
    """Tell whether a stroke stands before a text or in a module that deals with files."""
    right = node.right if isinstance(node, ast.BinOp) else node.value
    text = isinstance(right, ast.JoinedStr) or (
        isinstance(right, ast.Constant) and isinstance(right.value, str)
    )
    return text or module.path in JOINS_PATHS


def _makes_floats(call: ast.Call) -> bool:
    """Tell whether a call turns numbers into binary floats."""
    name = ast.unparse(call.func).rsplit(".", 1)[-1]
    given = " ".join(ast.unparse(value) for value in (*call.args, *(k.value for k in call.keywords)))
    if name in {
        "float",
        "float32",
        "float64",
        "mean",
        "average",
        "true_divide",
        "divide",
        "quantile",
        "percentile",
    }:
        return True
    return (
        name in {"astype", "array", "full", "zeros", "empty", "view"}
        and re.search(r"\bfloat|\bdouble", given) is not None
    )


def test_no_amount_meets_a_binary_float() -> None:
    """Money is whole minor units and whole parts per million; what is inexact has its reason here."""
    exact = [module for module in MODULES if not module.path.startswith(LENGTHS)]
    found = {(m.path, text): spot for m in exact for text, spot in inexact(m)}
    unnamed = sorted(spot for key, spot in found.items() if key not in INEXACT)
    assert not unnamed, "inexact numbers near money:\n" + "\n".join(unnamed)
    assert set(INEXACT) == set(found), "a reason is given for something that is no longer there"


def test_lengths_on_a_sheet_come_from_nothing_that_computes() -> None:
    """Pictures know the record, words for it, days, and how far an outlook looks."""
    drawing = [module for module in MODULES if module.path.startswith(LENGTHS)]
    known = {part_of(name) for module in drawing for name in own(module.imports)}
    assert known == {"days", "outlook", "reports"}


@pytest.mark.parametrize(
    ("code", "count"),
    [
        ("a = 0.0725", 1),
        ("a = minor / 100", 1),
        ("a /= 3", 1),
        ("a = float(minor)", 1),
        ("a = minor.astype(float)", 1),
        ("a = minor.astype('float64')", 1),
        ("a = np.zeros(3, np.float64)", 1),
        ("a = values.mean()", 1),
        ("a = minor // 100", 0),
        ("a = folder / 'seller.toml'", 0),
        ("a = minor.astype(np.int64)", 0),
    ],
)
def test_inexact_code_is_recognised(code: str, count: int) -> None:
    """The search finds what it is for, and nothing else."""
    assert len(list(inexact(Module("kernel.py", ast.parse(code))))) == count


def literals_of_law(module: Module) -> Iterator[tuple[int | None, str]]:
    """Find what belongs into a table: large numbers, years included, and days in ISO form."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Constant) and type(node.value) is int and node.value >= 1000:
            yield node.value, where(module, node)
    for line, text in module.texts:
        if re.search(r"\b(19|20)\d\d-\d\d-\d\d\b", text):
            yield None, f"taxcalc/{module.path}:{line}: {text!r}"


def test_no_rate_limit_or_day_of_a_law_stands_in_code() -> None:
    """They stand in the tables, with a source."""
    rules = [module for module in MODULES if module.part in REGIMES]
    found = [(module.path, number, spot) for module in rules for number, spot in literals_of_law(module)]
    unnamed = [spot for path, number, spot in found if (path, number) not in LARGE]
    assert not unnamed, "these belong into rate_tables:\n" + "\n".join(unnamed)
    assert set(LARGE) == {(path, number) for path, number, _ in found}


@pytest.mark.parametrize(
    ("code", "count"),
    [
        ("limit = 100_000", 1),
        ("day = date(2018, 6, 21)", 1),
        ("day = date(year, 12, 31)", 0),
        ("since = '2018-06-21'", 1),
        ("months = 12", 0),
    ],
)
def test_literals_of_law_are_recognised(code: str, count: int) -> None:
    """The search finds what it is for, and nothing else."""
    assert len(list(literals_of_law(Module("us/collect.py", ast.parse(code))))) == count


NO_REASONS = {"eu_tax_at_destination"}
"""Words of the regimes that begin like a reason: the name of an election."""


def test_every_wording_of_a_refusal_is_used_and_every_one_used_is_there() -> None:
    """By id, wherever it is raised."""
    used = {
        text
        for module in MODULES
        if module.path != "messages.py"
        for _, text in module.texts
        if re.fullmatch(r"E\d{3}", text)
    }
    assert used == set(messages.CATALOGUE)


def test_every_reason_is_given_by_a_regime_and_has_words() -> None:
    """Ids begin with the name of their regime."""
    named = re.compile(r"(us|eu|elsewhere)_[a-z0-9_]+")
    given = {
        text
        for module in MODULES
        if module.part in REGIMES
        for _, text in module.texts
        if named.fullmatch(text) and text.startswith(f"{module.part}_")
    } - NO_REASONS
    assert given == set(reasons.REASONS)
    groups = {*reasons.FROM_FIRST_SALE, *reasons.LOCAL_REGISTRATION, *reasons.BY_ONE_STOP_SHOP}
    assert groups <= given


def test_every_row_of_the_tables_names_a_source_that_is_listed() -> None:
    """And no source is listed twice."""
    with (folder() / "sources.csv").open(encoding="utf-8", newline="") as file:
        ids = [row["id"] for row in csv.DictReader(file)]
    assert len(ids) == len(set(ids))
    assert all(re.fullmatch(r"[a-z0-9]+([-.][a-z0-9]+|-\.[0-9]+)*", one) for one in ids)
    for schema in (one for one in SCHEMAS if one.sourced):
        with (folder() / f"{schema.name}.csv").open(encoding="utf-8", newline="") as file:
            strange = {row["source"] for row in csv.DictReader(file)} - set(ids)
        assert not strange, f"{schema.name}.csv names unknown sources: {sorted(strange)}"


FOREIGN = tuple(f"/{name}" + "/" for name in ("work", "tmp", "opt", "root", "home"))
"""Paths of somebody's machine."""
TEXT = {".py", ".md", ".csv", ".toml", ".txt"}


def texts_of_the_project() -> list[tuple[str, str]]:
    """Read every text file that belongs to the project, this one left out."""
    folders = [PACKAGE, folder(), *(CHECKOUT / name for name in ("examples", "tests", ".ci"))]
    files = [path for one in folders for path in one.rglob("*") if path.is_file()]
    files += [CHECKOUT / name for name in ("README.md", "DEVELOPERS.md", "pyproject.toml")]
    return [
        (path.name, path.read_text(encoding="utf-8", errors="replace"))
        for path in dict.fromkeys(files)
        if path.suffix in TEXT or path.name == "run"
    ]


def test_nothing_names_a_path_of_somebodys_machine() -> None:
    """A web address may hold such a word; a path may not."""
    texts = texts_of_the_project()
    assert {"README.md", "run", "sources.csv", "kernel.py"} <= {name for name, _ in texts}
    for name, text in texts:
        bare = re.sub(r"https?://\S+", "", text)
        assert not [path for path in FOREIGN if re.search(rf"(?<![\w.]){path}", bare)], name


def test_the_guide_names_every_module_and_no_other() -> None:
    """DEVELOPERS.md says in one line what each module is for."""
    guide = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = guide.partition("<!-- modules:start -->")[2].partition("<!-- modules:end -->")[0]
    listed = re.findall(r"^\| `([^`]+)` \| .+ \|$", part, re.MULTILINE)
    assert len(listed) == len(set(listed))
    there = {m.path for m in MODULES if not m.path.endswith("__init__.py")} | {
        f"{m.path.removesuffix('__init__.py')}" for m in MODULES if m.path.endswith("/__init__.py")
    }
    assert set(listed) == there - {"__main__.py"}
