"""What a person, a club's shared folder or a stranger's file may hand in, and what comes of it."""

import csv
import io
import os
import re
import subprocess
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pandas
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bubblerate.course.judgement import judge
from bubblerate.diary import counts as counted
from bubblerate.diary import event_names, units
from bubblerate.diary import times as moments
from bubblerate.diary.csv_rows import LONGEST_CELL, guarded, unguarded
from bubblerate.diary.folder import Unread
from bubblerate.diary.names import look, why_no_name
from bubblerate.diary.reading import read
from bubblerate.diary.settings_file import settings as settings_of
from bubblerate.diary.tables import cells
from bubblerate.diary.tables.headings import columns
from bubblerate.diary.tables.sheet import sheet
from bubblerate.diary.tables.visits import entries
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import append, create, extend
from bubblerate.errors import BubbleRateError, ConfigError, DiaryError
from bubblerate.shelf import tables as frames
from bubblerate.shelf.overview import Count, line
from bubblerate.show.shelf_text import shelf_csv

from scenes import diary, evening

EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=UTC)


def refused(said) -> str:
    """The one line on stderr of a command that was refused."""
    assert (said.code, said.out) == (2, "")
    line = said.err.removeprefix("bubblerate: ").removesuffix("\n")
    assert line.isprintable()
    return line


def answer(read, given) -> str:
    """What a reader makes of something: nothing that is told here, or one line."""
    try:
        read(given)
    except BubbleRateError as err:
        return str(err)
    return ""


# --- cells that a spreadsheet would take for a formula -------------------------------------------

# The signs and the separators to mind are those of OWASP's page "CSV Injection" (from memory).
FORMULAS = [
    *("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", "\N{NO-BREAK SPACE}=1"),
    *("\uff1d1", "\uff0b1", "\uff0d1", "\uff201", "'=1", "''=1", "' =1", "x;=1", "x\t@y", "a\n- b"),
    *("=cmd|' /C calc'!A0", '=HYPERLINK("x")', "x; '=1", ";;=;="),
]
HARMLESS = ["clear", "'tis clear", "a = b", "1-2", "x;y", "'", "", "a\n\nb", "it's -2 C", "\t"]
STARTS = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
NOTES = st.text(
    st.sampled_from("=+-@'\t\r\n; \uff1d\uff0b\uff0d\uff20ab,\"\xa0\v\x85")
    | st.characters(exclude_categories=["Cs"], exclude_characters="\0"),
    max_size=30,
)


def parts(text: str) -> list[str]:
    """Cells that a spreadsheet may make of one, by whatever it takes for their separator."""
    return [part for mark in ("\n", ";", "\t", "\r", "[;\t\r\n]") for part in re.split(mark, text)]


@pytest.mark.parametrize("note", FORMULAS)
def test_no_note_is_a_formula_in_the_file_and_each_is_read_back(tmp_path, note):
    path = tmp_path / "fig.csv"
    create(path, Visit(when=EVENING, note=note))
    append(path, Visit(when=EVENING, note=note, struck=note))
    extend(path, [Visit(when=EVENING, temp_c=-2.5, note=note)], held=read(path).visits)
    rows = [*csv.DictReader(io.StringIO(path.read_bytes().decode(), newline=""))]
    for row in rows:
        assert not [part for part in parts(row["note"] + ";" + row["struck"]) if STARTS.match(part)]
    assert rows[2]["temp_c"] == "-2.5"  # a number is none
    visits = read(path).visits
    assert [(v.note, v.struck) for v in visits] == [(note, ""), (note, note), (note, "")]


@pytest.mark.parametrize("note", HARMLESS)
def test_any_other_note_is_written_as_it_is(note):
    assert guarded(note) == unguarded(note) == note


@settings(max_examples=500)
@given(NOTES)
def test_guarding_can_be_undone_whatever_the_note(note):
    kept = guarded(note)
    assert unguarded(kept) == note
    assert not [part for part in parts(kept) if STARTS.match(part)]


@pytest.mark.parametrize("note", ["\t" * LONGEST_CELL, "';" * 60_000, "=;" * 40_000, "' " * 60_000])
def test_guarding_a_long_run_can_be_undone(note):
    assert unguarded(guarded(note)) == note


def test_the_longest_note_has_room_for_its_apostrophe(tmp_path):
    with pytest.raises(ValueError, match="131072 characters"):
        Visit(when=EVENING, note="=" * LONGEST_CELL)
    longest = Visit(when=EVENING, note="=" * (LONGEST_CELL - 1))
    create(tmp_path / "fig.csv", longest)
    assert read(tmp_path / "fig.csv").visits[0].note == longest.note


def test_a_diary_taken_over_as_a_table_has_the_same_notes(tmp_path):
    path = tmp_path / "fig.csv"
    create(path, Visit(when=EVENING, bubbles=9, note="=1; -2"))
    table = sheet("fig.csv", path.read_bytes())
    assert [visit.note for visit in entries(table, [EVENING]).visits] == ["=1; -2"]


def test_the_shelf_as_csv_holds_no_formula_but_negative_numbers():
    shown = line(judge(diary({"day": 0, "bubbles": 9}, vessel="=cmd"), at=evening(1)))
    negative = Count(at=evening(0), bubbles=9, seconds=60.0, per_min=-1.5)
    page = shelf_csv([replace(shown, last=negative), Unread(vessel="fig", error="-x")])
    rows = [*csv.DictReader(io.StringIO(page))]
    assert [row["vessel"] for row in rows] == ["'=cmd", "fig"]
    assert (rows[0]["per_min"], rows[1]["error"]) == ("-1.5", "'-x")


# --- files that are far too large, or no files ---------------------------------------------------


@pytest.mark.skipif(sys.platform == "win32", reason="no limit of memory can be set there")
@pytest.mark.parametrize("words", [["diary"], ["tally", "3"], ["strike", "2"]])
def test_a_diary_of_a_gigabyte_is_refused_within_little_memory(tmp_path, words):
    import resource

    (tmp_path / "fig.csv").write_bytes(b"when,bubbles\n")
    os.truncate(tmp_path / "fig.csv", 1024**3)  # a hole, which takes no room on the disk
    command, *rest = words
    done = subprocess.run(
        [sys.executable, "-m", "bubblerate", command, str(tmp_path / "fig.csv"), *rest],
        capture_output=True,
        text=True,
        timeout=600,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (400 * 1024**2,) * 2),
    )
    assert done.returncode == 2
    assert done.stderr == ("bubblerate: fig.csv: is larger than 64 MB; keep one jar's rows in it\n")


def test_a_diary_of_too_many_lines_is_refused(tmp_path):
    path = tmp_path / "fig.csv"
    path.write_bytes(b"when,bubbles\n" + b"\n" * 500_001)
    with pytest.raises(DiaryError, match=r"^fig\.csv: has more than 500000 lines;"):
        read(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes in folders are of POSIX")
@pytest.mark.parametrize("kind", ["pipe", "device"])
def test_what_is_no_file_is_neither_waited_for_nor_read_without_end(run, tmp_path, kind):
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    for name in ("fig.csv", "bubblerate.toml"):
        if kind == "pipe":
            os.mkfifo(shelf / name)
        else:
            (shelf / name).symlink_to("/dev/zero")
    with pytest.raises(ConfigError, match="is a device or a pipe, not a file"):
        settings_of(shelf)
    assert "bubblerate.toml: is a device or a pipe" in refused(run("diary", "fig"))
    (shelf / "bubblerate.toml").unlink()
    for words in (["diary", "fig"], ["tally", "fig", "3"], ["verdict", "fig"]):
        assert refused(run(*words)).startswith("fig.csv: is a device or a pipe, not a file")


def test_a_link_that_leads_nowhere_or_to_itself_is_named(run, tmp_path):
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    (shelf / "loop.csv").symlink_to("loop.csv")
    (shelf / "gone.csv").symlink_to(tmp_path / "elsewhere.csv")
    for name in ("loop", "gone"):
        assert "is a broken link" in refused(run("tally", name, "3"))
    assert "points to itself" in refused(run("start", "loop"))
    assert "already exists" in refused(run("start", "gone"))
    assert not (tmp_path / "elsewhere.csv").exists()


def test_an_answer_of_the_round_without_end_is_asked_again(run, tmp_path, monkeypatch):
    run("start", "fig")
    answers = f"12{' ' * 5000}in 30s\n12 in 90s\nq\n"  # cut short, the first would be another count
    monkeypatch.setattr(sys, "stdin", io.StringIO(answers))
    said = run("round")
    assert "cannot read" in said.out
    visit = read(tmp_path / "shelf" / "fig.csv").visits[-1]
    assert (visit.bubbles, visit.seconds) == (12, 90.0)


# How the time grows with the length is shown by tests/bench/trust/lengths.py.
LONG = 30_000


@pytest.mark.parametrize("run_of", ["o", "1", "1,", ".", " ", "1 ", "a ", "-", "1:", "'", "every "])
def test_what_is_typed_at_length_has_a_short_answer(run_of):
    text = run_of * (LONG // len(run_of))
    rate, spacing = columns(["Bubbles per minute", "Seconds per bubble"])
    for reader in (
        *(counted.whole, units.seconds, units.temp_c, units.sg, units.litres, counted.counted),
        *(moments.iso_readings, moments.instant, event_names.done, cells.length_s),
        lambda t: units.number(t, "it"),
        lambda t: moments.moment(t, now=EVENING),
        lambda t: cells.counted(t, rate, None),
        lambda t: cells.counted(t, spacing, None),
    ):
        for words in (text, f"{text}x", f"12 {text}"):
            assert len(answer(reader, words)) < 300


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a = " + "[\n" * 5000, "is not valid TOML: maximum recursion depth exceeded"),
        ("a" + ".a" * 50_000 + " = 1", "has a line of more than 500 characters"),
        ("[threshold]\nper_min = 0x" + "f" * 400, "threshold.per_min is 44462"),
        ("#" + "x" * 1_000_000, "is larger than 1 MB"),
    ],
)
def test_settings_that_would_break_their_reader_are_refused_in_a_line(tmp_path, text, message):
    (tmp_path / "bubblerate.toml").write_text(text)
    with pytest.raises(ConfigError) as caught:
        settings_of(tmp_path)
    assert message in str(caught.value)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[vessel.fig]\nfinish = 0x" + "f" * 400, "vessel.fig.finish is 44462"),
        ('[vessel."\\u001b[31m\\n"]\nq = 1', "vessel.?[31m .q is not a known key"),
    ],
)
def test_what_is_said_of_a_vessel_and_would_break_its_reader_is_named_in_a_line(
    tmp_path, text, message
):
    (tmp_path / "bubblerate.toml").write_text(text)
    (fault,) = (one for some in settings_of(tmp_path).faults.values() for one in some)
    assert message in fault
    assert fault.isprintable()
    assert len(fault) < 300


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"vessel,when\nfig,1" + b"," * 60_000, "has more cells than the header"),
        (b"vessel,when" + b"," * 60_000 + b"\n", "has 60002 columns"),
        (b"vessel," + b"x" * 1_200_000 + b"\n", "cannot be read as a table"),
        (b'vessel,when\n"' + b"x" * 200_000 + b"\n", "cannot be read as a table"),
    ],
)
def test_a_table_that_is_far_too_wide_is_refused_at_once(tmp_path, data, message):
    path = tmp_path / "club.csv"
    path.write_bytes(data)
    with pytest.raises(DiaryError, match=message):
        frames.read_table(path)


@pytest.mark.parametrize("note", ["a\0b", "\ud800", "=" * LONGEST_CELL, "x" * (LONGEST_CELL + 1)])
def test_a_note_of_a_table_that_no_diary_can_hold_costs_its_vessel_alone(note):
    table = {"vessel": ["fig", "plum"], "when": ["2026-10-01"] * 2, "note": [note, ""]}
    fig, plum = frames.vessels(pandas.DataFrame(table, dtype=object))
    assert fig.error.startswith("table:2: ")
    assert fig.error.isprintable()
    assert len(plum.visits) == 1


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=60))
def test_any_settings_are_read_or_refused_in_one_line(data):
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "bubblerate.toml").write_bytes(b"[vessel.fig]\nlitres = 4\n" + data)
        said = answer(lambda path: settings_of(path).vessel("fig").litres, Path(folder))
    assert said.isprintable()


# --- names ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        *("CON", "con", "nul", "Aux", "prn.fig", "com1", "LPT9", "com\N{SUPERSCRIPT ONE}"),
        *("fig\u202egpj", "fi\u200dg", "fi\u200bg", "a\uff0fb", "a\u2044b", "\ufefffig", "x\udcff"),
        *("\N{CJK UNIFIED IDEOGRAPH-6885}" * 81, "\U00020000" * 80),
    ],
)
@pytest.mark.parametrize("form", ["{}", "{}.csv"])
def test_a_name_that_would_be_trouble_begins_no_diary(run, tmp_path, monkeypatch, name, form):
    monkeypatch.chdir(tmp_path)
    refused(run("start", form.format(name)))
    assert [*tmp_path.rglob("*")] == []


def test_a_name_at_the_limit_of_bytes_can_be_written_struck_and_drawn(run, tmp_path):
    name = "\N{CJK UNIFIED IDEOGRAPH-6885}" * 80  # 240 bytes
    assert why_no_name(name) == ""
    assert run("start", name).code == 0
    assert run("strike", name, "2").code == 0


@pytest.mark.parametrize(
    "name",
    ["qu\u0456nce", "Quince", "\uff51uince", "qui\u0578ce", "QUINC\u0415", "qu\u0131nce"],
)
def test_a_name_that_looks_like_another_jars_is_refused(run, tmp_path, name):
    run("start", "quince")
    said = run("start", name)
    if name == "qui\u0578ce":  # of a script that is not in the table
        assert said.code == 0
        return
    assert refused(said) == "there is already a diary quince; choose another name"
    assert [path.name for path in (tmp_path / "shelf").iterdir()] == ["quince.csv"]


def test_names_that_only_sound_alike_are_two():
    assert len({look(name) for name in ("poire", "poir\u00e9", "fig 1", "fig 2", "fig-1")}) == 5
    assert look("\u0441\u043b\u0438\u0432\u0430") != look("sloe")


def test_a_file_whose_name_cannot_be_shown_is_named_and_stops_no_other(run, tmp_path):
    run("start", "fig")
    shelf = tmp_path / "shelf"
    for name in ("fi\x1b[31mg.csv", "gif\u202e.csv", "x\udcff.csv"):
        try:
            (shelf / name).write_bytes(b"when,bubbles\n")
        except OSError:
            pytest.skip("this file system refuses such names itself")
        assert "cannot be shown; rename the file" in refused(run("diary", str(shelf / name)))
    said = run("shelf")
    assert said.code == 0
    assert said.out.count("its name has characters that cannot be shown; rename the file") == 3
    assert said.out.replace("\n", "").isprintable()
    assert run("shelf", "--csv").out.isascii()


def test_a_note_cannot_command_the_terminal(run, tmp_path):
    run("start", "fig")
    path = tmp_path / "shelf" / "fig.csv"
    path.write_bytes(path.read_bytes() + b"2026-11-24T21:30Z,9,,,,,,,,red \x1b[31m\x07,\r\n")
    said = run("diary", "fig")
    assert "red ?[31m?" in said.out
    assert said.out.replace("\n", "").isprintable()


@pytest.mark.parametrize("words", [["start", "~nobody-at-all/fig.csv"], ["start", "fig"]])
def test_the_home_of_nobody_is_named(run, monkeypatch, words):
    monkeypatch.setenv("BUBBLERATE_SHELF", "~nobody-at-all")
    assert "there is no such home folder" in refused(run(*words))


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere no folder may be called so")
def test_half_a_letter_in_a_path_that_is_shown_is_no_traceback(tmp_path):
    shelf = os.fsencode(tmp_path) + b"/\xff"
    words = [sys.executable, "-m", "bubblerate", "start", "fig", "--shelf", shelf]
    env = {**os.environ, "PYTHONIOENCODING": "utf-8:strict"}  # as in most terminals
    done = subprocess.run(words, env=env, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert rb"/\udcff/fig.csv" in done.stdout
    assert Path(os.fsdecode(shelf), "fig.csv").exists()
