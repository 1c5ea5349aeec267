import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import bubblerate

PACKAGE = Path(bubblerate.__file__).parent
PYPROJECT = Path(__file__).parent.parent / "pyproject.toml"

# A module imports only from lines above its own; within cli the order is that of the line.
LAYERS = (
    "errors style lettering",
    "words wav picture spread jar_names",
    "units tapping pulses",
    "moments counted listen headings columns",
    "rows config dates cautions filing",
    "sheets config_file",
    "diary",
    "standing ripening",
    "volumes",
    "entry hydrometer decay slips sampling jars",
    "frames",
    "scales ethanol",
    "alcohol gas cells doses",
    "airlock bottle notes",
    "tail ledger readings curve",
    "evidence common_move label",
    "priors",
    "likelihood",
    "fit",
    "forecast",
    "crosscheck signs",
    "case",
    "fall",
    "racking bottling diagnosis",
    "verdict",
    "shelf gate",
    "many",
    "backtest",
    "coverage",
    "cellar",
    "steps calendar_file",
    "outlook",
    "residuals",
    "report timeline outlook_text card labelplot backtest_text",
    "marks gravityplot",
    "overview",
    "plot shelf_report soundplot preview backtestplot residualplot shelfplot",
    "cli.common cli.terminal cli.progress",
    "cli.entries cli.answers cli.importing cli.keeping",
    "cli.tap cli.shelf cli.listening",
    "cli.rounds cli.backtesting",
    "cli",
    "__main__",
)
LAYER = {name: i for i, line in enumerate(LAYERS) for name in line.split()}

# The whole truth, so that a new use is a decision and not an accident.
USERS = {
    "numpy": "hydrometer scales frames decay tail ledger readings curve evidence likelihood "
    "sampling fit forecast crosscheck diagnosis shelf fall coverage wav pulses listen "
    "soundplot backtestplot residuals timeline marks gravityplot residualplot",
    "scipy": "decay likelihood sampling crosscheck diagnosis pulses listen residuals marks "
    "residualplot",
    "matplotlib": "lettering picture timeline marks gravityplot plot labelplot backtestplot "
    "residualplot",
    "pandas": "frames many",
    "typer": "cli cli.common cli.entries cli.answers cli.importing cli.keeping cli.rounds "
    "cli.shelf cli.tap cli.listening cli.backtesting",
}
BESIDE = {"distributed": "spread", "rich": "cli.progress"}  # by an extra; along with typer


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {
    module_name(path): path
    for path in sorted(PACKAGE.rglob("*.py"))
    if path.parent != PACKAGE / "examples"  # travels with the installed package, no part of it
}


def run_time_nodes(node: ast.AST) -> Iterator[ast.AST]:
    """Every node that may run: not what only a type checker reads."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            for otherwise in child.orelse:
                yield otherwise
                yield from run_time_nodes(otherwise)
            continue
        yield child
        yield from run_time_nodes(child)


def imports(name: str) -> Iterator[str]:
    """What a module imports, inside its functions too; a dot before what is of the package."""
    path = MODULES[name]
    home = path.relative_to(PACKAGE).parent.parts
    for node in run_time_nodes(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module or ""
        elif isinstance(node, ast.ImportFrom):
            base = [*home[: len(home) + 1 - node.level], *(node.module or "").split(".")]
            base = [part for part in base if part]
            for alias in node.names:
                inner = ".".join([*base, alias.name])
                yield f".{inner if inner in MODULES else '.'.join(base)}"


def test_every_module_has_its_place_among_the_layers():
    assert {*LAYER} == {*MODULES} - {""}


@pytest.mark.parametrize("name", [name for name in MODULES if name])
def test_a_module_imports_only_from_earlier_layers(name):
    inside = {found[1:] for found in imports(name) if found.startswith(".")}
    assert not {other for other in inside if LAYER[other] >= LAYER[name]}


def test_the_public_face_imports_nothing_of_the_package_when_loaded():
    assert not [found for found in imports("") if found.startswith((".", "bubblerate"))]


def test_no_module_names_the_package_in_full():
    # an import the test above could not follow
    assert not [n for n in MODULES for found in imports(n) if found.split(".")[0] == "bubblerate"]


@pytest.mark.parametrize(("library", "users"), [*USERS.items(), *BESIDE.items()])
def test_a_library_is_used_only_where_the_list_says(library, users):
    found = {n for n in MODULES if library in {name.split(".")[0] for name in imports(n)}}
    assert found == {*users.split()}


def test_all_else_comes_with_python():
    outside = {found.split(".")[0] for name in MODULES for found in imports(name)} - {""}
    assert outside - {*sys.stdlib_module_names} <= {*USERS, *BESIDE}


def test_every_library_used_is_declared():
    project = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[^\w-]", line)[0] for line in project["dependencies"]}
    assert {*USERS} == declared


def test_what_only_a_type_checker_reads_is_left_out_and_all_else_is_seen():
    code = "if TYPE_CHECKING:\n    import a\nelse:\n    import b\ndef f():\n    import c\n"
    seen = [n for n in run_time_nodes(ast.parse(code)) if isinstance(n, ast.Import)]
    assert [node.names[0].name for node in seen] == ["b", "c"]
