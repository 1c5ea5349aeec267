"""The page for developers is short, in order, and names what is there."""

import re
from pathlib import Path

import pytest
from typer.main import get_command

from bubblerate.cli import app

from house import MODULES, PACKAGE

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BENCHES = sorted(path.relative_to(ROOT).as_posix() for path in ROOT.glob("tests/bench/*/*.py"))
FOLDERS = sorted({name.split(".")[0] for name in MODULES if "." in name})
SECTIONS = [
    "What we will not do",
    "Set up and first change",
    "The folders",
    "The journey of one tally",
    "The journey of one diary to the verdict",
    "Add something",
    "Decisions",
    "Benches",
]
# what is named in code, or typed in a line of a block: a path has a slash or an ending
NAMED = {word for code in re.findall(r"`([^`]+)`", PAGE) for word in code.split()}
PATHS = sorted(
    word
    for word in NAMED
    if re.fullmatch(r"[\w.-]*(/[\w.-]*)+|[\w-]+\.(py|md|toml)", word)
    if not re.search("FOLDER|/min", word)
)
MADE = {"bubblerate.toml", "build/api"}  # by people, by a command


def section(title):
    return PAGE.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


def test_its_sections_stand_in_order():
    assert re.findall("^## (.+)$", PAGE, re.MULTILINE) == SECTIONS


def test_it_is_short():
    assert len(PAGE.split()) < 2_500
    assert len(section("Set up and first change").split()) <= 250
    assert section("What we will not do").count("\n- ") == 3


@pytest.mark.parametrize("name", FOLDERS)
def test_every_folder_is_drawn_in_the_house(name):
    assert f"    {name}/ " in section("The folders")


@pytest.mark.parametrize("bench", BENCHES)
def test_every_bench_is_named(bench):
    assert f"`{bench}`" in section("Benches")


@pytest.mark.parametrize("path", PATHS)
def test_every_path_it_names_is_there(path):
    assert path in MADE or (ROOT / path).exists() or (PACKAGE / path).exists()


def test_every_command_it_names_is_one():
    named = {*re.findall(r"`bubblerate (\w+)", PAGE)}
    assert {"tally", "verdict"} <= named
    assert named <= {*vars(get_command(app()))["commands"]}


def test_whatever_is_added_often_has_its_recipe():
    recipes = re.findall(r"^- \*\*(.+?)\*\*", section("Add something"), re.MULTILINE)
    wanted = {"A curve", "An event", "A reason", "A picture", "A command", "A column"}
    assert wanted <= {*recipes}
