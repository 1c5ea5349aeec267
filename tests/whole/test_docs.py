"""The README says what the program does, and every public name says what it is."""

import ast
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pandas
import pytest

import bubblerate
from bubblerate import read_table
from bubblerate.cli import app, main
from bubblerate.diary.settings_file import settings

import make_readme
from scenes import EXAMPLES

ROOT = Path(__file__).parent.parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE = {
    page.stem: page.read_text(encoding="utf-8")
    for page in (ROOT / "examples" / "guide").glob("*.md")
}
COMMANDS = {c.name or c.callback.__name__: c.callback for c in app().registered_commands}
PACKAGE = Path(bubblerate.__file__).parent
MODULES = sorted(p for p in PACKAGE.rglob("*.py") if p.parent.name != "examples")


def blocks(language, text=README):
    return re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)


def test_the_readme_opens_with_one_paragraph_that_states_the_job():
    title, paragraph, heading = README.split("\n\n")[:3]
    assert title == "# bubblerate"
    assert "go" in paragraph
    assert heading.startswith("## ")


def test_every_screen_in_the_readme_is_what_the_program_prints(capsys):
    assert make_readme.main(["--check"]) == 0, capsys.readouterr().out


@pytest.mark.parametrize(
    ("shown", "same"),
    [
        ("WAIT, 1.9 a minute about 30 Nov", True),
        ("WAIT,  2.0 a minute\n  about 29 Nov", True),
        ("GO, 1.9 a minute about 30 Nov", False),
        ("WAIT, 19 a minute about 30 Nov", False),
        ("WAIT, 1.9 a minute about 30 Nov 2026", False),
    ],
)
def test_a_screen_may_differ_in_last_digits_and_breaks_alone(shown, same):
    assert make_readme.alike("WAIT, 1.9 a minute about 30 Nov", shown) is same


SCREEN = """<!-- printed by: bubblerate diary perry-pear, at 2026-11-18T21:30+00:00, 60 wide -->
```text
{}```
"""


def test_a_screen_out_of_date_is_named_and_can_be_written_again(tmp_path, monkeypatch, capsys):
    page = tmp_path / "README.md"
    monkeypatch.setattr(make_readme, "PAGES", (page,))
    page.write_text(SCREEN.format("perry-pear: quiet\n"))
    assert make_readme.main(["--check"]) == 1
    assert capsys.readouterr().out.endswith("prints it now: bubblerate diary perry-pear\n")
    assert make_readme.main([]) == 0
    assert "two sacks of" in page.read_text()
    assert make_readme.main(["--check"]) == 0


def test_a_screen_that_no_command_printed_is_refused():
    found = make_readme.out_of_date("```text\nperry-pear: quiet\n```\n")
    assert found == ["a text block lacks the comment that names its command"]


def test_a_command_that_is_refused_is_no_screen():
    block = SCREEN.format("").replace("perry-pear,", "pear,")
    with pytest.raises(RuntimeError, match=r"no diary pear\.csv in examples"):
        make_readme.out_of_date(block)


def test_the_picture_in_the_readme_can_be_drawn_again():
    (block,) = make_readme.PICTURE.finditer(README)
    assert (ROOT / block["path"]).exists()
    assert make_readme.drawn(block).startswith(b"\x89PNG")


def test_every_line_of_a_first_evening_runs_and_stays_on_the_shelf_for_practice(
    capsys, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    lines = [line.split("#")[0].strip() for line in blocks("sh")[2].splitlines()]
    assert len(lines) == 6
    for line in lines:
        with pytest.raises(SystemExit) as end:
            main(shlex.split(line)[1:])
        assert end.value.code == 0, capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["practice"]


def test_the_settings_in_the_guide_can_be_used(tmp_path):
    (tmp_path / "bubblerate.toml").write_text(blocks("toml", GUIDE["start"])[0], encoding="utf-8")
    assert settings(tmp_path).vessel("quince").finish == 0.996


def test_the_python_in_the_guide_runs(tmp_path):
    one, block = blocks("python", GUIDE["from-python"])
    parts = [read_table(path).assign(vessel=path.stem) for path in EXAMPLES.glob("*.csv")]
    pandas.concat(parts).to_csv(tmp_path / "club.csv", index=False)
    (tmp_path / "cellar.py").write_text(block)
    shutil.copy(EXAMPLES / "quince.csv", tmp_path)
    (tmp_path / "one.py").write_text(one)
    for script in ("one.py", "cellar.py"):
        subprocess.run(
            [sys.executable, "-W", "error", script], cwd=tmp_path, check=True, timeout=600
        )
    dates = pandas.read_csv(tmp_path / "dates.csv", parse_dates=["below_median"])
    assert {*dates["vessel"]} == {path.stem for path in EXAMPLES.glob("*.csv")}
    assert dates["below_median"].dt.year.eq(2026).all()


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme_and_shows_an_example(command):
    assert f"| `bubblerate {command}`" in GUIDE["commands"]
    assert f"bubblerate {command}" in (COMMANDS[command].__doc__ or "")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command, capsys):
    with pytest.raises(SystemExit) as end:
        main([command, "--help"])
    assert end.value.code == 0
    assert "Example" in capsys.readouterr().out


def test_pictures_and_files_that_the_pages_name_are_there():
    for name in re.findall(r"\((examples/[^)]+)\)|`(tests/[^`]+\.py)`", README):
        assert (ROOT / "".join(name)).exists()
    for text in GUIDE.values():
        for name in re.findall(r"\(([a-z-]+\.md)\)", text):
            assert (ROOT / "examples" / "guide" / name).exists()


def prose(text):
    """A page without what the program prints."""
    return re.sub(r"```text\n.*?```|<!--.*?-->", "", text, flags=re.DOTALL)


def test_no_page_is_longer_than_can_be_read_in_one_go():
    assert len(README.split()) < 900
    for name, text in GUIDE.items():
        assert len(prose(text.partition("\n## Changes\n")[0]).split()) < 700, name


def test_only_the_agreed_files_stand_at_the_top():
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml"}
    agreed |= {"bubblerate", "tests", "examples", "notebooks", "build", "dist"}
    ours = (p for p in ROOT.iterdir() if p.is_dir() or p.suffix in {".md", ".toml", ".py"})
    assert {p.name for p in ours if not p.name.startswith(".")} <= agreed


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.stem)
def test_every_public_name_is_documented(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree), path
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{path.name}: {node.name}"


def test_every_name_of_the_public_face_can_be_had():
    for name in bubblerate.__all__:
        assert getattr(bubblerate, name) is not None
    assert set(bubblerate.__all__) <= set(dir(bubblerate))
    with pytest.raises(AttributeError, match="no attribute 'bubbles'"):
        _ = bubblerate.bubbles


def test_the_version_is_stated_once_for_all():
    build = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert build["project"]["dynamic"] == ["version"]
    stated = (ROOT / build["tool"]["hatch"]["version"]["path"]).read_text(encoding="utf-8")
    assert f'__version__ = "{bubblerate.__version__}"' in stated
    changes = GUIDE["commands"].partition("\n## Changes\n")[2]
    told = re.findall(r"^\*\*([\d.]+)\*\*", changes, re.MULTILINE)
    assert told[0] == bubblerate.__version__
    assert told == sorted(told, key=lambda v: [*map(int, v.split("."))], reverse=True)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_told_in_the_changes(command):
    assert f"`{command}`" in GUIDE["commands"].partition("\n## Changes\n")[2]


def test_the_examples_are_there():
    assert len(list(EXAMPLES.glob("*.csv"))) >= 5
