"""What the program brings along and reaches for: no network, no other program."""

import ast
import csv
import re
import subprocess
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

import pytest

import bubblerate
from bubblerate.cli import app

from scenes import EXAMPLES, REFERENCE

PACKAGE = Path(bubblerate.__file__).parent
ROOT = Path(__file__).parent.parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
SOURCES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent.name != "examples")

# Modules by which a program talks to others, runs them, or turns data into code.
REFUSED = {
    *("asyncio", "ctypes", "ftplib", "http", "marshal", "pickle", "poplib", "requests", "runpy"),
    *("shelve", "smtplib", "socket", "ssl", "subprocess", "telnetlib", "urllib", "webbrowser"),
    *("xmlrpc", "dill", "cloudpickle", "joblib"),
}
# The page is served, and asks nothing of others; of http and urllib come numbers and quoting alone.
SERVES = {
    "cli/sheets.py": {"urllib"},
    "page/app.py": {"http"},
    "page/network.py": {"socket"},
    "page/pages.py": {"http", "urllib"},
    "page/serving.py": {"socket"},
}
CALLS = {"eval", "exec", "compile", "__import__", "os.system", "os.popen", "os.execv", "os.spawnv"}
READERS = re.compile(r"(?:read|to)_(?:pickle|clipboard|html|gbq)|allow_pickle")

# Told by Python itself of all that happens; the libraries are allowed nothing either.
WATCH = """
import sys
seen = []
EVENTS = ("socket.", "urllib.", "http.", "ftplib.", "smtplib.", "webbrowser.", "os.system",
          "subprocess.", "os.exec", "os.posix_spawn", "os.spawn", "pickle.find_class")
def hook(event, arguments):
    if event.startswith(EVENTS) and event != "socket.__new__":
        seen.append((event, arguments))
sys.addaudithook(hook)
"""
RUN = """
from bubblerate.cli import main
for words in WORDS:
    try:
        main(words)
    except SystemExit as done:
        assert not done.code, (words, done.code)
    assert not seen, (words, seen)
"""
MOMENT = "2026-11-14T22:00"
EVERY = [
    ["start", "fig", "--litres", "4.5", "--sg", "1084", "--when", "2026-11-01"],
    ["tally", "fig", "12", "--over", "90s", "--when", "2026-11-02"],
    ["gravity", "fig", "1.010", "--when", "2026-11-03"],
    ["event", "fig", "racked", "--when", "2026-11-04"],
    ["diary", "fig"],
    ["words", "lees"],
    ["strike", "fig", "2"],
    ["about", "fig", "--style", "fig wine"],
    ["shelf", "--shelf", str(EXAMPLES)],
    ["shelf", "--shelf", str(EXAMPLES), "--json"],
    ["verdict", "quince", "--shelf", str(EXAMPLES), "--at", MOMENT],
    ["after", "quince", "--shelf", str(EXAMPLES), "--at", MOMENT, "--ics", "quince.ics"],
    ["split", "fig", "--into", "fig-2", "--litres", "2"],
    ["top-up", "fig", "--from", "fig-2", "--litres", "0.1"],
    ["join", "fig", "fig-2", "--into", "fig-3"],
    ["guide", "quince", "--shelf", str(EXAMPLES), "--at", MOMENT],
    ["dose", "quince", "sulphite", "--shelf", str(EXAMPLES), "--at", MOMENT],
    ["bottling-day", "quince", "--shelf", str(EXAMPLES), "--at", MOMENT, "-o", "day.pdf"],
    ["cellar", "--shelf", str(EXAMPLES)],
    ["sheet", "quince", "--shelf", str(EXAMPLES), "-o", "sheet.pdf"],
    ["label", "quince", "--shelf", str(EXAMPLES), "-o", "quince.svg"],
    ["plot", "quince", "--shelf", str(EXAMPLES), "--at", MOMENT, "-o", "quince.png"],
]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.stem)
def test_no_module_can_reach_out_or_run_what_it_reads(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    refused = REFUSED - SERVES.get(path.relative_to(PACKAGE).as_posix(), set())
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            assert not refused & {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level:
            assert (node.module or "").split(".")[0] not in refused
        elif isinstance(node, ast.Call):
            assert ast.unparse(node.func) not in CALLS
            assert not READERS.search(ast.unparse(node))


def test_no_command_uses_the_network_or_another_program(tmp_path):
    code = f"{WATCH}WORDS = {EVERY!r}\n{RUN}"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr


def test_every_command_is_watched_or_is_known_not_to_be():
    names = {c.name or c.callback.__name__ for c in app().registered_commands}
    watched = {words[0] for words in EVERY}
    # need a person at the keyboard, a sound file, a table, or are many of the others at once;
    # what `phone` does is watched in `tests/cli/test_phone.py`
    assert names - watched == {"tap", "round", "listen", "import", "demo", "backtest", "phone"}


def test_a_call_over_the_network_would_be_noticed():
    code = (
        f"{WATCH}import contextlib, socket\n"
        "with contextlib.suppress(OSError):\n"
        "    socket.create_connection(('127.0.0.1', 9), 1)\n"
        "assert seen\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=600)


def test_what_runs_needs_seven_libraries_and_each_has_a_lower_bound():
    needs = [re.fullmatch(r"([a-z]+)>=([\d.]+)", line) for line in PROJECT["dependencies"]]
    assert {need[1] for need in needs} == {
        *("numpy", "scipy", "pandas", "matplotlib", "typer", "icalendar", "tomlkit")
    }


def test_every_further_library_has_a_lower_bound():
    for extra in PROJECT["optional-dependencies"].values():
        for line in extra:
            assert re.fullmatch(r"[\w-]+>=[\d.]+|bubblerate\[[a-z,]+\]", line), line


def test_all_that_the_tests_need_is_locked_with_its_hash_and_what_brings_it():
    locked = (ROOT / ".ci" / "locked.txt").read_text(encoding="utf-8")
    entries = dict(re.findall(r"^([\w-]+)==\S+(.*(?:\n    .+)+)", locked, re.MULTILINE))
    extras = PROJECT["optional-dependencies"]
    lines = [*PROJECT["dependencies"], *extras["test"], *extras["dev"]]
    brought = re.findall(r"\[(.+)\]", " ".join(lines))[0].split(",")
    lines += [line for extra in brought for line in extras[extra]]
    asked = {re.split(r"[>=\[]", line)[0] for line in lines} - {"bubblerate"}
    assert asked <= entries.keys()
    for name, entry in entries.items():
        assert "--hash=sha256:" in entry, name
        assert re.search(r"# via\s", entry), name


# --- licences ------------------------------------------------------------------------------------


def licences():
    text = (REFERENCE / "licences.csv").read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if not line.startswith("#"))
    return {row["package"]: row["licence"] for row in csv.DictReader(lines)}


def test_the_licence_of_every_library_that_is_brought_along_is_listed():
    extras = PROJECT["optional-dependencies"]
    brought = [*PROJECT["dependencies"], *(extras[e] for e in extras if e not in {"test", "dev"})]
    lines = [line for one in brought for line in ([one] if isinstance(one, str) else one)]
    assert {re.split(r"[>=\[]", line)[0] for line in lines} <= {*licences()}


@pytest.mark.parametrize("name", licences())
def test_a_library_says_the_licence_that_is_listed(name):
    try:
        told = metadata(name)
    except PackageNotFoundError:
        pytest.skip("not installed here")
    said = [
        *(told[key] for key in ("License-Expression", "License") if key in told),
        *told.get_all("Classifier", []),
    ]
    wanted = "Python Software Foundation" if licences()[name] == "PSF" else licences()[name]
    # what older versions say of the same licence
    also = {"ZPL": "ZPL|Zope", "BSD-3-Clause": "BSD-3-Clause|BSD 3-Clause|BSD License"}
    wanted = also.get(wanted, re.escape(wanted))
    assert any(re.search(wanted, text) for text in said if text)
