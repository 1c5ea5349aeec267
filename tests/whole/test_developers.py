"""The page for developers names every module and bench, and states constants as they are."""

import re
from importlib import import_module
from pathlib import Path

import pytest

from house import MODULES

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BENCHES = sorted(path.relative_to(ROOT).as_posix() for path in ROOT.glob("tests/bench/*/*.py"))


def section(title):
    return PAGE.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


def rows(title):
    lines = section(title).splitlines()
    return [
        [cell.strip() for cell in line.strip("|").split("|")] for line in lines if line[:1] == "|"
    ]


CONSTANTS = [
    (name, value)
    for names, values, _ in rows("Where each constant comes from")[2:]
    for name, value in zip(re.findall(r"`(\S+)`", names), values.split(", "), strict=True)
]


FOLDERS = {name.split(".")[0] for name in MODULES if "." in name}


@pytest.mark.parametrize("name", sorted(FOLDERS))
def test_every_folder_is_drawn_in_the_house(name):
    assert f"    {name}/ " in section("The parts and the one-way flow")


@pytest.mark.parametrize("bench", BENCHES)
def test_every_bench_is_named_where_it_says_what_to_run(bench):
    assert re.search(rf"[/`]{re.escape(bench.split('/')[-1])}[` ]", section("Run it"))


def test_a_bench_that_is_named_is_there():
    assert {*re.findall(r"tests/bench/[\w/]+\.py", PAGE)} <= {*BENCHES}


@pytest.mark.parametrize(("name", "value"), CONSTANTS)
def test_a_constant_is_stated_as_it_is(name, value):
    module, _, constant = name.rpartition(".")
    found = getattr(import_module(f"bubblerate.{module}"), constant)
    if value.endswith(("coefficients", "shares")):  # too many to state
        table = found.values() if isinstance(found, dict) else found
        found = sum(len(row) if isinstance(row, tuple) else 1 for row in table)
    stated = [float(number) for number in re.findall(r"[\d.]+", value)]
    found = found if isinstance(found, tuple) else (found,)
    assert found == pytest.approx(tuple(stated), rel=1e-4)


def test_every_physical_constant_with_a_source_of_its_own_is_stated():
    stated = {name for name, _ in CONSTANTS}
    for module in ("gas", "alcohol", "ethanol", "hydrometer", "scales", "sulphite"):
        known = vars(import_module(f"bubblerate.physics.{module}"))
        for name in known.get("__annotations__", {}):
            limit = re.search(r"LOW|HIGH|LIMIT|ROUNDS|GOOD_TO|PER_BAR", name)
            assert limit or f"physics.{module}.{name}" in stated or not name.isupper()


def test_every_event_reason_and_curve_has_its_recipe():
    recipes = re.findall(r"^- \*\*(.+?)\*\*", section("Add something"), re.MULTILINE)
    assert {"A curve", "An event", "A reason", "A command", "A column"} <= {*recipes}
