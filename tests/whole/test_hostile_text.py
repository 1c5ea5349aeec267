"""No text of a file reaches a screen as more than text, nor a table as a formula.

Every command that shows something is asked of diaries, tables and settings full of what a terminal
would obey, and of names that a spreadsheet would take for a formula.
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

# Clear the screen, a title of the window, one of C1 (8 bit), right to left, a bell, a NUL's kin.
OBEYED = "\x1b[2J \x1b]0;fig\x07 \x9b31m \u202egif \b\x7f\u2028"
FORMULA = "=1+1"
STARTS = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
NOTE = f"{FORMULA} {OBEYED} stuff {OBEYED}"


def hostile(path):
    """A diary with such a note in every row, and a row more for each event that shows its note."""
    rows = [*csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))]
    names = [*dict.fromkeys([*rows[0], "note", "struck"])]
    for row in rows:
        row["note"] = NOTE
    last = rows[-1]["when"]
    more = [{"when": last, "event": event, "note": NOTE} for event in ("fined", "tasted", "moved")]
    more.append({"when": last, "bubbles": "9", "seconds": "60", "note": NOTE, "struck": NOTE})
    out = io.StringIO()
    table = csv.DictWriter(out, names)
    table.writeheader()
    table.writerows([*rows, *more])
    path.write_bytes(out.getvalue().encode())


@pytest.fixture
def shelf(jars):
    for path in jars.glob("*.csv"):
        hostile(path)
    shutil.copy(jars / "quince.csv", jars / f"{FORMULA}.csv")
    return jars


def table_of(shelf):
    path = shelf.parent / "notes.csv"
    path.write_text(f"Date,Bubbles,Note {OBEYED}\n2026-11-01,9,{NOTE}\n2026-11-02,8,{NOTE}\n")
    return str(path)


ASKED = [
    *("start new --litres 4.5", "tally quince 8", "gravity quince 1.004", "event quince fined"),
    *("diary quince", "diary quince --as tag", "strike quince last", "round", "shelf"),
    *("shelf --csv", "shelf --json", "verdict quince", "verdict quince --json", "label quince"),
    *("verdict quince --on bottling", "plot quince -o OUT.png", "backtest quince medlar"),
    *("backtest --csv", "backtest --json", "after quince", "after quince --ics OUT.ics"),
    *("label quince -o OUT.svg", "import TABLE --into sloe2", "tap quince", "listen TABLE"),
    *(
        "demo",
        "verdict NAMED",
        "diary NAMED",
        "listen NAMED",
        "import NAMED",
        "strike quince NAMED",
    ),
    *("event quince NAMED", "tally quince NAMED", "gravity quince NAMED", "start NAMED"),
    *("after NAMED", "label NAMED", "backtest NAMED", "plot NAMED", "plot quince -o NAMED"),
    *("tap NAMED", "shelf --scheduler NAMED", "verdict quince --at NAMED", "shelf -o NAMED"),
    *("after quince --ics NAMED", "verdict quince --below NAMED", "label quince -o NAMED"),
]
WRITE = {"start", "tally", "gravity", "event"}


def unsafe(text):
    return {c for c in text if c != "\n" and not c.isprintable()}


@pytest.mark.parametrize("line", ASKED)
def test_no_command_prints_what_a_terminal_would_obey(run, shelf, line):
    words = [
        {"TABLE": table_of(shelf), "NAMED": f"a{OBEYED}b"}.get(
            word, word.replace("OUT", str(shelf.parent / "out"))
        )
        for word in line.split()
    ]
    if words[0] in WRITE:
        words += ["--note", NOTE]
    said = run(*words, *([] if words[0] == "demo" else ["--shelf", str(shelf)]))
    assert said.code in {0, 2}
    assert "Traceback" not in said.err
    assert unsafe(said.out + said.err) == set()
    for path in shelf.parent.glob("out.*"):
        if path.suffix in {".ics", ".svg"}:
            assert unsafe(path.read_bytes().decode().replace("\r\n", "\n")) == set()


def test_every_command_is_walked():
    assert {line.split()[0] for line in ASKED} == {*_HOME}


@pytest.mark.parametrize("line", ["shelf --csv", "backtest --csv"])
def test_no_cell_of_a_table_is_a_formula(run, shelf, line):
    said = run(*line.split(), "--shelf", str(shelf))
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
    said = run("verdict", "quince", "--json", "--shelf", str(shelf))
    assert json.loads(said.out)["vessel"] == "quince"
