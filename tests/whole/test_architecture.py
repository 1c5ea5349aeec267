import ast
import re
import sys
import tomllib
from graphlib import TopologicalSorter

import pytest

from house import MODULES, PYPROJECT, imports, run_time_nodes

# A folder imports only from folders below it: those before it in this line.
FOLDERS = [
    "errors",
    "text",
    "physics",
    "diary",
    "ferment",
    "verdict",
    "course",
    "shelf",
    "show",
    "page",
    "cli",
    "__main__",
]
RANK = {name: i for i, name in enumerate(FOLDERS)}

# The whole truth, so that a new use is a decision and not an accident.
USERS = {
    "numpy": "physics diary ferment verdict shelf show",
    "scipy": "diary ferment show",
    "matplotlib": "show",
    "pandas": "shelf",
    "typer": "cli",
}
BESIDE = {"distributed": "shelf", "rich": "cli"}  # by an extra; along with typer


def folder(name: str) -> str:
    return name.split(".")[0]


ARROWS = {
    (name, found[1:])
    for name in MODULES
    if name
    for found in imports(name)
    if found.startswith(".")
}


def test_every_module_lives_in_a_folder_of_the_house():
    assert {folder(name) for name in MODULES if name} <= {*FOLDERS}


def test_a_folder_imports_only_from_folders_below_it():
    upward = [
        arrow
        for arrow in ARROWS
        for home, other in [(folder(arrow[0]), folder(arrow[1]))]
        if home != other and RANK[other] >= RANK[home]
    ]
    assert not upward


def test_no_module_imports_itself_by_way_of_others():
    graph: dict[str, set[str]] = {}
    for name, other in ARROWS:
        graph.setdefault(name, set()).add(other)
    assert [*TopologicalSorter(graph).static_order()]  # CycleError names the ring


def test_the_public_face_imports_nothing_of_the_package_when_loaded():
    assert not [found for found in imports("") if found.startswith((".", "bubblerate"))]


def test_no_module_names_the_package_in_full():
    # an import the test above could not follow
    assert not [n for n in MODULES for found in imports(n) if found.split(".")[0] == "bubblerate"]


@pytest.mark.parametrize(("library", "users"), [*USERS.items(), *BESIDE.items()])
def test_a_library_is_used_only_where_the_list_says(library, users):
    found = {folder(n) for n in MODULES if library in {name.split(".")[0] for name in imports(n)}}
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
