import json
import re
import shutil
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

import bubblerate
from bubblerate.cli import _HOME
from bubblerate.cli.common import Clock
from bubblerate.diary import shelf
from bubblerate.diary.reading import read
from bubblerate.diary.visit import BASE_COLUMNS

from scenes import EXAMPLES, Said

HEADER = ",".join(BASE_COLUMNS)
COMMANDS = (
    *("start", "tally", "gravity", "event", "diary", "strike"),
    *("verdict", "plot", "import", "demo"),
    *("tap", "round", "shelf", "listen"),
)
NOW = datetime(2026, 11, 25, 21, 45, tzinfo=timezone(timedelta(hours=1)))
LAST = {"quince": "2026-11-14T20:46+00:00", "perry-pear": "2026-11-14T20:51+00:00"}

# The object of `verdict --json`, key by key; None stands for a value without keys of its own.
SPAN = {"low80": None, "median": None, "high80": None}
TIMES = ("low95", "low80", "median", "high80", "high95")
OBJECT = {
    "vessel": None,
    "asked_at": None,
    "question": None,
    "verdict": None,
    "firmness": None,
    "reasons": [{"code": None, "text": None}],
    "next": {"kind": None, "do": None, **dict.fromkeys(("on", "since", "until")), "also": [None]},
    "rate": {"per_min": None, "low80": None, "high80": None},
    "crossing": {
        "threshold_per_min": None,
        **dict.fromkeys(TIMES),
        "p_already": None,
        "p_not_in_60_days": None,
        "basis": None,
    },
    "gravity": {
        "latest_sg": None,
        "expected_finish": None,
        "predicted_finish": SPAN,
        "points_left": SPAN,
        "steady": None,
    },
    "bubble_ml": SPAN,
    "phase": None,
    "proof": {
        "chance_fizz": None,
        "chance_burst": None,
        "sugar_left_g_per_l": dict.fromkeys(("low", "median", "high")),
        "earliest": None,
    },
}


@pytest.fixture(autouse=True)
def _berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A winter evening in Berlin, where the clocks went back on 25 October."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def clock() -> Clock:
    return lambda: NOW


@pytest.fixture
def fig(tmp_path: Path) -> Path:
    """A diary on the shelf, pitched and counted once."""
    path = tmp_path / "shelf" / "fig.csv"
    path.parent.mkdir()
    first = "2026-10-01T18:00:00+02:00,,,,,1.084,,pitched,4.5,,"
    path.write_text(f"{HEADER}\n{first}\n2026-11-20T21:00:00+01:00,9,60,,,,,,,,\n")
    return path


def last_row(path: Path) -> str:
    return path.read_text().splitlines()[-1]


def refused(said: Said) -> str:
    """The one line of a refusal."""
    assert (said.code, said.out) == (2, "")
    assert re.fullmatch(r"bubblerate: [^\n]+\n", said.err), said.err
    return said.err.removeprefix("bubblerate: ").rstrip()


def shape(value: object) -> object:
    """Keys of an object, its values left out."""
    if isinstance(value, dict):
        return {key: shape(inner) for key, inner in value.items()}
    return [shape(value[0])] if isinstance(value, list) else None


def whole(text: str) -> dict:
    """An object, refused if it holds what is no JSON."""

    def not_a_number(name: str) -> None:
        raise AssertionError(name)

    return json.loads(text, parse_constant=not_a_number)


# --- start ---------------------------------------------------------------------------------------


def test_a_diary_is_begun_with_what_is_known(run, tmp_path):
    said = run("start", "fig", "--litres", "1 UK gal", "--sg", "1084", "--temp", "65F")
    path = tmp_path / "shelf" / "fig.csv"
    assert said.out == (
        "fig: pitched, gravity 1.084, 18.3 C, 4.54609 litres, on 25 Nov 2026 21:45. "
        f"New diary: {path}\n"
        "  Each evening: bubblerate tally fig 12 --over 90s\n"
        "  A word is new to you? bubblerate words\n"
    )
    assert (said.code, said.err) == (0, "")
    row = "2026-11-25T21:45:00+01:00,,,18.3,,1.084,,pitched,4.54609,,"
    assert path.read_bytes() == f"{HEADER}\r\n{row}\r\n".encode()


def test_a_jar_begun_without_a_reading_is_told_of_the_hydrometer(run):
    assert "hydrometer is needed before bottling" in run("start", "fig").out
    assert "hydrometer" not in run("start", "plum", "--sg", "1084").out


def test_a_diary_that_exists_is_never_begun_again(run, fig):
    before = fig.read_bytes()
    assert refused(run("start", "fig")) == "fig.csv: already exists; choose another name"
    assert fig.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (["--litres", "1 gal"], "write 1 UK gal or 1 US gal"),
        (["--sg", "84"], "write it like 1.004"),
        (["--temp", "70"], "Then write 70F"),
        (["--when", "3/4/2026"], "write 2026-04-03 or 2026-03-04"),
        (["--when", "day 3"], "write a date"),
    ],
)
def test_a_start_that_cannot_be_understood_leaves_no_diary(run, tmp_path, words, advice):
    assert advice in refused(run("start", "fig", *words))
    assert not (tmp_path / "shelf").exists()


# --- tally ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "echo", "row"),
    [
        (["12"], "12 in 1 min = 12 a minute", "{now},12,60,,,,,,,,"),
        (["12", "--over", "90s"], "12 in 90 s = 8.0 a minute", "{now},12,90,,,,,,,,"),
        (["--every", "55s"], "1 in 55 s = 1.1 a minute", "{now},1,55,,,,,,,,"),
        (["none", "--over", "5m"], "0 in 5 min = 0 a minute", "{now},0,300,,,,,,,,"),
        (["0"], "0 in 1 min = 0 a minute", "{now},0,60,,,,,,,,"),
        (["9", "--temp", "65F"], "9 in 1 min = 9.0 a minute, 18.3 C", "{now},9,60,18.3,,,,,,,"),
        (["9", "--temp", "-2"], "9 in 1 min = 9.0 a minute, -2 C", "{now},9,60,-2,,,,,,,"),
        (
            ["9", "--note", 'cold, "very"'],
            '9 in 1 min = 9.0 a minute, "cold, "very""',
            '{now},9,60,,,,,,,"cold, ""very""",',
        ),
    ],
)
def test_a_count_is_written_down_and_said_back(run, fig, words, echo, row):
    before = fig.read_bytes()
    said = run("tally", "fig", *words)
    assert said.out == f"fig: {echo}, on 25 Nov 2026 21:45. Line 4.\n"
    assert said.code == 0
    assert last_row(fig) == row.format(now="2026-11-25T21:45:00+01:00")
    assert fig.read_bytes().startswith(before)


@pytest.mark.parametrize(
    ("when", "written"),
    [
        ("yesterday 21:30", "2026-11-24T21:30:00+01:00"),
        ("20:15", "2026-11-25T20:15:00+01:00"),
        ("2026-10-20T21:00", "2026-10-20T21:00:00+02:00"),  # summer time still
        ("2026-11-24T20:30Z", "2026-11-24T20:30:00+00:00"),
        ("2026-11-24", "2026-11-24T21:45:00+01:00"),
        ("day 12", "2026-10-13T18:00:00+02:00"),
    ],
)
def test_the_moment_of_a_count_can_be_said_in_many_ways(run, fig, when, written):
    assert run("tally", "fig", "9", "--when", when).code == 0
    assert last_row(fig).startswith(f"{written},9,60,")


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (
            [],
            "give one of the two: a count (12 --over 90s), or the time between bubbles "
            "(--every 55s)",
        ),
        (["12", "--every", "55s"], "give one of the two: a count"),
        (["--every", "55s", "--over", "5m"], "leave --over out"),
        (["twelve"], "write 12 in 90s, one every 55s"),
        (["12 in 90s", "--over", "5m"], "already says how long"),
        (["3.2"], "count for longer"),
        (["12", "--over", "soon"], "write 55s, 5m or 1m30s"),
        (["12", "--temp", "200"], "write it like 18.5 or 65F"),
        (["12", "--when", "3/4/2026"], "can be read two ways"),
        (["12", "--note", "a\0b"], "a note holds no NUL"),
    ],
)
def test_a_count_that_cannot_be_understood_is_not_written(run, fig, words, advice):
    before = fig.read_bytes()
    assert advice in refused(run("tally", "fig", *words))
    assert fig.read_bytes() == before


# --- gravity and events --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "sg"),
    [
        (["1.004"], "1.004"),
        (["1004"], "1.004"),
        ([".996"], "0.996"),
        (["1,004"], "1.004"),
        (["--oechsle", "4"], "1.004"),
        # CRC Handbook, sucrose at 20 C (reference/sucrose_brix_sg.csv): 1002.1 / 998.2 kg/m3
        (["--brix", "1.0"], "1.0039"),
    ],
)
def test_a_gravity_is_written_however_it_was_read(run, fig, words, sg):
    said = run("gravity", "fig", *words, "--sample-temp", "17")
    assert said.out == f"fig: sampled, gravity {sg} at 17 C, on 25 Nov 2026 21:45. Line 4.\n"
    assert (said.code, said.err) == (0, "")
    assert last_row(fig) == f"2026-11-25T21:45:00+01:00,,,,,{sg},17,sampled,,,"


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        ([], "give one gravity"),
        (["1.004", "--brix", "1.0"], "give one gravity"),
        (["--oechsle", "4", "--brix", "1.0"], "give one gravity"),
        (["4"], "4 Oechsle is 1.004"),
        (["--brix", "sweet"], 'Brix is "sweet"; write a plain number'),
        (["--brix", "90"], "outside"),
        (["--oechsle", "900"], "Oechsle 900 is outside -300 to 300"),
    ],
)
def test_a_gravity_that_cannot_be_understood_is_not_written(run, fig, words, advice):
    before = fig.read_bytes()
    assert advice in refused(run("gravity", "fig", *words))
    assert fig.read_bytes() == before


@pytest.mark.parametrize(
    ("what", "event"),
    [("racked", "racked"), ("RACKED", "racked"), ("Topped up", "topped-up")],
)
def test_an_event_is_written_whatever_its_capitals(run, fig, what, event):
    said = run("event", "fig", what, "--litres", "4.3")
    assert said.out == f"fig: {event}, 4.3 litres, on 25 Nov 2026 21:45. Line 4.\n"
    assert last_row(fig) == f"2026-11-25T21:45:00+01:00,,,,,,,{event},4.3,,"


def test_an_unknown_event_is_answered_with_what_may_have_been_meant(run, fig):
    assert refused(run("event", "fig", "raked")) == 'no event "raked"; did you mean racked?'
    assert "write one of pitched, sampled, fed" in refused(run("event", "fig", "sung to"))


@pytest.mark.parametrize(
    ("words", "question"),
    [
        (
            ["tally", "fig", "120"],
            "ten or more times the last count that had bubbles (9.0 a minute)",
        ),
        (["gravity", "fig", "1.3"], "outside the range of wine"),
        (["event", "fig", "racked", "--when", "2026-12-24"], "is in the future"),
        (["tally", "fig", "9", "--when", "2026-09-24"], "is before the start"),
    ],
)
def test_what_looks_like_a_slip_is_written_and_asked_about(run, fig, words, question):
    said = run(*words)
    assert said.code == 0
    asked, remedy = said.err.splitlines()
    assert asked.startswith("  Is that right? ")
    assert question in asked
    assert remedy == "  If not: bubblerate strike fig 4"
    assert run(*remedy.partition("bubblerate ")[2].split()).code == 0
    assert [visit.line for visit in read(fig).visits if visit.struck] == [4]


def test_a_command_to_type_next_names_a_shelf_that_is_not_the_usual_one(run, tmp_path):
    folder = tmp_path / "my jars"
    there = ("--shelf", str(folder))
    first = run("start", "fig", "--litres", "4.5", *there)
    assert f'bubblerate tally fig 12 --over 90s --shelf "{folder.as_posix()}"\n' in first.out
    struck = run("strike", str(folder / "fig.csv"), "2")
    assert struck.out.endswith(f'strike fig 2 --back --shelf "{folder.as_posix()}"\n')
    doubted = run("gravity", "fig", "0.970", *there)
    assert f'strike fig 3 --shelf "{folder.as_posix()}"' in doubted.err
    lost = run("verdict", "fig", "--shelf", str(tmp_path / "jras"))
    assert "(there is no such folder); start one: bubblerate start fig --shelf " in lost.err


# --- diary and strike ----------------------------------------------------------------------------


def test_a_diary_is_shown_with_the_lines_that_strike_takes(run, fig):
    run("tally", "fig", "12", "--over", "90s", "--note", "wrong jar")
    assert run("strike", "fig", "4").out == (
        'fig: struck line 4: 12 in 90 s = 8.0 a minute, "wrong jar", on 25 Nov 2026 21:45.\n'
        "  To undo that: bubblerate strike fig 4 --back\n"
    )
    said = run("diary", "fig")
    assert said.code == 0
    assert re.fullmatch(
        r"4 +25 Nov 2026 21:45 +12 in 90 s +8\.00 +STRUCK wrong jar", said.out.splitlines()[-1]
    )


def test_strike_changes_one_cell_of_one_row(run, fig):
    before = fig.read_text().splitlines()
    run("strike", "fig", "3")
    after = fig.read_text().splitlines()
    assert after == [*before[:2], before[2] + "2026-11-25T21:45:00+01:00"]


def test_the_last_row_to_strike_is_the_last_one_written(run, fig):
    run("tally", "fig", "9", "--when", "2026-11-01")
    assert run("strike", "fig", "last").out.startswith("fig: struck line 4: 9 in 1 min")
    assert run("strike", "fig", "Last").out.startswith("fig: struck line 3: 9 in 1 min")


@pytest.mark.parametrize(
    ("line", "advice"),
    [
        ("99", "fig.csv:99: no row starts on this line"),
        ("1", "fig.csv:1: no row starts on this line"),
        ("3.5", "no line '3.5' in fig.csv; write a number that diary shows"),
        ("none", "no line 'none'"),
        ("9" * 5000, "no line"),
    ],
)
def test_a_line_that_is_not_there_cannot_be_struck(run, fig, line, advice):
    before = fig.read_bytes()
    assert advice in refused(run("strike", "fig", line))
    assert fig.read_bytes() == before


def test_a_row_is_struck_once_and_the_last_of_none_is_refused(run, fig):
    run("strike", "fig", "3")
    assert "fig.csv:3: was already struck" in refused(run("strike", "fig", "3"))
    run("strike", "fig", "2")
    assert refused(run("strike", "fig", "last")).startswith("no line 'last' in fig.csv")


# --- verdict -------------------------------------------------------------------------------------


def test_a_verdict_is_told_in_words(run, jars):
    said = run("verdict", "quince", "--shelf", str(jars), "--at", LAST["quince"])
    assert re.match(r"quince: rack it\? Yes\. +14 Nov 2026 20:46\n\n  GO    ", said.out)
    assert (said.code, said.err) == (0, "")
    said = run("verdict", "quince", "--on", "bottling", "--shelf", str(jars), "--at", "2026-11-14")
    assert re.match(r"quince: bottle it\? Not yet\. +14 Nov 2026 23:59\n\n  WAIT  ", said.out)


@pytest.mark.parametrize("vessel", ["quince", "chestnut-honey-mead"])
@pytest.mark.parametrize("question", ["racking", "bottling"])
def test_a_verdict_as_json_has_the_agreed_keys_and_no_other(run, jars, vessel, question):
    words = ("--on", question, "--json", "--shelf", str(jars), "--at", "2026-11-14T22:00")
    found = whole(run("verdict", vessel, *words).out)
    assert shape(found) == OBJECT
    assert [*found] == [*OBJECT]
    assert (found["vessel"], found["question"]) == (vessel, question)
    assert found["verdict"] in {"go", "wait"}
    assert found["asked_at"] == "2026-11-14T22:00:00+01:00"
    for name in TIMES:
        when = found["crossing"][name]
        assert when is None or datetime.fromisoformat(when).utcoffset() is not None


def test_what_is_not_known_is_null_in_json(run, fig):
    found = whole(run("verdict", "fig", "--json", "--at", "day 1").out)
    assert {key for key, value in found.items() if value is None} == {
        *("rate", "crossing", "bubble_ml")
    }
    assert shape(found["gravity"]) == OBJECT["gravity"] | {
        "predicted_finish": None,
        "points_left": None,
    }
    assert found["gravity"]["steady"] is None


@pytest.mark.parametrize(("vessel", "code"), [("quince", 0), ("perry-pear", 1)])
def test_check_puts_the_answer_into_the_exit_code(run, jars, vessel, code):
    words = ("verdict", vessel, "--shelf", str(jars), "--at", LAST[vessel])
    checked = run(*words, "--check")
    assert (checked.code, checked.err) == (code, "")
    assert checked.out == run(*words).out
    assert run(*words).code == 0  # wait is an answer
    assert run(*words, "--check", "--json").code == code


@pytest.mark.parametrize(
    ("at", "moment"),
    [
        ("2026-10-29T21:00", "2026-10-29T21:00:00+01:00"),
        ("2026-11-08", "2026-11-08T23:59:59+01:00"),  # all of that day
        ("day 36", "2026-11-08T15:30:00+01:00"),  # pitched on 3 October, by Berlin at 16:30
        ("day 5.5", "2026-10-09T04:30:00+02:00"),
    ],
)
def test_a_verdict_of_a_past_moment_uses_no_later_row(run, jars, tmp_path, at, moment):
    whole_answer = run("verdict", "quince", "--json", "--shelf", str(jars), "--at", at).out
    header, *rows = (jars / "quince.csv").read_text().splitlines()
    asked_at = datetime.fromisoformat(moment)
    kept = [r for r in rows if datetime.fromisoformat(r.partition(",")[0]) <= asked_at]
    assert 0 < len(kept) < len(rows)
    cut = tmp_path / "cut"
    cut.mkdir()
    shutil.copy(jars / "bubblerate.toml", cut)
    (cut / "quince.csv").write_text("\n".join([header, *kept, ""]))
    assert whole(whole_answer)["asked_at"] == moment
    assert run("verdict", "quince", "--json", "--shelf", str(cut), "--at", at).out == whole_answer


def test_without_a_moment_the_verdict_is_of_now(run, fig):
    assert re.match(r"fig: rack it\? Not yet\. +25 Nov 2026 21:45\n", run("verdict", "fig").out)


def test_the_threshold_is_one_or_that_of_the_settings_or_the_one_asked_for(run, jars):
    def threshold(*words: str) -> float:
        at = ("--json", "--shelf", str(jars), "--at", LAST["quince"])
        return whole(run("verdict", "quince", *at, *words).out)["crossing"]["threshold_per_min"]

    assert threshold() == 1.0
    (jars / "bubblerate.toml").write_text("[threshold]\nper_min = 0.5\n")
    assert threshold() == 0.5
    assert threshold("--below", "2,5") == 2.5


def test_a_lower_threshold_is_crossed_later(run, jars):
    dates = []
    for below in ("4", "1", "0.25"):
        words = ("--json", "--shelf", str(jars), "--at", "2026-10-29", "--below", below)
        dates.append(whole(run("verdict", "quince", *words).out)["crossing"]["median"])
    assert dates == sorted(dates)
    assert len({*dates}) == 3


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (["--below", "0"], "write bubbles a minute, 0.001"),
        (["--below", "-1"], "write bubbles a minute, 0.001"),
        (["--below", "few"], '--below is "few"'),
        (["--at", "2226-11-25"], "more than ten years ahead"),
        (["--at", "soon"], "write 2026-11-24"),
    ],
)
def test_a_question_that_makes_no_sense_is_refused(run, fig, words, advice):
    for command in ("verdict", "plot"):
        assert advice in refused(run(command, "fig", *words))


# --- plot and demo -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("suffix", "start"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")]
)
def test_a_picture_is_drawn_where_it_was_asked_for(run, jars, tmp_path, suffix, start):
    path = tmp_path / f"tail{suffix}"
    said = run("plot", "quince", "-o", str(path), "--shelf", str(jars), "--at", LAST["quince"])
    assert said == Said(0, f"quince: picture saved as {path}\n", "")
    assert path.read_bytes().startswith(start)


def test_a_picture_without_a_name_is_called_after_its_vessel(run, fig, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run("plot", "fig", "--axis", "linear").out == "fig: picture saved as fig.png\n"
    assert (tmp_path / "fig.png").exists()


@pytest.mark.parametrize(
    ("name", "advice"),
    [
        ("tail.gif", "tail.gif: a picture ends in .png, .svg, .pdf"),
        ("nowhere/tail.png", "cannot be written: No such file or directory"),
        ("shelf/fig.csv/tail.png", "cannot be written: Not a directory"),
    ],
)
def test_a_picture_that_cannot_be_saved_is_refused(run, fig, tmp_path, name, advice):
    assert advice in refused(run("plot", "fig", "-o", str(tmp_path / name)))


def test_the_demo_answers_for_every_jar_and_leaves_the_examples_alone(run, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    before = {path: path.read_bytes() for path in EXAMPLES.iterdir() if path.is_file()}
    said = run("demo")
    assert (said.code, said.err) == (0, "")
    names = sorted(path.stem for path in EXAMPLES.glob("*.csv"))
    assert re.findall(r"^(\S+): (?:rack|bottle) it\?", said.out, re.MULTILINE) == names
    (folder,) = (Path(line) for line in re.findall(r"pictures are in (\S+)", said.out))
    assert folder.parent == tmp_path
    assert sorted(path.stem for path in folder.glob("*.png")) == names
    assert before == {path: path.read_bytes() for path in before}
    (hint,) = re.findall(r"^Try: \S*bubblerate (.+)$", said.out, re.MULTILINE)
    assert "  GO  " in run(*hint.split()).out


# --- a diary with a fault ------------------------------------------------------------------------

GOOD = "2026-11-20T21:00:00+01:00,9,60,18,1013,1.004,18,sampled,4.5,a note,"
FAULTS = {
    "when": GOOD.replace("2026-11-20T21:00:00+01:00", "20/11/2026"),
    "bubbles": GOOD.replace(",9,", ",a few,"),
    "seconds": GOOD.replace(",60,", ",1 min,"),
    "temp_c": GOOD.replace(",60,18,", ",60,65F,"),
    "pressure_hpa": GOOD.replace(",1013,", ",29.9,"),
    "sg": GOOD.replace(",1.004,", ",1004,"),
    "sample_c": GOOD.replace(",18,sampled", ",64,sampled"),
    "event": GOOD.replace("sampled", "sampeld"),
    "litres": GOOD.replace(",4.5,", ",1 gal,"),
    "number of cells": GOOD + ",",
    "NUL": GOOD.replace("a note", "a\0note"),
    "quote": GOOD.replace("a note", '"a note'),
    "not UTF-8": GOOD.replace("a note", "a n\udcf6te"),  # a lone byte F6, as old programs write it
}
FAULTY_HEADS = {
    "tabs": ("when\tbubbles", "2026-11-20\t9"),
    "has no column when or day": ("2026-11-20,9", "2026-11-21,8"),
    "is empty": ("", ""),
    "appears twice": ("when,bubbles,bubbles", "2026-11-20,9,8"),
    "day": ("day,bubbles", "soon,9"),
}


def spoilt(path: Path, *lines: str) -> bytes:
    data = "\n".join([*lines, ""]).encode(errors="surrogateescape")
    path.write_bytes(data)
    return data


@pytest.mark.parametrize("fault", FAULTS)
def test_a_bad_cell_is_named_with_its_line_and_nothing_is_answered(run, fig, fault):
    before = spoilt(fig, HEADER, GOOD, FAULTS[fault])
    line = refused(run("verdict", "fig"))
    assert line.startswith("fig.csv:3: ")
    assert fault in line
    assert fig.read_bytes() == before


@pytest.mark.parametrize("fault", FAULTY_HEADS)
def test_a_bad_header_is_named_and_nothing_is_answered_or_written(run, fig, fault):
    before = spoilt(fig, *FAULTY_HEADS[fault])
    for words in (["verdict", "fig"], ["tally", "fig", "12"], ["diary", "fig"]):
        line = refused(run(*words))
        assert line.startswith("fig.csv")
        assert fault in line
    assert fig.read_bytes() == before


@pytest.mark.parametrize("fault", FAULTS)
def test_a_bad_cell_further_up_does_not_cost_a_count(run, fig, fault):
    before = spoilt(fig, HEADER, FAULTS[fault])
    said = run("tally", "fig", "12")
    assert said.code == 0
    closed = b'"\n' if fault == "quote" else b""  # or the row would fall into the open cell
    line = 4 if closed else 3
    assert said.out == f"fig: 12 in 1 min = 12 a minute, on 25 Nov 2026 21:45. Line {line}.\n"
    told = "bubblerate: written, but there is something to fix: fig.csv:2: "
    assert said.err.startswith(told)
    assert len(said.err.splitlines()) == 1
    assert fig.read_bytes() == before + closed + b"2026-11-25T21:45:00+01:00,12,60,,,,,,,,\n"


def test_a_bad_setting_of_a_jar_costs_neither_a_count_nor_a_verdict_and_is_named(run, fig):
    (fig.parent / "bubblerate.toml").write_text("[vessel.fig]\nfinnish = 0.996\n")
    said = run("tally", "fig", "12")
    assert said.code == 0
    assert "something to fix: bubblerate.toml: vessel.fig.finnish is not a known key" in said.err
    assert last_row(fig).startswith("2026-11-25T21:45:00+01:00,12,")
    for words in (("verdict", "fig"), ("shelf",), ("diary", "fig")):
        said = run(*words)
        assert said.code == 0
        assert "bubblerate.toml: vessel.fig.finnish is not a known key" in said.err
        assert said.err.rstrip().endswith("it is left out")


def test_a_bad_setting_of_all_jars_stops_a_verdict_but_no_count(run, fig):
    (fig.parent / "bubblerate.toml").write_text("[threshold]\nper_min = 0\n")
    said = run("tally", "fig", "12")
    assert said.code == 0
    assert "something to fix: bubblerate.toml: threshold.per_min" in said.err
    assert refused(run("verdict", "fig")).startswith("bubblerate.toml: threshold.per_min")


# --- a diary that counts days --------------------------------------------------------------------


def test_a_diary_of_days_takes_a_day_and_answers_for_a_day(run, fig):
    spoilt(fig, "day,bubbles", "0,12", "1,11", "2,10")
    assert run("tally", "fig", "9", "--when", "day 3").code == 0
    assert fig.read_text().splitlines()[-1] == "3,9"
    for day, basis in (("day 1", "whole ferments"), ("day 3", "tail and whole ferments")):
        found = whole(run("verdict", "fig", "--json", "--at", day).out)
        assert found["rate"]["per_min"] > 5.0
        assert found["crossing"]["basis"] == basis


def test_a_diary_of_days_alone_asks_for_the_calendar(run, fig):
    before = spoilt(fig, "day,bubbles", "0,12", "1,11")
    assert refused(run("tally", "fig", "9")) == (
        "fig.csv counts days; say when day 0 was, e.g. pitched = 2026-10-01 in bubblerate.toml"
    )
    assert fig.read_bytes() == before


def test_a_diary_of_days_finds_its_calendar_in_the_settings(run, fig):
    (fig.parent / "bubblerate.toml").write_text("[vessel.fig]\npitched = 2026-11-19T21:45:00\n")
    spoilt(fig, "day,bubbles", "3,12", "4,11")
    assert run("tally", "fig", "10").out.endswith("on 25 Nov 2026 21:45. Line 4.\n")
    assert run("tally", "fig", "9", "--when", "day 6.5").out.endswith(
        "26 Nov 2026 09:45. Line 5.\n"
    )
    assert fig.read_text().splitlines()[-2:] == ["6,10", "6.5,9"]
    at_day_4 = whole(run("verdict", "fig", "--json", "--at", "day 4").out)
    assert at_day_4["asked_at"] == "2026-11-23T21:45:00+01:00"


# --- which diary ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        *("../fig", "a/b", "a\\b", "..", ".", ".fig", "-", "", " ", " fig", "fig ", "fig."),
        *("a\x07b", "a\nb", "a\0b", "a\x1b[31mb", "a\u2028b", "a:b", "a*", "x" * 200),
    ],
)
@pytest.mark.parametrize("command", ["start", "tally", "verdict"])
def test_a_name_that_is_no_plain_name_is_refused(run, tmp_path, name, command):
    words = ["--", name, "12"] if command == "tally" else ["--", name]
    line = refused(run(command, *words))
    assert line.startswith("a jar's name has up to 80 letters, digits, spaces")
    assert line.isprintable()
    assert not [*tmp_path.iterdir()]


@pytest.mark.parametrize(
    "name", ["fig", "Fig 2", "poiré", "old-fig_3", "aunt's", "7", "梅", "x" * 80]
)
def test_a_plain_name_in_any_script_will_do(run, tmp_path, name):
    assert run("start", name).code == 0
    assert run("tally", name, "12").code == 0
    assert [path.name for path in (tmp_path / "shelf").glob("*.csv")] == [f"{name}.csv"]


def test_a_path_that_ends_in_csv_is_taken_as_it_is(run, tmp_path):
    path = tmp_path / "elsewhere" / "fig.csv"
    assert run("start", str(path)).code == 0
    assert run("tally", str(path), "12").out.startswith("fig: 12 in 1 min")
    assert len(read(path).visits) == 2


def test_the_shelf_is_the_one_named_else_that_of_the_environment_else_at_home(
    run, tmp_path, monkeypatch
):
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    run("start", "fig", "--shelf", str(tmp_path / "named"))
    run("start", "fig")
    monkeypatch.setenv("BUBBLERATE_SHELF", "~/by tilde")
    run("start", "fig")
    monkeypatch.delenv("BUBBLERATE_SHELF")
    run("start", "fig")
    found = {str(path.parent.relative_to(tmp_path)) for path in tmp_path.rglob("fig.csv")}
    assert found == {"named", "shelf", "home/by tilde", "home/bubblerate"}


@pytest.mark.parametrize("words", [["tally", "12"], ["diary"], ["verdict"], ["strike", "last"]])
def test_a_diary_that_is_not_there_is_answered_with_names_that_are(run, fig, words):
    command, *rest = words
    assert refused(run(command, "figg", *rest)).endswith("; did you mean fig?")
    assert "(there are fig); start one: bubblerate start rowan" in refused(
        run(command, "rowan", *rest)
    )
    assert [path.name for path in fig.parent.glob("*.csv")] == ["fig.csv"]


# --- wrong words ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (["tally"], "Missing argument"),
        (["event", "fig"], "Missing argument"),
        (["strike", "fig"], "Missing argument"),
        (["tally", "fig", "12", "--ovr", "90s"], "--over"),
        (["tally", "fig", "-x"], "No such option: -x"),
        (["tally", "fig", "12", "13"], "Too many words"),
        (["tally", "fig", "12", "--temp"], "requires an argument"),
        (["--brew", "fig"], "No such option: --brew"),
        (["verdict", "fig", "--on", "drinking"], "'racking', 'bottling'"),
        (["plot", "fig", "--axis", "cubic"], "'log', 'linear'"),
    ],
)
def test_wrong_usage_is_one_line_that_says_where_help_is(run, fig, words, advice):
    before = fig.read_bytes()
    line = refused(run(*words))
    assert advice in line
    assert line.endswith("--help)")
    assert fig.read_bytes() == before


# One mistake of typing, or more, at each command.
MISTYPED = [
    *(["start"], ["start", "plum", "--litres", "a lot"], ["start", "plum", "--when", "soon"]),
    *(["tally", "fig", "twelve"], ["tally", "fig", "12", "--shelf"], ["tally", "fog", "12"]),
    *(["tap"], ["tap", "fig", "--when", "soon"], ["tap", "fig", "--temp", "warm"], ["tap", "fog"]),
    *(["gravity", "fig", "sweet"], ["gravity", "fig", "--brix"], ["gravity", "fog", "1.004"]),
    *(["event", "fig", "raked"], ["event", "fig", "racked", "4.3"], ["event", "fog", "racked"]),
    *(["diary"], ["diary", "fig", "--as", "poem"], ["diary", "fog"]),
    *(["strike", "fig"], ["strike", "fig", "first"], ["strike", "fig", "3", "99"]),
    *(["round", "fig"], ["round", "--when", "soon"], ["round", "--shelf", __file__]),
    *(["shelf", "fig"], ["shelf", "--width", "wide"], ["shelf", "--workers", "x"]),
    *(["listen"], ["listen", "no.wav"], ["listen", "no.wav", "--when", "soon"]),
    *(["verdict"], ["verdict", "fig", "--on", "drinking"], ["verdict", "fig", "--at", "soon"]),
    *(["plot", "fig", "-o", "tail.gif"], ["plot", "fig", "--width", "3"], ["plot", "fog"]),
    *(["backtest", "--below", "few"], ["backtest", "fog"], ["backtest", "--json", "--csv"]),
    *(["after", "fog"], ["after", "fig", "--ics", "plan.txt"], ["after", "fig", "--at", "soon"]),
    *(["label", "fog"], ["label", "fig", "-o", "l.gif"], ["label", "fig", "-o"]),
    *(["split", "fig"], ["split", "fog", "--into", "b", "--litres", "1"]),
    *(["join", "fig"], ["join", "fig", "fog", "--into", "c"]),
    *(["top-up", "fig"], ["top-up", "fig", "--from", "fog", "--litres", "0.1"]),
    *(["about", "fog"], ["about", "fig", "--ph", "sour"], ["about", "fig", "--stile", "perry"]),
    *(["phone", "--port", "x"], ["phone", "--prot", "4"], ["phone", "fig"]),
    *(["words", "wrods"], ["guide", "fog"], ["guide", "fig", "--on", "haez"]),
    *(["dose", "fog", "sulphite"], ["dose", "fig", "sorbat"], ["dose", "fig"]),
    *(["bottling-day", "fog"], ["bottling-day"], ["cellar", "fig"]),
    *(["sheet", "fog"], ["sheet", "fig", "-o", "s.gif"]),
    *(["demo", "fig"], ["demo", "--shelf", str(EXAMPLES)]),
    *(["import"], ["import", "no.csv", "--into", "fig"], ["import", "no.csv", "--year", "12"]),
    *(["--versoin"], ["taly", "fig", "12"]),
]


@pytest.mark.parametrize("words", MISTYPED, ids=" ".join)
def test_a_mistake_of_typing_is_one_line_and_changes_nothing(run, fig, tmp_path, words):
    before = fig.read_bytes()
    said = run(*words)
    assert said.code == 2
    lines = 1 + (words == ["backtest", "fog"])  # which jar, and that none is left to look back on
    assert re.fullmatch(rf"(?:bubblerate: [^\n]+\n){{{lines}}}", said.err), said.err
    assert fig.read_bytes() == before
    assert [path.name for path in fig.parent.iterdir()] == ["fig.csv"]


def test_every_command_is_mistyped_above():
    assert {words[0] for words in MISTYPED} >= {*_HOME}


WRITERS = [
    (["tally", "fig", "12"], "12,60,"),
    (["gravity", "fig", "1.004"], ",,,,1.004,"),
    (["event", "fig", "racked"], ",,,,,,racked,"),
]


@pytest.mark.parametrize(("words", "cells"), WRITERS)
def test_a_row_goes_to_the_shelf_and_the_moment_that_were_named(run, tmp_path, words, cells):
    there = ("--shelf", str(tmp_path / "cellar"), "--when", "yesterday 21:00")
    run("start", "fig", *there)
    assert run(*words, *there).code == 0
    row = last_row(tmp_path / "cellar" / "fig.csv")
    assert row.startswith(f"2026-11-24T21:00:00+01:00,{cells}")


@pytest.mark.parametrize("command", _HOME)
def test_every_command_takes_a_shelf_and_every_writer_a_moment(run, command):
    text = run(command, "--help").out
    assert ("--shelf <path>" in text) is (command != "words")  # which reads no diary
    writers = {"start", "tally", "tap", "gravity", "event", "round", "listen"}
    writers |= {"split", "join", "top-up"}
    assert ("--when <str>" in text) is (command in writers)


def test_the_version_is_printed(run):
    assert run("--version") == (0, f"bubblerate {bubblerate.__version__}\n", "")


def test_the_demo_is_laid_out_in_a_new_folder_of_the_makers_choice(run, tmp_path, monkeypatch):
    folder, few = tmp_path / "try", tmp_path / "few"
    few.mkdir()
    for name in ("quince.csv", "bubblerate.toml"):  # all of them are in the demo without a name
        shutil.copy(EXAMPLES / name, few)
    monkeypatch.setattr("bubblerate.cli.answers._examples", lambda: few)
    said = run("demo", "--shelf", str(folder))
    assert said.code == 0
    assert f"Diaries and pictures are in {folder}\n" in said.out
    assert (folder / "quince.csv").exists()


def test_a_refusal_is_one_line_even_of_a_path_that_is_two(run, tmp_path):
    assert refused(run("diary", str(tmp_path / "fi\ng" / "a.csv"))).startswith("no diary a.csv in ")


def test_no_words_at_all_show_the_help_with_every_command(run):
    said = run()
    assert (said.code, said.err) == (0, "")
    for command in COMMANDS:
        assert re.search(rf"^  {command} ", said.out, re.MULTILINE)
        assert "bubblerate " + command in run(command, "--help").out  # usage and an example


def test_a_break_from_the_keyboard_is_no_traceback(run, fig, monkeypatch):
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(shelf, "read", interrupted)
    before = fig.read_bytes()
    said = run("tally", "fig", "12")
    assert said.code == 130
    assert "Traceback" not in said.err
    assert fig.read_bytes() == before
