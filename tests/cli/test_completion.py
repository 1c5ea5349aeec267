"""Commands, options and vessels completed by the Tab key, as a shell asks for it."""

import os
import shutil
import subprocess
import sys

import pytest

from scenes import EXAMPLES

SHELLS = ("bash", "zsh", "fish")
HEAVY = {"numpy", "scipy", "pandas", "matplotlib"}


@pytest.fixture
def jars(tmp_path, monkeypatch):
    """A shelf of empty files: to know a name none may be opened."""
    folder = tmp_path / "jars"
    folder.mkdir()
    for name in ("quince", "quiet-plum", "sloe", "two words"):
        (folder / f"{name}.csv").touch()
    monkeypatch.setenv("BUBBLERATE_SHELF", str(folder))
    return folder


def ran(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-W", "error", "-c", f"from bubblerate.cli import main; {code}"]
    known = {**os.environ, **environment}
    return subprocess.run(line, capture_output=True, text=True, timeout=600, env=known)


def offered(shell: str, typed: str) -> list[str]:
    """What a shell offers behind the words typed so far, the last of them unfinished."""
    environment = {"COMP_WORDS": typed, "COMP_CWORD": str(len(typed.split(" ")) - 1)}
    if shell != "bash":
        environment = {"_TYPER_COMPLETE_ARGS": typed, "_TYPER_COMPLETE_FISH_ACTION": "get-args"}
    done = ran("main(['never run'])", _BUBBLERATE_COMPLETE=f"complete_{shell}", **environment)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.split()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("bubblerate ta", ["tally", "tap"]),
        ("bubblerate tally qui", ["quiet-plum", "quince"]),
        ("bubblerate verdict ", ["quiet-plum", "quince", "sloe"]),
        ("bubblerate backtest quince s", ["sloe"]),
        ("bubblerate import kept.csv --into s", ["sloe"]),
        ("bubblerate listen kept.wav --into s", ["sloe"]),
        ("bubblerate tally quince 12 --o", ["--over"]),
        ("bubblerate verdict quince --on ", ["racking", "bottling"]),
        (f"bubblerate plot --shelf {EXAMPLES} me", ["medlar"]),
        ("bubblerate plot --shelf nowhere ", []),
        (f"bubblerate plot --shelf {__file__} ", []),
    ],
)
def test_bash_is_offered_what_fits(jars, typed, words):
    assert offered("bash", typed) == words


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_is_offered_the_vessels(jars, shell):
    assert "quince" in " ".join(offered(shell, "bubblerate tally qui"))
    assert "sloe" not in " ".join(offered(shell, "bubblerate tally qui"))


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_is_given_a_script_that_asks_the_program(shell):
    done = ran("main(['never run'])", _BUBBLERATE_COMPLETE=f"source_{shell}")
    assert (done.returncode, done.stderr) == (0, "")
    assert f"_BUBBLERATE_COMPLETE=complete_{shell}" in done.stdout


def test_completing_a_name_loads_no_heavy_library(jars):
    code = "import atexit, sys; atexit.register(lambda: print(*sys.modules)); main(['never run'])"
    asked = {"COMP_WORDS": "bubblerate tally qui", "COMP_CWORD": "2"}
    done = ran(code, _BUBBLERATE_COMPLETE="complete_bash", **asked)
    assert "quince" in done.stdout
    assert not HEAVY & {name.split(".")[0] for name in done.stdout.split()}


@pytest.fixture
def in_bash(tmp_path, monkeypatch):
    """Run lines in a bash that finds the program, with a home of its own."""
    if not shutil.which("bash"):
        pytest.skip("needs bash")
    program = tmp_path / "bin" / "bubblerate"
    program.parent.mkdir()
    start = "from bubblerate.cli import main; main()"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c "{start}" "$@"\n')
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(program.parent), prepend=os.pathsep)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(filter(None, sys.path)))
    monkeypatch.setenv("HOME", str(tmp_path))

    def typed(lines: str) -> str:
        line = ["bash", "--norc", "-c", lines]
        done = subprocess.run(line, capture_output=True, text=True, timeout=600, check=True)
        assert done.stderr == ""
        return done.stdout

    return typed


ASK = """
COMP_WORDS=(bubblerate gravity sl) COMP_CWORD=2
_bubblerate_completion bubblerate
echo "${COMPREPLY[@]}"
"""


def test_bash_itself_completes_by_the_script_that_is_shown(jars, in_bash):
    assert in_bash(f"source <(bubblerate --show-completion)\n{ASK}") == "sloe\n"


def test_bash_itself_completes_once_the_script_is_installed(jars, in_bash):
    assert "completion installed" in in_bash("bubblerate --install-completion\ntrue")
    assert in_bash(f"source ~/.bashrc\n{ASK}") == "sloe\n"
