"""No text of a file reaches a screen as more than text, nor a table as a formula.

Every command that shows something is asked of two short diaries and a table full of what a terminal
would obey, and of names that a spreadsheet would take for a formula. The bench of the same name
asks them of every example.
"""

import csv
import io
import json
import re
import shutil

import pandas as pd
import pytest

from bubblerate import Settings, judge_many
from bubblerate.cli import _HOME
from bubblerate.shelf.tables import vessels

from bench.trust.hostile_text import (
    ASKED,
    FORMULA,
    OBEYED,
    asked,
    hostile,
    unsafe,
    unsafe_files,
)
from scenes import written

STARTS = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")


@pytest.fixture
def shelf(tmp_path):
    """A jar that fell quiet after a fortnight, twice, once by a name that is a formula."""
    folder = tmp_path / "jars"
    counted = [22, 40, 27, 14, 9, 5, 2, 1, 0, 0, 0, 0]
    rows = [{"day": 0, "sg": 1.080, "event": "pitched", "litres": 4.5}]
    rows += [{"day": d + 2, "bubbles": 2 * n, "seconds": 120} for d, n in enumerate(counted)]
    fig = written(folder / "fig.csv", *rows, {"day": 15, "sg": 0.996, "temp_c": 19})
    hostile(fig)
    shutil.copy(fig, folder / f"{FORMULA}.csv")
    return folder


@pytest.mark.parametrize("line", ASKED)
def test_no_command_prints_what_a_terminal_would_obey(run, shelf, line, monkeypatch):
    monkeypatch.setattr("bubblerate.cli.answers._examples", lambda: shelf)
    words, out = asked(line, jar="fig", shelf=shelf)
    if words[0] in {"shelf", "backtest"} and "--scheduler" not in words:
        words += ["--workers", "1"]  # other processes load all anew, and print nothing
    said = run(*words)
    assert said.code in {0, 2}
    assert "Traceback" not in said.err
    assert unsafe(said.out + said.err) == set()
    assert unsafe_files(out) == set()
    if "OUT" in line:
        assert [*out.iterdir()]


def test_the_notes_are_on_the_screens_that_show_them(run, shelf):
    for line in ("diary fig", "diary fig --as tag", "backtest --json --workers 1"):
        said = run(*line.split(), "--shelf", str(shelf))
        assert said.code == 0
        assert "stuff" in said.out or FORMULA in said.out


def test_every_command_is_walked():
    assert {line.split()[0] for line in ASKED} == {*_HOME}


@pytest.mark.parametrize("line", ["shelf --csv", "backtest --csv"])
def test_no_cell_of_a_table_is_a_formula(run, shelf, line):
    said = run(*line.split(), "--workers", "1", "--shelf", str(shelf))
    cells = [cell for row in csv.reader(io.StringIO(said.out)) for cell in row]
    named = [cell for cell in cells if cell.endswith(FORMULA)]
    assert named
    numbers = re.compile(r"-?\d+(\.\d+)?")
    assert not [cell for cell in cells if STARTS.match(cell) and not numbers.fullmatch(cell)]


def test_a_vessel_whose_name_cannot_be_shown_is_a_row_that_says_so():
    names = ["fig", f"a{OBEYED}b"]
    table = pd.DataFrame({"vessel": names, "when": "2026-10-01", "bubbles": [9, 8]})
    found = judge_many(vessels(table), settings=Settings())
    assert [error != "" for error in found["error"]] == [False, True]
    assert unsafe(found.to_csv()) == set()
    assert "cannot be shown; rename it" in found["error"][1]


def test_what_a_cell_holds_that_cannot_be_read_is_shown_as_text():
    table = pd.DataFrame({"vessel": "fig", "when": "2026-10-01", "bubbles": [OBEYED]})
    found = judge_many(table)
    assert found["error"][0]
    assert unsafe(found.to_csv()) == set()


def test_json_of_a_verdict_can_be_read_and_holds_no_mark_raw(run, shelf):
    said = run("verdict", "fig", "--json", "--shelf", str(shelf))
    assert json.loads(said.out)["vessel"] == "fig"
