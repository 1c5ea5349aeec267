"""The house keeps its order: the contracts of pyproject.toml, and what they cannot say."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib

import pytest

from house import MODULES, PACKAGE, PYPROJECT, drawing

LINT = "from importlinter.cli import lint_imports_command; lint_imports_command()"

# The whole truth, so that a new use is a decision and not an accident.
USERS = {
    "numpy": "physics diary ferment verdict course shelf show",
    "scipy": "diary ferment verdict show",
    "icalendar": "show",
    "tomlkit": "diary",
    "matplotlib": "show",
    "pandas": "diary ferment shelf",
    "typer": "cli",
}
BESIDE = {  # by an extra; along with typer
    "distributed": "shelf",
    "flask": "page",
    "jinja2": "page",
    "python_calamine": "diary",
    "rich": "cli",
    "segno": "page show",
    "soundfile": "diary",
    "waitress": "page",
    "werkzeug": "page",
}

LONGEST_BODY, LONGEST_MODULE = 50, 300  # lines


def linted(folder, **new):
    """Exit code of the linter and what it says of the package with some new files in it."""
    shutil.copytree(PACKAGE, folder / "bubblerate", ignore=shutil.ignore_patterns("examples"))
    shutil.copy(PYPROJECT, folder)
    for name, text in new.items():
        path = folder / "bubblerate" / name.replace("__", "/", 1)
        path.parent.mkdir(exist_ok=True)
        path.with_suffix(".py").write_text(text)
    done = subprocess.run([sys.executable, "-c", LINT], cwd=folder, capture_output=True, text=True)
    return done.returncode, done.stdout


def test_imports_go_downward_and_never_in_a_ring(tmp_path):
    code, said = linted(tmp_path)
    assert code == 0, said


@pytest.mark.parametrize(
    ("new", "contract"),
    [
        ({"diary__odd": "from .. import ferment"}, "only from folders below it"),
        ({"physics__odd": "def f():\n    import bubblerate.cli"}, "only from folders below it"),
        ({"attic__odd": "", "attic____init__": ""}, "only from folders below it"),
        (
            {"show__odd": "from . import even", "show__even": "from .odd import x"},
            "by way of others",
        ),
    ],
    ids=["upward", "upward in a function", "a folder of no house", "a ring"],
)
def test_a_new_import_that_breaks_the_order_is_seen(tmp_path, new, contract):
    code, said = linted(tmp_path, **new)
    assert code == 1
    assert re.search(rf"{contract}.* BROKEN", said)


def test_the_public_face_imports_nothing_of_the_package_when_loaded():
    found = drawing().find_modules_directly_imported_by("bubblerate")
    assert not [name for name in found if name.startswith("bubblerate")]


@pytest.mark.parametrize(("library", "users"), [*USERS.items(), *BESIDE.items()])
def test_a_library_is_used_only_where_the_list_says(library, users):
    found = drawing().find_modules_that_directly_import(library)
    assert {name.split(".")[1] for name in found} == {*users.split()}


def test_all_else_comes_with_python():
    outside = {name for name in drawing().modules if drawing().is_module_squashed(name)}
    assert outside - {*sys.stdlib_module_names} <= {*USERS, *BESIDE}


def test_every_library_used_is_declared():
    project = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[^\w-]", line)[0] for line in project["dependencies"]}
    assert {*USERS} == declared


# --- length of modules and function bodies -------------------------------------------------------


def test_no_module_is_longer_than_300_lines():
    lines = {name: len(path.read_text("utf-8").splitlines()) for name, path in MODULES.items()}
    assert {name for name, n in lines.items() if n > LONGEST_MODULE} == set()


def bodies():
    """Lines of every function body, its docstring left out, by the name of the function."""
    for module, path in MODULES.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                body = node.body[ast.get_docstring(node) is not None :]
                lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0
                yield f"{module}.{node.name}", lines


def test_nine_function_bodies_in_ten_have_at_most_20_lines():
    lines = sorted(lines for _, lines in bodies())
    assert lines[int(0.9 * len(lines))] <= 20


def test_no_function_body_is_longer_than_50_lines():
    assert {name for name, lines in bodies() if lines > LONGEST_BODY} == set()
