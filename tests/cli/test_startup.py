import gc
import os
import subprocess
import sys

import pytest
import typer.main
from typer.exceptions import TyperException

import bubblerate
from bubblerate.cli import app, main

from scenes import EXAMPLES

HEAVY = {"numpy", "scipy", "pandas", "matplotlib"}
TALLY = """
import sys
from bubblerate.cli import main
for words in (["start", "fig"], ["tally", "fig", "12", "--over", "90s", "--temp", "65F"]):
    try:
        main(words)
    except SystemExit as done:
        assert not done.code, done.code
"""


def modules(code: str) -> set[str]:
    """Modules that a fresh interpreter has loaded once it has run some code."""
    code += "\nimport sys\nprint('loaded', *sys.modules)"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr
    return {*done.stdout.rpartition("loaded ")[2].split()}


def loaded(code: str) -> set[str]:
    """Packages of those modules."""
    return {name.split(".")[0] for name in modules(code)}


def test_importing_the_package_loads_no_heavy_library():
    assert not HEAVY & loaded("import bubblerate; dir(bubblerate)")


def test_writing_a_count_down_loads_no_heavy_library(tmp_path):
    assert not HEAVY & loaded(TALLY)  # the shelf of the test, by the environment
    assert (tmp_path / "shelf" / "fig.csv").read_bytes().count(b"\r\n") == 3


def test_writing_a_count_down_loads_no_other_command():
    of_ours = {name for name in modules(TALLY) if name.startswith("bubblerate.cli.")}
    assert of_ours == {f"bubblerate.cli.{name}" for name in ("common", "ending", "entries", "rows")}


def typed(*words: str) -> set[str]:
    """Modules that a command has loaded."""
    run = f"try: main({words!r})\nexcept SystemExit as done: assert not done.code"
    return modules(f"from bubblerate.cli import main\n{run}")


def test_a_verdict_loads_what_works_it_out_and_no_more():
    found = typed("verdict", str(EXAMPLES / "quince.csv"), "--at", "2026-11-14")
    assert {name.split(".")[0] for name in found} & HEAVY == {"numpy", "scipy"}
    parts = {".".join(name.split(".")[:2]) for name in found if name.startswith("scipy.")}
    # some versions of its special functions load its linear algebra
    of_special = modules("import scipy.special, scipy.version")
    assert {name for name in parts if "._" not in name} <= of_special
    assert "bubblerate.course.as_json" not in found


def test_a_shelf_is_drawn_without_tables_and_windows(jars):
    picture = jars / "shelf.svg"
    found = typed("shelf", "--shelf", str(jars), "-o", str(picture), "--at", "2026-11-14")
    assert picture.exists()
    assert not {"pandas", "matplotlib.pyplot", "tkinter", "scipy.stats"} & found


@pytest.mark.parametrize(
    "words",
    [
        ["verdict", "quince", "--json", "--on", "racking"],
        ["plot", "quince", "-o", "tail.png", "--width", "16", "--show", "tail"],
        ["shelf", "--json", "--workers", "1"],
    ],
    ids=lambda words: words[0],
)
def test_plain_words_load_no_library_of_checks(words):
    context = f"typer.main.get_command(app({words[0]!r})).make_context('it', {words[1:]!r})"
    read = f"import typer.main; from bubblerate.cli import app; {context}"
    assert "pydantic" not in loaded(read)  # what typer has checks made by


def test_writing_a_count_down_loads_no_library_of_checks():
    assert "pydantic" not in loaded(TALLY)


@pytest.mark.parametrize(
    ("command", "line"),
    [
        ("tally", ["quince", "12"]),
        ("tally", ["quince", "--every", "55s", "--note", ""]),
        ("tally", ["--over=90s", "quince", "--", "-1"]),
        ("tally", ["quince", "4", "--over", "90s", "--over", "60s"]),
        ("tally", ["quince", "12", "--shelf", "jars"]),
        ("tally", ["quince", "12", "--note", "two\nlines"]),
        ("tally", ["quince", "\udcff"]),
        ("tally", ["quince", "--over"]),
        ("tally", ["quince", "--bubbles", "3"]),
        ("tally", ["", ""]),
        ("tally", []),
        ("event", ["quince"]),
        ("round", []),
        ("verdict", ["quince"]),
        ("verdict", ["quince", "--on", "bottling", "--json"]),
        ("verdict", ["quince", "--on", "drinking"]),
        ("verdict", ["quince", "--check", "--more", "--shelf", ""]),
        ("verdict", ["quince", "--no-check"]),
        ("import", ["kept.csv", "--into", "plum"]),
        ("plot", ["quince", "-o", "tail.png", "--width", "9"]),
        ("plot", ["quince", "--width", "16.5", "--axis", "linear"]),
        ("plot", ["quince", "--width", "3"]),
        ("plot", ["quince", "--width", "1e1"]),
        ("plot", ["quince", "--width", "wide"]),
        ("plot", ["quince", "--beside", "sloe"]),
        ("plot", ["quince"]),
        ("plot", ["quince", "-o", "/"]),
        ("shelf", ["--json"]),
        ("shelf", ["--workers", "2", "-o", "shelf.png"]),
        ("shelf", ["--workers", "-1"]),
        ("shelf", ["--workers", "1.5"]),
        ("guide", ["--on", "racking"]),
    ],
)
def test_a_command_understands_its_words_as_typer_alone_does(command, line, monkeypatch):
    def understood():
        try:
            return typer.main.get_command(app(command)).make_context(command, [*line]).params
        except TyperException as err:
            return err.format_message()

    ours = understood()
    monkeypatch.delattr("bubblerate.cli._Command.parse_args")
    assert ours == understood()


def test_a_command_asks_for_one_thread_of_linear_algebra_unless_told_otherwise(monkeypatch):
    monkeypatch.setattr("sys.argv", ["bubblerate", "--help"])
    monkeypatch.setattr("bubblerate.cli.skip_teardown", lambda: print)
    monkeypatch.setattr("gc.set_threshold", print)
    for said, used in ((None, "1"), ("4", "4")):
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", said or "")
        if said is None:
            monkeypatch.delenv("OPENBLAS_NUM_THREADS")
        with pytest.raises(SystemExit):
            main()
        assert os.environ["OPENBLAS_NUM_THREADS"] == used


def test_a_call_from_python_leaves_the_process_as_it_is(monkeypatch):
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS")
    before = gc.get_threshold()
    with pytest.raises(SystemExit):
        main(["--help"])
    assert "OPENBLAS_NUM_THREADS" not in os.environ
    assert gc.get_threshold() == before


def test_a_heavy_library_would_be_noticed():
    assert "numpy" in loaded("import bubblerate; bubblerate.judge")


def test_a_picture_is_drawn_without_pyplot():
    code = "import bubblerate, sys; bubblerate.save_tail"
    assert "matplotlib" in loaded(f"{code}; assert 'matplotlib.pyplot' not in sys.modules")


def test_every_public_name_can_be_had():
    assert all(getattr(bubblerate, name) is not None for name in bubblerate.__all__)
    assert {*bubblerate.__all__} <= {*dir(bubblerate)}
